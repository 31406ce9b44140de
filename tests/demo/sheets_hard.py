#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""usage: sheets_hard.py DEMO_INPUT FOLDER

A copy of the demo that is hard on the sheets: twelve requested taps on R1, all
round the duct, some of them on the strand side (hand tool), a wide margin
(re-scan), a face that cannot be touched on L4, names and a field tag that do
not fit, markup and right-to-left marks in them. Invented, as the demo is.
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


def main():
    source, to = sys.argv[1:]
    shutil.copytree(source, to)
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
            i, 400 + 600 * i + 7 * i * i, 37 * i % 360,
            'a sound' if i % 3 else 'a long story: ' + LONG)
        for i in range(1, 13))
    text = change(text, '<output', '<settings tap-margin="200 mm"/>\n  ' +
                  wants + '<output')
    open(path, 'w', encoding='utf-8').write(text)


if __name__ == '__main__':
    main()
