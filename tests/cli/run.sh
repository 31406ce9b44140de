#!/bin/sh
# SPDX-License-Identifier: MIT
# Runs the program's command cases. usage: run.sh PROGRAM DEMO_INPUT
# A case file (*.case) is read as:
#   < a line of standard input of the next command
#   $ words of the command line (ductmark is put before; @IN@ is the demo input,
#     @TMP@ a fresh folder, @DATA@ the test data, @GEOMETRY@ the repository's)
#   ? exit code
#   > a line that standard output must hold (a fixed string, anywhere in a line)
#   ! a line that standard error must hold
#   - a file below @TMP@ that must not exist
#   + a file below @TMP@ that must exist
set -u
program=$1
input=$2
here=$(cd "$(dirname "$0")" && pwd)
tmp=$(mktemp -d)
trap 'rm -rf "$tmp"' EXIT
failed=0
count=0
: >"$tmp/in"

fail() {
    echo "$name: $1"
    echo "  command: ductmark $command"
    sed 's/^/  stdout: /' "$tmp/out" | head -5
    sed 's/^/  stderr: /' "$tmp/err" | head -5
    failed=$((failed + 1))
}

# Words only; no quoting is needed in the cases.
execute() {
    rm -rf "$tmp/work"
    mkdir "$tmp/work"
    words=$(printf '%s' "$command" |
        sed "s|@IN@|$input|g; s|@TMP@|$tmp/work|g; s|@DATA@|$here/../data|g;
             s|@GEOMETRY@|$here/../../geometry|g")
    # shellcheck disable=SC2086
    "$program" $words >"$tmp/out" 2>"$tmp/err" <"$tmp/in"
    code=$?
    : >"$tmp/in"
}

for file in "$here"/*.case; do
    name=$(basename "$file" .case)
    while IFS= read -r line; do
        rest=${line#??}
        case $line in
        '< '*) printf '%s\n' "$rest" >>"$tmp/in" ;;
        '$ '*)
            command=$rest
            count=$((count + 1))
            execute
            ;;
        '? '*) [ "$code" = "$rest" ] || fail "exit $code, expected $rest" ;;
        '> '*) grep -qF -e "$rest" "$tmp/out" || fail "stdout lacks: $rest" ;;
        '! '*) grep -qF -e "$rest" "$tmp/err" || fail "stderr lacks: $rest" ;;
        '- '*) [ ! -e "$tmp/work/$rest" ] || fail "must not exist: $rest" ;;
        '+ '*) [ -e "$tmp/work/$rest" ] || fail "must exist: $rest" ;;
        esac
    done <"$file"
done
echo "command cases: $count run, $failed failed"
[ "$failed" -eq 0 ] && [ "$count" -gt 0 ]
