#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""A large campaign for timing: 434 tendons of 39 m, one run each, 8.5 million
readings in all. Invented; every run has the same readings.

usage: campaign.py FOLDER [TENDONS [READINGS_PER_TENDON]]
"""
import os
import random
import sys

BRIDGE = 'e0f5a6de-93b3-4c57-8bd1-6a3f0c5c7711'


def tendon(i):
    y = 0.4 * (i % 20)
    x = 50.0 * (i // 20)
    point = 'x="%.3f m" y="%.3f m" z="%.3f m"'
    face = '<face id="%s" side="%s" offset="500 mm"/>'
    return ''.join((
        '  <tendon id="T%03d">\n' % i,
        '    <anchorage id="A1" ', point % (x, y, 2.0), '>',
        face % ('A1f', 'ahead'), '</anchorage>\n',
        '    <deviator id="D1" ', point % (x + 13, y, 0.5), ' type="P">',
        face % ('D1b', 'back'), face % ('D1a', 'ahead'), '</deviator>\n',
        '    <deviator id="D2" ', point % (x + 26, y, 0.5), ' type="P">',
        face % ('D2b', 'back'), face % ('D2a', 'ahead'), '</deviator>\n',
        '    <anchorage id="A2" ', point % (x + 39, y, 2.0), '>',
        face % ('A2f', 'back'), '</anchorage>\n',
        '    <duct-length duct-type="D"/>\n  </tendon>\n'))


def run(i, legs):
    out = ['  <run id="R%03d" tendon="T%03d" instrument="I" '
           'direction="ahead" leading="nose" clock="0 deg">\n' % (i, i),
           '    <check kind="air" value="860"/>'
           '<check kind="reference" value="1520"/>\n']
    x = 0
    for k, (a, b, length) in enumerate(legs):
        word = 'tie' if k else 'start'
        out.append('    <%s x="%d mm" at="%s" with="tail"/>\n' % (word, x, a))
        out.append('    <readings href="readings/R%03d.csv" '
                   'segment="s%d"/>\n' % (i, k + 1))
        x += length
        out.append('    <tie x="%d mm" at="%s" with="nose"/>\n' % (x, b))
        if k + 1 < len(legs):
            out.append('    <skip x="%d mm" reason="deviator"/>\n' % x)
    out.append('  </run>\n')
    return ''.join(out)


def readings(legs, count):
    rng = random.Random(1)
    total = sum(n for _, _, n in legs)
    lines = ['segment,run_mm,counts\n']
    x0 = 0
    for k, (_, _, length) in enumerate(legs):
        n = count * length // total
        for j in range(n):
            x = length * j / n
            c = 1520.0 + rng.gauss(0.0, 16.0)
            if 4000 < x < 4600:
                c -= 400.0
            lines.append('s%d,%d,%.1f\n' % (k + 1, x0 + x, c))
        x0 += length
    return ''.join(lines)


def main():
    folder = sys.argv[1]
    tendons = int(sys.argv[2]) if len(sys.argv) > 2 else 434
    count = int(sys.argv[3]) if len(sys.argv) > 3 else 19600
    os.makedirs(folder + '/readings', exist_ok=True)

    def write(name, text):
        with open(os.path.join(folder, name), 'w', encoding='ascii') as f:
            f.write(text)

    write('bridge.xml',
          '<bridge version="1" uid="%s" id="BENCH" name="Bench (invented)">\n'
          '  <crs epsg="25832"/>\n'
          '  <duct-type id="D" od="114.3 mm" wall-min="6.7 mm" wall="7 mm" '
          'material="hdpe"/>\n'
          '  <deviator-type id="P" kind="pipe" radius="3 m"/>\n%s</bridge>\n' %
          (BRIDGE, ''.join(tendon(i) for i in range(tendons))))
    # Between faces along the duct, less the body (0.24 m).
    legs = [('A1f', 'D1b', 11840), ('D1a', 'D2b', 11760),
            ('D2a', 'A2f', 11840)]
    write('fieldbook.xml',
          '<fieldbook version="1" uid="%s" survey="bench" date="2026-01-01" '
          'bridge="%s">\n'
          '  <instrument id="I"><encoder/><body nose="140 mm" '
          'tail="100 mm"/><channel id="C" footprint-along="100 mm" '
          'footprint-around="60 mm" depth="15 mm"/></instrument>\n'
          '  <calibration duct-type="D" instrument="I"><air value="860"/>'
          '<reference value="1520"/></calibration>\n'
          '  <columns run-distance="run_mm" unit="mm" segment="segment">'
          '<value column="counts" channel="C"/></columns>\n%s</fieldbook>\n' %
          ('9b1a7f50-4a0c-4a53-9f38-54b1f1f0f0aa', BRIDGE,
           ''.join(run(i, legs) for i in range(tendons))))
    write('criteria.xml',
          '<criteria version="1" id="C" owner="Bench (invented)" '
          'date="2026-01-01">\n  <grade label="confirm" tap="true"/>\n'
          '  <rule grade="confirm"/>\n</criteria>\n')
    write('job.xml',
          '<job version="1" uid="0c1d2b1c-6f65-4a39-8d4e-2f5a0e2b6a11" '
          'date="2026-01-02">\n  <bridge href="bridge.xml"/>\n'
          '  <fieldbook href="fieldbook.xml"/>\n'
          '  <criteria href="criteria.xml"/>\n</job>\n')
    text = readings(legs, count)
    for i in range(tendons):
        write('readings/R%03d.csv' % i, text)


if __name__ == '__main__':
    main()
