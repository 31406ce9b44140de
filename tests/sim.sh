#!/bin/sh
# SPDX-License-Identifier: MIT
# Simulations with known truth; each prints a table and exits 1 where a
# threshold is missed.
# usage: sim.sh demo [SEEDS [FIRST]]    demo bridges against their truth (200)
#        sim.sh distances               bounds, blunders, false alarms
#        sim.sh taps                    do holes enter, do bits touch
#        sim.sh indications [BLOCK...]  what is found, where it ends (all blocks)
#        sim.sh geometry [COUNT [SEED]] second opinions on COUNT random tendons
#                                       (1000), COUNT/5 alignments, COUNT/10
#                                       bridge files and set-outs (to 0.1
#                                       mm); what must not matter
set -eu
root=$(cd "$(dirname "$0")/.." && pwd)
what=${1:-demo}
build=${DUCTMARK_BUILD:-$root/build-sim}

build_all() {
    [ -z "${DUCTMARK_BUILD:-}" ] || return 0
    . "$root/.ci/packages.sh"
    # shellcheck disable=SC2086
    need_packages $build_packages libcmocka-dev python3 python3-numpy
    cmake -S "$root" -B "$build" -DCMAKE_BUILD_TYPE=Release >/dev/null
    cmake --build "$build" -j "$(nproc)" -- --no-print-directory -s
}

one_seed() {
    folder=$1/$2
    mkdir -p "$folder"
    "$build/ductmark_demo" --seed "$2" --out "$folder/input"
    "$build/ductmark" export "$folder/input/job.xml" --format csv \
        --out "$folder" --quiet --threads 1 \
        >/dev/null 2>"$folder/messages.txt" || [ $? -eq 1 ]
    "$build/ductmark" check "$folder/input/bridge.xml" \
        "$folder/input/fieldbook.xml" --json --threads 1 \
        >"$folder/quality.json" 2>/dev/null || [ $? -eq 1 ]
}

case $what in
demo)
    build_all
    count=${2:-200}
    first=${3:-1}
    tmp=$(mktemp -d)
    trap 'rm -rf "$tmp"' EXIT
    seed=$first
    while [ "$seed" -lt $((first + count)) ]; do
        one_seed "$tmp" "$seed" &
        [ $((seed % 2)) -eq 0 ] || wait
        seed=$((seed + 1))
    done
    wait
    cd "$tmp"
    # shellcheck disable=SC2046
    python3 "$root/tests/sim/score_demo.py" $(ls | sort -n)
    ;;
distances)
    build_all
    "$build/tests/sim_distances" --full
    ;;
indications)
    build_all
    shift
    "$build/tests/sim_indications" --full "$@"
    ;;
taps)
    build_all
    "$build/tests/sim_taps" --full
    ;;
geometry)
    build_all
    count=${2:-1000}
    seed=${3:-1}
    python=python3
    [ ! -x /usr/bin/python3 ] || python=/usr/bin/python3
    failed=0
    opinion() {
        script=$1
        shift
        "$python" -B "$root/tests/oracle/$script.py" --seed "$seed" "$@" || {
            echo "sim.sh: $script failed" >&2
            failed=1
        }
    }
    opinion geometry --program "$build/tests/geometry_dump" --count "$count"
    opinion alignments --program "$build/tests/alignments_dump" \
        --count $(((count + 4) / 5))
    opinion bridges --program "$build/tests/bridges_dump" \
        --count $(((count + 9) / 10))
    opinion set_out --program "$build/ductmark" --count $(((count + 9) / 10))
    opinion properties --programs "$build/tests" --count $(((count + 4) / 5))
    echo "Bounds: 1e-9 m, or four units in the last place of map coordinates" \
        "(eight between two results); sag against catenaries 1e-6 m."
    exit $failed
    ;;
*)
    echo "usage: sim.sh demo [SEEDS [FIRST]] | distances | taps |" \
        "indications [BLOCK...] | geometry [COUNT [SEED]]" >&2
    exit 2
    ;;
esac
