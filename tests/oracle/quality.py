#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Run quality reckoned a second time, with NumPy, from what docs/quality.md
says, on random runs along a straight level tendon.

usage: quality.py --program DUCTMARK [--count N] [--seed S]

Per site three runs: two over the same line, there and back, with readings
each millimetre; one with random steps, roll-backs, gaps, speeds and stops.

  figure                               agreement
  rows, roll-backs, stops, clock       exact
  read, sparse, gaps, tail             1e-4 m (run distances in 10 um)
  median spacing, median speed         1 % (classes of 1 % in the program)
  greatest spacing, speed, roll-back   1e-4 of it
  stopped time                         1e-3 s
  noise                                8 % (it looks at 2,500 pairs a lag)
  correlation                          0.005
  rms, mean, greatest difference       3 %, 0.001, 5 % + 0.005
  expected                             -8 % to +20 %: the noise, and that its
                                       covariances are never taken below zero

Without NumPy it says that it skips (77).
"""
import argparse
import json
import os
import subprocess
import sys
import tempfile

try:
    import numpy as np
except ImportError:
    print('NumPy is not here: skipped')
    sys.exit(77)

W = 0.1                     # footprint
REF, AIR = 1500.0, 900.0
LENGTH, FROM, TO = 40.0, 1.3, 38.7

BRIDGE = '''<bridge version="1" uid="5d6cf9e4-3f0b-4f8a-9a53-0d5b7a1c3003"
 id="O" name="invented">
<duct-type id="D110" od="110 mm" wall="6.6 mm" material="hdpe"/>
<tendon id="T1" basis="assumed">
<anchorage id="A1" x="0 m" y="0 m" z="0 m">
<face id="A1f" side="ahead" offset="1 m"/></anchorage>
<anchorage id="A2" x="40 m" y="0 m" z="0 m">
<face id="A2f" side="back" offset="1 m"/></anchorage>
<duct-length duct-type="D110"/></tendon></bridge>
'''

HEAD = '''<fieldbook version="1" uid="1f0c2f43-6a1e-4f7e-9a54-3b1c9be0b003"
 survey="s" date="2026-03-02" bridge="5d6cf9e4-3f0b-4f8a-9a53-0d5b7a1c3003">
<instrument id="I1"><encoder u="0" walk="0 mm" quantum="0 mm"/>
<body nose="140 mm" tail="100 mm"/>
<channel id="C1" lead="0 mm" footprint-along="100 mm" footprint-around="60 mm"
 depth="15 mm"/></instrument>
<calibration duct-type="D110" instrument="I1"><air value="900"/>
<reference value="1500"/></calibration>
<columns run-distance="x" unit="m" time="t">
<value column="raw" channel="C1"/></columns>
'''

failures = []


def near(what, got, want, tolerance):
    if got is None or not abs(got - want) <= tolerance:
        failures.append('%s: %s, NumPy has %.6f (tolerance %.2g)' %
                        (what, got, want, tolerance))


# ---- the site -------------------------------------------------------------

def truth(rng):
    """Zones that stand well out of the noise, so that quiet lengths are."""
    n = rng.integers(3, 7)
    return (np.linspace(4, 36, n), rng.uniform(0.15, 1.2, n),
            rng.uniform(0.35, 0.7, n))


def index_at(zones, t):
    """Plateaus seen through a boxcar of the footprint's width."""
    sum_ = np.zeros_like(t)
    for middle, half, height in zip(*zones):
        over = np.minimum(t + W / 2, middle + half) - \
            np.maximum(t - W / 2, middle - half)
        sum_ += height * np.maximum(over, 0.0) / W
    return sum_


def even_run(rng, zones, back, sigma):
    x = np.arange(0.0, TO - FROM + 1e-9, 0.001)
    t = TO - x if back else FROM + x
    raw = REF - (REF - AIR) * (index_at(zones, t) +
                               sigma * rng.standard_normal(x.size))
    return x, np.full(x.size, np.nan), raw


def odd_run(rng):
    """Rows (x, time) with all that a tired operator does."""
    x, time, rows = 0.0, 100.0, [(0.0, 100.0)]
    end = TO - FROM
    while x < end:
        speed = rng.choice([0.05, 0.1, 0.2, 0.4])
        to = min(end, x + rng.uniform(1.0, 4.0))
        coarse = rng.random() < 0.3
        while x < to - 1e-9:
            step = rng.uniform(0.021, 0.045) if coarse else \
                rng.uniform(0.002, 0.009)
            x = min(to, x + step)
            time += step / speed
            rows.append((x, time))
        what = rng.random()
        if what < 0.25:                               # stands, reading on
            for _ in range(int(rng.integers(20, 60))):
                time += 0.25
                rows.append((x, time))
        elif what < 0.45:                             # rolls back and on
            depth = rng.uniform(0.06, 0.3)
            for d in np.linspace(0.0, depth, 30)[1:]:
                time += depth / 29 / speed
                rows.append((x - d, time))
            for d in np.linspace(depth, 0.0, 30)[1:]:
                time += depth / 29 / speed
                rows.append((x - d, time))
        elif what < 0.65 and x < end - 1.0:           # jumps
            x += rng.uniform(0.055, 0.2)
            time += 1.0
            rows.append((x, time))
        elif what < 0.75:                             # the clock is set
            time -= rng.uniform(5.0, 50.0)
    rows = np.array(rows)
    return np.round(rows[:, 0], 5), np.round(rows[:, 1], 3)


