#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""usage: sheets_hard.py DEMO_INPUT FOLDER [opened metric|us]

A copy of the demo that is hard on the sheets: twelve requested taps on R1, all
round the duct, some of them on the strand side (hand tool), a wide margin
(re-scan), a face that cannot be touched on L4, names and a field tag that do
not fit, markup and right-to-left marks in them.

With `opened`: places that were opened (confirmed, refuted, neither), pairs, a
tray over L4 that leaves no room for a drill, faces far off square on L1, taps
all round R3, names in other scripts, a stop behind the wall. Invented, as the demo is.
"""
import os
import shutil
import sys

LONG = ('the block behind the third cross wall, that with the two vents and '
        'the cable tray, reached by the lower hatch only, mind the step')


def change(text, old, new, count=1):
    if text.count(old) < count:
        raise SystemExit('not in the demo: ' + old)
    return text.replace(old, new, count)


def on(text, tendon, old, new):
    """The same, in what stands behind the tendon's begin."""
    at = text.index('<tendon id="%s"' % tendon)
    return text[:at] + change(text[at:], old, new)


def opened(to, units):
    path = os.path.join(to, 'bridge.xml')
    text = open(path, encoding='utf-8').read()
    text = on(text, 'L4', 'name="near block"',
              'name="Опорный блок у второй опоры"')
    text = on(text, 'L4', 'name="far block"', 'name="端部ブロック東側"')
    text = on(text, 'L7', 'value="L-07"', 'value="سابعة-٧"')
    for face, normal in (('id="D1-b" side="back" offset="500 mm"',
                          '-0.9 0.2 0.3'),
                         ('id="A1-f" side="ahead" offset="600 mm"',
                          '0.9 0.1 -0.4')):
        text = on(text, 'L1', face, '%s normal="%s"' % (face, normal))
    open(path, 'w', encoding='utf-8').write(text)
    with open(os.path.join(to, 'tray.obj'), 'w', encoding='utf-8') as f:
        for x, y, z in (56, 3.4, 50.45), (69.2, 3.15, 51.7):
            for side in -0.2, 0.2:
                f.write('v %g %g %g\n' % (x, y + side, z + 0.2))
        f.write('f 1 2 4 3\n')
    path = os.path.join(to, 'job.xml')
    text = open(path, encoding='utf-8').read()
    wants = ''.join(
        '<tap-request id="Q%d" tendon="%s" face="%s" distance="%d mm" '
        'clock="%s" by="an engineer" reason="again"/>' % ((i,) + q)
        for i, q in enumerate((
            ('L2', 'D2-a', 5162, '12:00'), ('R2', 'D1-a', 5184, '12:00'),
            ('R1', 'D1-a', 1290, '12:00'), ('R3', 'D1-a', 3000, '8:00'),
            ('R3', 'D1-a', 1000, '4:40'), ('R3', 'A1-f', 900, '6:10'),
            ('R3', 'A1-f', 2900, '1:40'))))
    pairs = ''.join(
        '<tap-pair indication="%s" by="an engineer" reason="vacuum"/>' % k
        for k in ('L5-I01', 'R5-I02', 'L8-I01'))
    text = change(text, '<criteria href="criteria.xml"/>',
                  '<criteria href="criteria.xml"/><context href="tray.obj"/>')
    text = change(text, '<output', '<settings stop-allowance="4 mm"/>' + wants +
                  pairs + '<output')
    text = change(text, 'units="metric"', 'units="%s"' % units)
    open(path, 'w', encoding='utf-8').write(text)


def main():
    source, to = sys.argv[1:3]
    shutil.copytree(source, to)
    if sys.argv[3:4] == ['opened']:
        return opened(to, sys.argv[4])
    path = os.path.join(to, 'bridge.xml')
    text = open(path, encoding='utf-8').read()
    at = text.index('<tendon id="L4"')
    text = text[:at] + change(
        text[at:], '<face id="D2-a" side="ahead" offset="500 mm"/>',
        '<face id="D2-a" side="ahead" offset="500 mm" touchable="false"/>')
    at = text.index('<tendon id="L2"')
    text = text[:at] + change(text[at:], 'name="far block"',
                              'name="%s"' % LONG)
    text = change(text, 'value="L-02"', 'value="%s"' % LONG)
    text = change(text, 'where="left cell, outer web, bottom row"',
                  'where="&lt;b&gt;%s &#x202e;&lt;/b&gt;"' % LONG)
    open(path, 'w', encoding='utf-8').write(text)
    path = os.path.join(to, 'job.xml')
    text = open(path, encoding='utf-8').read()
    wants = ''.join(
        '<tap-request id="Q%d" tendon="R1" face="A1-f" distance="%d mm" '
        'clock="%d deg" by="an engineer" reason="%s"/>\n  ' % (
            i, 300 + 500 * i + 7 * i * i, 37 * i % 360,
            'a sound' if i % 3 else 'a long story: ' + LONG)
        for i in range(1, 13))
    text = change(text, '<output', '<settings tap-margin="200 mm"/>\n  ' +
                  wants + '<output')
    open(path, 'w', encoding='utf-8').write(text)


if __name__ == '__main__':
    main()
