#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What must not matter to a turn, and what must be said of it.

usage: turns.py PROGRAM INPUT      INPUT: the demo's input folder

Copies of the demo in which the angles of a turn are read looking back
(clock-view back, 360 less the angle) or its rows stand the other way round
give the same turns.csv; a turn where its run has no readings is warned of and
left out; one whose file is not there is an error with file and line, and the
run's other readings are delivered. A wider turn gives a larger area, and
rolled by 30 degrees the same area at another middle.
"""
import csv
import os
import re
import shutil
import subprocess
import sys
import tempfile

program, source = sys.argv[1:3]
faults = []


def check(good, text):
    if not good:
        faults.append(text)


def deliver(folder):
    out = folder + '/out'
    run = subprocess.run([program, 'export', folder + '/job.xml', '--format',
                          'csv', '--out', out, '--quiet', '--threads', '1'],
                         capture_output=True, text=True)
    with open(out + '/turns.csv', newline='', encoding='utf-8') as f:
        turns = list(csv.DictReader(f))
    with open(out + '/indications.csv', newline='', encoding='utf-8') as f:
        found = list(csv.DictReader(f))
    return turns, found, run


def edit(path, change):
    with open(path, encoding='utf-8') as f:
        text = f.read()
    new = change(text)
    check(new != text, path + ': nothing was changed')
    with open(path, 'w', encoding='utf-8') as f:
        f.write(new)


def rows(text, change):
    lines = text.splitlines()
    head = [x for x in lines if not x[0].isdigit()]
    body = [x.split(',') for x in lines if x[0].isdigit()]
    return '\n'.join(head + [','.join(x) for x in change(body)]) + '\n'


def moved(by, sign=1):
    return lambda body: [[str((sign * int(a) + by) % 360), v] for a, v in body]


with tempfile.TemporaryDirectory() as tmp:
    def copy(name):
        folder = os.path.join(tmp, name)
        shutil.copytree(source, folder)
        return folder

    first, found, run = deliver(copy('plain'))
    check(len(first) >= 2, 'the demo has fewer than two turns')
    name = first[0]['run']
    file = 'readings/%s-turn1.csv' % name
    head = re.compile(r'<run id="%s"[^>]*>' % name)
    turn = re.compile(r'<turn x="[^"]*" readings="%s"/>' % file)
    sized = {f['key']: f for f in found}[first[0]['indication']]
    check(sized['size_basis'] in ('one turn', 'turns'), 'turn without size')
    check(float(sized['volume_low_L']) < float(sized['volume_best_L']) <
          float(sized['volume_high_L']), 'bounds out of order')

    folder = copy('back')
    edit(folder + '/fieldbook.xml', lambda t: head.sub(
        lambda m: m.group().replace('clock-view="ahead"', 'clock-view="back"'),
        t))
    for i in (1, 2, 3):
        path = folder + '/readings/%s-turn%d.csv' % (name, i)
        if os.path.exists(path):
            edit(path, lambda t: rows(t, moved(0, -1)))
    check(deliver(folder)[0] == first, 'looking back changes a turn')

    folder = copy('order')
    edit(folder + '/' + file, lambda t: rows(t, lambda b: b[::-1]))
    edit(folder + '/fieldbook.xml', lambda t: turn.sub(
        lambda m: m.group().replace('/>', ' direction="counterclockwise"/>'),
        t))
    check(deliver(folder)[0] == first, 'the way round changes a turn')

    folder = copy('rolled')
    edit(folder + '/' + file, lambda t: rows(t, moved(30)))
    t = deliver(folder)[0][0]
    check(abs(float(t['middle_deg']) - 30) < 6, 'a roll of 30 deg is seen at ' +
          t['middle_deg'])
    check(abs(float(t['area_best_mm2']) / float(first[0]['area_best_mm2']) - 1)
          < 0.03, 'a roll changes the area')

    folder = copy('far')
    edit(folder + '/fieldbook.xml', lambda t: turn.sub(
        '<turn x="900000 mm" readings="%s"/>' % file, t))
    turns, _, run = deliver(folder)
    check(len(turns) == len(first) - 1, 'a turn beyond the run is kept')
    check('cannot be placed' in run.stderr, 'a turn beyond the run is not said')

    folder = copy('missing')
    os.remove(folder + '/' + file)
    turns, now, run = deliver(folder)
    check(run.returncode == 1, 'a missing turn: exit %d' % run.returncode)
    check(file in run.stderr and 'error' in run.stderr,
          'a missing turn file is not named')
    check(len(turns) == len(first) - 1, 'a missing turn is there')
    check([f['key'] for f in now] == [f['key'] for f in found],
          'a missing turn takes indications with it')

for text in faults:
    print(text)
sys.exit(bool(faults))
