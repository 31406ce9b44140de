#!/bin/sh
# SPDX-License-Identifier: MIT
# Builds ductmark and runs it on the demo: an invented bridge, made by a seeded
# generator (seed 1; give another as the first argument). Results: demo/out/.
set -eu
root=$(cd "$(dirname "$0")/.." && pwd)
seed=${1:-1}
. "$root/.ci/packages.sh"
# shellcheck disable=SC2086
need_packages $build_packages

echo "building (Release) in $root/build"
cmake -S "$root" -B "$root/build" -DCMAKE_BUILD_TYPE=Release \
    -DDUCTMARK_BUILD_TESTS=OFF >"$root/build.log" 2>&1 &&
    cmake --build "$root/build" -j "$(nproc)" >>"$root/build.log" 2>&1 || {
    cat "$root/build.log"
    echo "the build failed" >&2
    exit 1
}
rm -f "$root/build.log"

out=$root/demo/out
mkdir -p "$out"
"$root/build/ductmark_demo" --seed "$seed" --out "$out/input"
echo
echo "an invented three-span box girder, 16 tendons, 20 runs (seed $seed);"
echo "one run has a skip that nobody wrote down: it must be warned of."
echo
status=0
"$root/build/ductmark" run "$out/input/job.xml" --out "$out" || status=$?
[ "$status" -le 1 ] || exit "$status"
"$root/build/ductmark" run "$out/input/us/job.xml" --out "$out/us" \
    >"$out/us.txt" || [ $? -le 1 ]
cat <<TXT

Results in $out
  model.glb      3-D model by grade: any glTF viewer
  heat.glb       the same, coloured by the index
  model.ifc      for a bridge information model
  strip-*.svg    a map of each tendon's surface; strips.pdf to print
  sheets.pdf     what a drilling crew works from; labels.pdf to stick on
  taps.csv       where to open, measured from the faces
  coverage.csv   what was tested and what was not
  input/         the drawings, field book and readings it was made from,
                 with the truth (truth.csv) to compare
  us/            a second, tiny job in feet and inches
TXT
