#!/bin/sh
# SPDX-License-Identifier: MIT
# Speed as ratios, each against a yardstick in the same run (medians): lines of
# name, items, ns per item, yardstick, ratio; then peak memory of ten million
# readings beside that of a million. Nothing here passes or fails.
# usage: run.sh [TENDONS]     tendons of the campaign, default 434
set -eu
root=$(cd "$(dirname "$0")/../.." && pwd)
build=$root/build-bench
. "$root/.ci/packages.sh"
# shellcheck disable=SC2086
need_packages $build_packages libcmocka-dev python3
cmake -S "$root" -B "$build" -DCMAKE_BUILD_TYPE=Release \
    -DDUCTMARK_BUILD_BENCH=ON >/dev/null
cmake --build "$build" -j "$(nproc)" -- --no-print-directory -s
for bench in "$build"/tests/bench_*; do
    [ -x "$bench" ] && [ -f "$bench" ] && "$bench"
done

python3 "$root/tests/bench/rows.py" "$build/ductmark"

tmp=$(mktemp -d)
trap 'rm -rf "$tmp"' EXIT
python3 "$root/tests/bench/campaign.py" "$tmp" "${1:-434}"
python3 - "$tmp" "$build/ductmark" <<'PY'
import glob, os, statistics, subprocess, sys, time
folder, program = sys.argv[1:]
files = sorted(glob.glob(folder + '/readings/*.csv'))
rows = subprocess.run(['wc', '-l'] + files, capture_output=True, text=True)
rows = int(rows.stdout.split('\n')[-2].split()[0])
jobs = [('scan', ['wc', '-l'] + files)]
for threads in '1', '2':
    jobs.append(('analysis, %s thread' % threads,
                 [program, 'export', folder + '/job.xml', '--format', 'csv',
                  '--threads', threads, '--quiet', '--out', folder + '/csv']))
    jobs.append(('all default outputs, %s thread' % threads,
                 [program, 'run', folder + '/job.xml', '--threads', threads,
                  '--quiet', '--out', folder + '/all']))
times = {name: [] for name, _ in jobs}
for _ in range(5):
    for name, words in jobs:
        t = time.perf_counter()
        code = subprocess.run(words, stdout=subprocess.DEVNULL,
                              stderr=subprocess.DEVNULL).returncode
        times[name].append(time.perf_counter() - t)
        if code not in (0, 1):
            sys.exit('%s: exit %d' % (name, code))
scan = statistics.median(times.pop('scan'))
for name, t in times.items():
    print('campaign: %s\t%d\t%.1f\twc -l of the readings\t%.1f times its time'
          % (name, rows, 1e9 * statistics.median(t) / rows,
             statistics.median(t) / scan))
PY