def write_run(folder, book, name, back, x, time, raw):
    with open('%s/%s.csv' % (folder, name), 'w', encoding='ascii') as f:
        f.write('t,x,raw\n')
        for row in zip(time, x, raw):
            f.write('%s,%.5f,%.3f\n' %
                    ('' if np.isnan(row[0]) else '%.3f' % row[0],
                     row[1], row[2]))
    faces = ('A2f', 'A1f') if back else ('A1f', 'A2f')
    book.append('''<run id="%s" tendon="T1" instrument="I1" direction="%s"
 leading="nose" clock="0 deg">
<check kind="air" value="900"/><check kind="reference" value="1500"/>
<start x="0 m" at="%s" with="encoder" distance="0.3 m" u="0.1 mm"/>
<readings href="%s.csv"/>
<tie x="%.5f m" at="%s" with="encoder" distance="0.3 m" u="0.1 mm"/>
<check kind="air" value="900"/><check kind="reference" value="1500"/>
</run>
''' % (name, 'back' if back else 'ahead', faces[0], name, TO - FROM, faces[1]))


# ---- a second reckoning ---------------------------------------------------

def weighted_median(values, weights):
    order = np.argsort(values)
    sums = np.cumsum(weights[order])
    return values[order][np.searchsorted(sums, 0.5 * sums[-1])]


def spacing(x):
    """Steps ahead of the furthest so far."""
    high = np.maximum.accumulate(x)
    step = np.diff(high)
    step = step[step > 0.0]
    gap = step > 0.5 * W
    depth = high - x
    deep = depth > 0.5 * W
    begins = deep & ~np.concatenate(([False], deep[:-1]))
    return {'read': step[~gap].sum(), 'gaps': int(gap.sum()),
            'gap': step[gap].sum(), 'most': step.max(),
            'median': weighted_median(step, step),
            'sparse': step[(0.99 * step > W / 5) & ~gap].sum(),
            'roll_backs': int(begins.sum()), 'roll_back': depth.max()}


def speeds(x, time):
    """Stops and pieces, row by row as the document has them."""
    pieces, stops, backs = [], [], 0
    tick = np.inf
    anchor = piece = 0
    travel = 0.0
    for i in range(1, x.size):
        dt = time[i] - time[i - 1]
        if dt < 0.0:
            backs += 1
            anchor = piece = i
            travel = 0.0
            continue
        if dt > 0.0:
            tick = min(tick, dt)
        travel += abs(x[i] - x[i - 1])
        moved, took = abs(x[i] - x[anchor]), time[i] - time[anchor]
        if moved >= 0.005:
            still = took >= 2.0 and moved <= 0.0025 * took
            anchor = i
            if still:
                stops.append(took)
                piece, travel = i, 0.0
                continue
        took = time[i] - time[piece]
        if travel >= W and took >= max(1.0, 10.0 * tick):
            pieces.append((travel / took, travel))
            piece, travel = i, 0.0
    took = time[-1] - time[anchor]
    if took >= 2.0 and abs(x[-1] - x[anchor]) <= 0.0025 * took:
        stops.append(took)
    pieces = np.array(pieces)
    return {'median': weighted_median(pieces[:, 0], pieces[:, 1]),
            'most': pieces[:, 0].max(), 'stops': stops, 'backs': backs}


def cells(t, index):
    """Mean in cells of 20 mm, and how many readings they hold."""
    k = np.floor(t / 0.02 + 1e-9).astype(int)
    n = np.bincount(k, minlength=int(LENGTH / 0.02))
    with np.errstate(invalid='ignore', divide='ignore'):
        return np.bincount(k, index, int(LENGTH / 0.02)) / n, n


