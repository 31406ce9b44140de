#!/bin/sh
# SPDX-License-Identifier: MIT
# `check` on each bridge of data/wrong must name its one fault, at its line, and
# nothing else: standard error is compared with the .expect beside the file, and
# the exit code must be 2 for an error, 0 for a warning. Those named right_* are
# sound and must be silent. usage: wrong.sh PROGRAM
#
# DUCTMARK_REFRESH=1 writes the .expect files instead: for review, by hand.
set -u
program=$1
cd "$(dirname "$0")/../data/wrong" || exit 1
wrong=0
failed=0
errors=0
for file in *.xml; do
    expect=${file%.xml}.expect
    said=$("$program" check "$file" 2>&1 >/dev/null)
    code=$?
    said=$(printf '%s\n' "$said" | grep -v '^ductmark: [0-9]* warning')
    if [ -n "${DUCTMARK_REFRESH:-}" ]; then
        printf '%s\n' "$said" >"$expect"
    fi
    want=0
    lines=$(printf '%s' "$said" | grep -c '')
    case $said in *': error: '*) want=2 errors=$((errors + 1)) ;; esac
    case $file in
    right_*) least=0 ;;
    *) least=1 wrong=$((wrong + 1)) ;;
    esac
    if [ "$said" != "$(cat "$expect")" ] || [ "$code" -ne "$want" ] ||
        [ "$lines" -ne "$least" ]; then
        echo "$file: exit $code, expected $want; $lines messages"
        echo "--- expected"
        cat "$expect"
        echo "--- got"
        echo "$said"
        failed=$((failed + 1))
    fi
done
echo "$wrong wrong geometries ($errors errors, $((wrong - errors)) warnings):" \
    "$failed with other messages"
[ "$failed" -eq 0 ] && [ "$wrong" -ge 40 ]
