#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What `ductmark check` prints: the JSON is one document whose keys stand in
docs/outputs.md and whose numbers agree with each other; the tables hold the
same numbers and stay within 80 columns.

usage: layout.py PROGRAM ROOT FILE...
"""
import json
import re
import subprocess
import sys

failures = []


def expect(good, what):
    if not good:
        failures.append(what)


def run(words):
    r = subprocess.run(words, capture_output=True, text=True)
    expect(r.returncode in (0, 1), '%s: exit %d' % (words, r.returncode))
    return r.stdout


def keys(value):
    if isinstance(value, dict):
        for k, v in value.items():
            yield k
            yield from keys(v)
    elif isinstance(value, list):
        for v in value:
            yield from keys(v)


def near(a, b, tolerance=2e-5):
    return abs(a - b) <= tolerance


def check_tendon(t, name):
    lengths, levels = t['free_lengths'], t['levels']
    for total, part in ('free_m', 'free_m'), ('readable_m', 'readable_m'):
        got = sum(f[part] for f in lengths)
        expect(near(t[total], got, 1e-5 * len(lengths) + 1e-5),
               '%s: %s is not the sum' % (name, total))
    for f in lengths:
        expect(near(f['to_m'] - f['from_m'], f['free_m']), name + ': free')
        expect(-1e-5 <= f['readable_m'] <= f['free_m'] + 1e-5,
               name + ': readable')
    expect(len(t['deviators']) == len(lengths) - 1, name + ': deviators')
    stations = [d['station_m'] for d in t['deviators']]
    expect(stations == sorted(stations), name + ': order of deviators')
    for a, b in zip(levels, levels[1:]):
        expect(a['kind'] != b['kind'] and a['to_m'] <= b['from_m'],
               name + ': levels')
        expect((a['z_m'] > b['z_m']) == (a['kind'] == 'high'), name + ': z')


def columns(text):
    return max(len(line) for line in text.splitlines())


def main():
    program, root, *files = sys.argv[1:]
    with open(root + '/docs/outputs.md', encoding='utf-8') as f:
        section = f.read().split('## Standard output of `ductmark check`')[1]
    documented = set(re.findall(r'`([a-z_0-9]+)`', section.split('\n## ')[0]))
    tendons = 0
    for file in files:
        text = run([program, 'check', file])
        doc = json.loads(run([program, 'check', file, '--json']))
        expect(columns(text) <= 80, '%s: %d columns' % (file, columns(text)))
        for k in set(keys(doc)) - documented:
            failures.append('%s: key %s is not documented' % (file, k))
        for t in doc['tendons']:
            tendons += 1
            check_tendon(t, '%s: %s' % (file, t['id']))
            expect('tendon ' + t['id'] in text, t['id'] + ': no table')
            if 'us' not in file.split('/'):
                for d in t['deviators']:
                    expect('%.3f' % d['station_m'] in text, 'station')
    print('layouts of %d tendons: %d faults' % (tendons, len(failures)))
    print('\n'.join(failures[:20]))
    sys.exit(1 if failures or not tendons else 0)


main()
