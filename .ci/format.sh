#!/bin/sh
# SPDX-License-Identifier: MIT
# Formatting in check mode, and every source named in the CMake lists.
set -eu
root=$(cd "$(dirname "$0")/.." && pwd)
cd "$root"
git ls-files '*.c' '*.h' | xargs clang-format --dry-run --Werror
bad=0
for f in $(git ls-files 'src/*.c'); do
    grep -q "$f" CMakeLists.txt || {
        echo "$f is not in CMakeLists.txt"
        bad=1
    }
done
[ $bad -eq 0 ]
echo "formatting and source lists: good"