def check_pair(name, g, a, b, sigma):
    both = ~np.isnan(a[0] + b[0])
    # Cells at the ends hold only a part of their readings.
    u, v, n = a[0][both], b[0][both], a[1][both]
    d = u - v
    rms = np.sqrt(np.mean(d * d))
    near(name + ' correlation', g['correlation'], np.corrcoef(u, v)[0, 1],
         0.005)
    near(name + ' mean', g['mean'], d.mean(), 0.001)
    near(name + ' rms', g['rms'], rms, 0.03 * rms)
    expected = np.sqrt(np.mean(2.0 * sigma ** 2 / n))
    near(name + ' expected', g['expected'], 1.06 * expected, 0.14 * expected)
    worst = np.abs(np.convolve(a[0] - b[0], np.ones(5) / 5, 'valid'))
    worst = np.nanmax(worst)
    near(name + ' worst', abs(g['worst']), worst, 0.05 * worst + 0.005)


def check_odd(name, got, x, time):
    s, v = spacing(x), speeds(x, time)
    for key, want in (('readings', x.size), ('times', x.size),
                      ('gaps', s['gaps']), ('roll_backs', s['roll_backs']),
                      ('stops', len(v['stops'])), ('clock_backs', v['backs'])):
        near(name + ' ' + key, got[key], want, 0)
    for key, want in (('read_m', s['read']), ('sparse_m', s['sparse']),
                      ('gap_m', s['gap'])):
        near(name + ' ' + key, got[key], want, 1e-4)
    near(name + ' spacing', got['spacing_m'], s['median'], 0.01 * s['median'])
    near(name + ' most', got['spacing_most_m'], s['most'], 1e-4 * s['most'])
    near(name + ' roll-back', got['roll_back_m'], s['roll_back'],
         1e-4 * max(s['roll_back'], 0.1))
    near(name + ' speed', got['speed_m_per_s'], v['median'],
         0.01 * v['median'])
    near(name + ' fastest', got['speed_most_m_per_s'], v['most'],
         1e-4 * v['most'])
    near(name + ' stopped', got['stopped_s'], sum(v['stops']), 1e-3)


def one_site(program, seed):
    rng = np.random.default_rng(seed)
    zones, sigma = truth(rng), rng.uniform(0.02, 0.06)
    runs = [even_run(rng, zones, False, sigma),
            even_run(rng, zones, True, sigma)]
    quiet = even_run(rng, (np.zeros(0),) * 3, False, sigma)
    x, time = odd_run(rng)
    odd = (x, time, np.full(x.size, REF) + rng.standard_normal(x.size))
    with tempfile.TemporaryDirectory() as folder:
        book = []
        write_run(folder, book, 'A', False, *runs[0])
        write_run(folder, book, 'B', True, *runs[1])
        with open(folder + '/bridge.xml', 'w', encoding='ascii') as f:
            f.write(BRIDGE)
        for name, run in (('Q', quiet), ('O', odd)):
            write_run(folder, book, name, False, *run)
        # Lines of their own: they are not held against the first two.
        text = HEAD + book[0] + book[1] + \
            book[2].replace('0 deg', '90 deg') + \
            book[3].replace('0 deg', '180 deg') + '</fieldbook>\n'
        with open(folder + '/book.xml', 'w', encoding='ascii') as f:
            f.write(text)
        r = subprocess.run([program, 'check', folder + '/bridge.xml',
                            folder + '/book.xml', '--json'],
                           capture_output=True, text=True,
                           env=dict(os.environ))
    if r.returncode not in (0, 1):
        failures.append('seed %d: exit %d %s' %
                        (seed, r.returncode, r.stderr[:300]))
        return
    doc = json.loads(r.stdout)
    got = {q['run']: q for q in doc['runs']}
    name = 'seed %d' % seed
    # Cells of 5 mm hold five readings.
    index = (REF - quiet[2]) / (REF - AIR)
    k = np.floor(quiet[0] / 0.005 + 1e-9).astype(int)
    mean = np.bincount(k, index) / np.bincount(k)
    noise = np.std(mean[:-1])
    near(name + ' noise', got['Q']['channels'][0]['noise'], noise,
         0.08 * noise)
    check_odd(name, got['O'], odd[0], odd[1])
    pair = [g for g in doc['agreements']
            if (g['run'], g['other']) == ('A', 'B')]
    if len(pair) != 1:
        failures.append(name + ': no pair A, B')
        return
    a, b = (cells(TO - q[0] if back else FROM + q[0],
                  (REF - q[2]) / (REF - AIR))
            for q, back in ((runs[0], False), (runs[1], True)))
    check_pair(name, pair[0], a, b, sigma)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument('--program', required=True)
    parser.add_argument('--count', type=int, default=10)
    parser.add_argument('--seed', type=int, default=1)
    o = parser.parse_args()
    for k in range(o.count):
        one_site(o.program, o.seed + k)
    print('run quality of %d sites: %d figures off' % (o.count, len(failures)))
    print('\n'.join(failures[:20]))
    sys.exit(1 if failures else 0)


main()
