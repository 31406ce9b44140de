#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Peak memory of a run of ten million readings beside one of a million, on
the same length: a logger that stood still with its switch on, or read each
few micrometres. Made in a temporary folder and removed.

usage: rows.py PROGRAM [ROWS]      ROWS: of the greater run (10,000,000)

Lines of name, rows, ns per row, peak KiB, and its ratio to that of a tenth of
the rows. Nothing here passes or fails.
"""
import os
import subprocess
import sys
import tempfile
import time

FROM, TO = 1.3, 28.7

BRIDGE = '''<bridge version="1" uid="5d6cf9e4-3f0b-4f8a-9a53-0d5b7a1c4004"
 id="ROWS" name="invented">
<duct-type id="D110" od="110 mm" wall="6.6 mm" material="hdpe"/>
<tendon id="T1" basis="assumed">
<anchorage id="A1" x="0 m" y="0 m" z="0 m">
<face id="A1f" side="ahead" offset="1 m"/></anchorage>
<anchorage id="A2" x="30 m" y="0 m" z="0 m">
<face id="A2f" side="back" offset="1 m"/></anchorage>
<duct-length duct-type="D110"/></tendon></bridge>
'''

BOOK = '''<fieldbook version="1" uid="1f0c2f43-6a1e-4f7e-9a54-3b1c9be0b004"
 survey="s" date="2026-03-02" bridge="5d6cf9e4-3f0b-4f8a-9a53-0d5b7a1c4004">
<instrument id="I1"><encoder u="0.005" walk="1.25 mm" quantum="0 mm"/>
<body nose="140 mm" tail="100 mm"/>
<channel id="C1" lead="0 mm" footprint-along="100 mm" footprint-around="60 mm"
 depth="15 mm"/></instrument>
<calibration duct-type="D110" instrument="I1"><air value="900"/>
<reference value="1500"/></calibration>
<columns run-distance="x_mm" unit="mm" time="t">
<value column="raw" channel="C1"/></columns>
<run id="R1" tendon="T1" instrument="I1" direction="ahead" leading="nose"
 clock="0 deg"><check kind="air" value="900"/>
<check kind="reference" value="1500"/>
<start x="0 m" at="A1f" with="encoder" distance="0.3 m"/>
<readings href="rows.csv"/>
<tie x="27.4 m" at="A2f" with="encoder" distance="0.3 m"/>
<check kind="air" value="900"/><check kind="reference" value="1500"/>
</run></fieldbook>
'''


def make(folder, rows):
    for name, text in (('bridge.xml', BRIDGE), ('book.xml', BOOK)):
        with open(folder + '/' + name, 'w', encoding='ascii') as f:
            f.write(text)
    step = 1000.0 * (TO - FROM) / rows
    with open(folder + '/rows.csv', 'w', encoding='ascii',
              buffering=1 << 20) as f:
        f.write('t,x_mm,raw\n')
        for i in range(rows):
            f.write('%.4f,%.4f,%d\n' %
                    (i * 0.00005, i * step, 1490 + (i * 7919) % 21))


def measure(program, folder):
    t = time.perf_counter()
    child = subprocess.Popen(
        [program, 'check', folder + '/bridge.xml', folder + '/book.xml',
         '--threads', '1'],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, status, usage = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode not in (0, 1):
        sys.exit('exit %d' % child.returncode)
    return time.perf_counter() - t, usage.ru_maxrss


def main():
    program = sys.argv[1]
    most = int(sys.argv[2]) if len(sys.argv) > 2 else 10_000_000
    before = None
    for rows in (most // 10, most):
        with tempfile.TemporaryDirectory() as folder:
            make(folder, rows)
            seconds, peak = measure(program, folder)
        print('rows: check with times\t%d\t%.1f\tpeak %d KiB\t%s' %
              (rows, 1e9 * seconds / rows, peak,
               '' if before is None else
               '%.3f of that of a tenth' % (peak / before)))
        before = peak


main()
