#!/bin/sh
# SPDX-License-Identifier: MIT
# Searches for inputs that break a promise. usage: run.sh TARGET|all SECONDS
# A find is kept in corpus/TARGET, so that the replay test fails until it is
# mended and stays as a test afterwards.
set -eu
target=${1:?usage: run.sh TARGET|all SECONDS} seconds=${2:?SECONDS}
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
build=$root/build-fuzz
test "$target" != all ||
  target="model bridge landxml xml survey csv stations locate"
mkdir -p "$build"
cmake -S "$root" -B "$build" -DCMAKE_C_COMPILER=clang \
  -DCMAKE_BUILD_TYPE=RelWithDebInfo -DDUCTMARK_BUILD_FUZZ=ON \
  "-DDUCTMARK_SANITIZE=address;undefined;fuzzer-no-link" > "$build/run.log"
for name in $target; do
  cmake --build "$build" --target "fuzz_$name" -j2 >> "$build/run.log"
  mkdir -p "$build/found/$name"
  UBSAN_OPTIONS=print_stacktrace=1 "$build/tests/fuzz/fuzz_$name" \
    -rss_limit_mb=2048 -timeout=20 -max_total_time="$seconds" \
    -max_len=20000 -print_final_stats=1 -artifact_prefix="$here/corpus/$name/" \
    "$build/found/$name" "$here/corpus/$name" \
    "$root/tests/data" "$root/tests/data/bad" "$root/tests/data/wrong"
done
