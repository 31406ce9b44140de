#!/bin/sh
# SPDX-License-Identifier: MIT
# Each public header compiles alone, twice over, as C11 and as C++17, without a
# warning; and every function that it declares has C linkage in C++.
# usage: check.sh ROOT     (without g++ the C++ half is left out, and said)
set -u
root=$1
bad=0
count=0
tmp=$(mktemp -d)
trap 'rm -rf "$tmp"' EXIT

compile() {
    language=$1
    shift
    "$@" -Wall -Wextra -Wpedantic -Werror -fsyntax-only \
        -I"$root/include" "$tmp/alone.$language" || {
        echo "$name does not compile alone as $language"
        bad=1
    }
}

cxx=$(command -v g++ || :)
[ -n "$cxx" ] || echo "SKIPPED: no g++, the headers are not tried as C++"
for header in "$root"/include/ductmark/*.h; do
    name=ductmark/$(basename "$header")
    count=$((count + 1))
    printf '#include "%s"\n#include "%s"\nint main(void) { return 0; }\n' \
        "$name" "$name" >"$tmp/alone.c"
    cp "$tmp/alone.c" "$tmp/alone.cpp"
    compile c gcc -std=c11 -Wstrict-prototypes
    [ -z "$cxx" ] || compile cpp "$cxx" -std=c++17
done

# A declaration outside DM_BEGIN_C would get a C++ name.
for header in "$root"/include/ductmark/*.h; do
    grep -q '^DM_BEGIN_C$' "$header" && grep -q '^DM_END_C$' "$header" ||
        case $header in
        */extern.h) ;;
        *)
            echo "$(basename "$header") lacks DM_BEGIN_C or DM_END_C"
            bad=1
            ;;
        esac
done
echo "headers: $count"
[ "$bad" -eq 0 ] && [ "$count" -gt 0 ]
