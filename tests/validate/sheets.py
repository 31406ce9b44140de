#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""usage: sheets.py FOLDER [BRIDGE DATE]

The work sheets of a delivery as people read them (sheets.pdf through poppler's
pdftotext, and the texts of the SVG files): every tap point of taps.csv stands on
exactly one page of its tendon with the same numbers; a stop stands with no tap that is not to be
drilled; every tendon with taps has pages and no other has one; every page has
its number, and the index names the page of every tap. Feet and inches are made
again from the table's metres. A copy with any one digit of any number of any
tap changed must be refused, on a page and in a code. The codes on the labels,
rendered and read by zbarimg, hold each set-out as the table has it, and nothing
else. Exit 1 on a difference, 2 without input, 77 without pdftotext.
"""
import csv
import glob
import math
import os
import re
import shutil
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ET
from fractions import Fraction

BARS = {'tap': 'TAP AT THE MARK, WHEN RELEASED',
        're-scan by hand first': 'RE-SCAN BY HAND FIRST: NO HOLE',
        'hand tool, wall only, engineer present':
            'HAND TOOL, WALL ONLY, ENGINEER PRESENT: NO DRILL'}
OPENED = 'HAS BEEN OPENED: NO SECOND HOLE'
NO_ROOM = 'NO ROOM FOR THE DRILL: ASK THE ENGINEER'
SHORT = {'tap': 'TAP', 're-scan by hand first': 'RE-SCAN',
         'hand tool, wall only, engineer present': 'HAND TOOL'}
LAST = 6e-6  # the table is rounded to 10 um


def order(tap):
    if tap['opened'] == 'yes':
        return OPENED
    return NO_ROOM if no_room(tap) else BARS[tap['advice']]


def order_short(tap):
    if tap['opened'] == 'yes':
        return 'OPENED'
    return 'NO ROOM' if no_room(tap) else SHORT[tap['advice']]


def no_room(tap):
    return drilled(tap) and tap['drill_room'] == 'no room'


def name(tap):
    """With its role in a pair."""
    return tap['id'] + ('' if tap['role'] == 'single' else ' ' + tap['role'])


def drilled(tap):
    return tap['advice'] == 'tap' and tap['opened'] != 'yes'


def rows(folder, name):
    with open(os.path.join(folder, name), encoding='utf-8', newline='') as f:
        return list(csv.DictReader(f))


def pages_of(folder):
    text = subprocess.run(
        ['pdftotext', '-raw', os.path.join(folder, 'sheets.pdf'), '-'],
        check=True, capture_output=True).stdout.decode()
    return [' '.join(p.split()) for p in text.split('\f')[:-1]]


def svg_pages_of(folder):
    """In the order of their page numbers."""
    out = {}
    for path in glob.glob(os.path.join(folder, 'sheet*.svg')):
        root = ET.parse(path).getroot()
        text = ' '.join(' '.join(t.text or '' for t in root.iter(
            '{http://www.w3.org/2000/svg}text')).split())
        number = int(re.search(r'page (\d+) of', text).group(1))
        if number in out:
            raise OSError('%s: page %d again' % (path, number))
        out[number] = text
    return [out[n] for n in sorted(out)]


def inches(eighths):
    whole, part = divmod(eighths, 8)
    text = str(whole) if whole or not part else ''
    if part:
        text += (' ' if text else '') + str(Fraction(part, 8))
    return text + ' in'


def feet(eighths):
    return '%d ft %s' % (eighths // 96, '0 ' + inches(eighths % 96)
                         if 0 < eighths % 96 < 8 else inches(eighths % 96))


def around(value, step):
    """What a value, known to LAST, may be as a whole number of steps."""
    return {math.floor((value + d) / step + 0.5) for d in (-LAST, LAST)}


def tapes(metres, us):
    """All ways in which a length may be said."""
    out = set()
    for mm in around(metres, 1e-3):
        for e in around(metres, 0.0254 / 8):
            out.add('%s (%d mm)' % (feet(e), mm) if us else
                    '%d mm (%s)' % (mm, feet(e)))
    return out


def arcs(metres, us):
    out = set()
    for mm in around(abs(metres), 1e-3):
        for e in around(abs(metres), 0.0254 / 8):
            out.add('%s (%d mm)' % (inches(e), mm) if us else
                    '%d mm (%s)' % (mm, inches(e)))
    return out


def stops(mm, us):
    """Never more than the table says."""
    out = set()
    for m in {math.floor((mm + d) * 10 + 1e-6) / 10 for d in (-6e-3, 6e-3)}:
        for i in {math.floor((mm + d) / 25.4 * 100 + 1e-6) / 100
                  for d in (-6e-3, 6e-3)}:
            out.add('%.2f in (%.1f mm)' % (i, m) if us else
                    '%.1f mm (%.2f in)' % (m, i))
    return out


def bounds(u, us):
    if us:
        return {'%.1f in' % ((u + d) / 0.0254) for d in (-2e-5, 0, 2e-5)}
    return {'%.0f mm' % (1000 * (u + d)) for d in (-2e-5, 0, 2e-5)}


def chances(p):
    out = {'%.2f' % (math.floor(100 * (p + d) + 1e-6) / 100)
           for d in (-6e-4, 0, 6e-4)}
    return {'over 0.99' if w >= '1.00' else w for w in out}


def one_of(words, before, after=''):
    return '|'.join(re.escape(before + w + after) for w in sorted(words))


def wanted(tap, us):
    """Regular expressions of what the tap's part of a page must hold."""
    out = ['Tape line: ' + re.escape(tap['tape_line']) + ',',
           'looking ahead %s / looking back %s' % (
               tap['clock_looking_ahead'], tap['clock_looking_back'])]
    both = tap['back_face'] and tap['ahead_face']
    for side, way in (('back', 'AHEAD'), ('ahead', 'BACK')):
        if not tap[side + '_face']:
            out.append('No face to tape from on the %s side' % side)
            continue
        out.append(r'from face %s \([^)]*\), going %s: (?:%s) \u00b1 (?:%s)' % (
            re.escape(tap[side + '_face']), way,
            one_of(tapes(float(tap[side + '_tape_m']), us), ''),
            one_of(bounds(float(tap['U_%s_tape_m' % side]), us), '')))
    if both:
        out.append(one_of(tapes(float(tap['faces_apart_m']), us),
                          'Faces apart ', '.'))
        out.append('do not meet within (?:%s): STOP' % one_of(
            bounds(float(tap['U_back_tape_m']) + float(tap['U_ahead_tape_m']),
                   us), ''))
        out.append('If they do: [a-z ]* the end of the tape from %s\\.' %
                   re.escape(tap['mark_face']))
    way = float(tap['around_from_tape_line_mm']) / 1000
    if abs(way) < 4.9e-4:
        out.append('Round the duct 0 mm')
    elif abs(way) > 5.1e-4:
        out.append('Round the duct (?:%s) to the %s looking ahead' % (
            one_of(arcs(way, us), ''), 'RIGHT' if way > 0 else 'LEFT'))
    if drilled(tap):
        out.append(one_of(stops(float(tap['depth_stop_mm']), us),
                          'DEPTH STOP '))
        out.append(one_of(stops(float(tap['bit_mm']), us), 'bit '))
        if tap['p_enter']:
            out.append('Chance to enter, if it is one: (?:at least )?(?:%s)' %
                       one_of(chances(float(tap['p_enter'])), ''))
    if tap['strand_gap_mm']:
        out.append('Strands expected (?:%s) behind the wall' % one_of(
            stops(max(float(tap['strand_gap_mm']), 0), us), ''))
    if tap['opened'] == 'yes':
        out.append('Opened on %s: found %s, %s' % (
            re.escape(tap['opened_on']), re.escape(tap['found']),
            'neither confirmed nor refuted' if tap['outcome'] == 'neither'
            else re.escape(tap['outcome'])))
        if tap['found_depth_mm']:
            out.append('Depth (?:%s)' % one_of(
                arcs(float(tap['found_depth_mm']) / 1000, us), ''))
    if no_room(tap):
        out.append('No drill before the engineer has said how')
    if tap['accepted']:
        out.append('Accepted: ' + re.escape(tap['accepted']))
    if tap['warning']:
        out.append('WARNING: ' + re.escape(tap['warning']))
    return out


def part_of(page, tap):
    """From a tap's bar to the next bar or the cautions."""
    title = name(tap) + ' ' + order(tap)
    at = page.find(title)
    if at < 0:
        return None
    ends = [page.find(b, at + len(title))
            for b in (*BARS.values(), OPENED, NO_ROOM)]
    ends.append(page.find('Tendons are highly stressed', at))
    return page[at:min([e for e in ends if e > 0], default=len(page))]


def check(pages, tendons, taps, us):
    faults = []
    where = {}
    for n, page in enumerate(pages):
        if 'page %d of %d' % (n + 1, len(pages)) not in page:
            faults.append('page %d is not numbered' % (n + 1))
    for tap in taps:
        found = [(n + 1, part_of(p, tap)) for n, p in enumerate(pages)
                 if part_of(p, tap)]
        if len(found) != 1:
            faults.append('%s stands on %d pages' % (tap['id'], len(found)))
            continue
        where[tap['id']], text = found[0]
        for want in wanted(tap, us):
            if not re.search(want, text):
                faults.append('%s: %s' % (tap['id'], want))
        if not drilled(tap) and re.search('DEPTH STOP|bit [0-9]', text):
            faults.append(tap['id'] + ': not to be drilled, but has a stop')
    index = ' '.join(p for p in pages if 'Tap points in walking order' in p)
    for tap in taps:
        line = re.search(re.escape(name(tap)) + ' ' + order_short(tap) +
                         r' .*?(?: mm| in|touched) (\d+)(?: |$)', index)
        if line is None or int(line.group(1)) != where.get(tap['id']):
            faults.append('%s in the index' % tap['id'])
    for t in tendons:
        own = [p for p in pages if re.search(
            r'(?:^| )Tendon %s tag on the duct|(?:^| )Tendon %s ' %
            (re.escape(t['id']), re.escape(t['id'])), p) and
            'Set out by' in p]
        count = len({where[x['id']] for x in taps
                     if x['tendon'] == t['id'] and x['id'] in where})
        if len(own) != count:
            faults.append('%s: %d pages, %d with its taps' % (
                t['id'], len(own), count))
    return faults


def set_out(tap, us, bridge, date):
    """Lines of a code, as regular expressions."""
    def tape(side, way):
        if not tap[side + '_face']:
            return 'no face, going ' + way
        return 'face %s going %s (?:%s) \\+- (?:%s)' % (
            re.escape(tap[side + '_face']), way,
            one_of(tapes(float(tap[side + '_tape_m']), us), ''),
            one_of(bounds(float(tap['U_%s_tape_m' % side]), us), ''))
    way = float(tap['around_from_tape_line_mm']) / 1000
    hand = '' if abs(way) < 4.9e-4 else ' RIGHT' if way > 0 else ' LEFT'
    lines = ['Tap ' + re.escape(name(tap)),
             'bridge %s, tendon %s%s' % (
                 bridge, re.escape(tap['tendon']),
                 ', tag ' + re.escape(tap['field_tag'])
                 if tap['field_tag'] else ''),
             re.escape(order(tap)),
             'tape line ' + tap['tape_line'],
             tape('back', 'AHEAD'), tape('ahead', 'BACK')]
    if tap['faces_apart_m']:
        lines.append('faces apart (?:%s)' % one_of(
            tapes(float(tap['faces_apart_m']), us), ''))
    lines += ['round the duct, looking ahead (?:%s)%s' % (
                  one_of(arcs(way, us), ''), hand),
              'looking ahead %s, looking back %s' % (
                  tap['clock_looking_ahead'], tap['clock_looking_back'])]
    if drilled(tap):
        lines.append('DEPTH STOP (?:%s)' % one_of(
            stops(float(tap['depth_stop_mm']), us), ''))
    lines += ['x y z ' + ' '.join(
                  '(?:%s)' % one_of({'%.3f' % (float(tap[a + '_m']) + d)
                                     for d in (-LAST, 0, LAST)}, '')
                  for a in 'xyz') + ' m',
              'job of ' + date]
    return lines


def read_codes(folder):
    with tempfile.TemporaryDirectory() as work:
        subprocess.run(['pdftoppm', '-r', '200', '-gray', '-png',
                        os.path.join(folder, 'labels.pdf'), work + '/l'],
                       check=True)
        said = ''
        for page in sorted(os.listdir(work)):
            said += subprocess.run(
                ['zbarimg', '--raw', '-q', os.path.join(work, page)],
                check=True, capture_output=True).stdout.decode()
    return ['Tap ' + c for c in ('\n' + said).split('\nTap ')[1:]]


def check_codes(codes, taps, us, bridge, date):
    faults = []
    for tap in taps:
        own = [c for c in codes if c.startswith('Tap %s\n' % name(tap))]
        want = '\n'.join(set_out(tap, us, bridge, date))
        if len(own) != 1 or not re.fullmatch(want, own[0].rstrip('\n')):
            faults.append('code of %s: %r' % (tap['id'], own))
    if len(codes) != len(taps):
        faults.append('%d codes for %d taps' % (len(codes), len(taps)))
    return faults


def other_digits(text):
    """Copies with one digit changed, each of them once; but for those of a
    support's name, which the table does not have."""
    named = re.search(r'\((?:anchorage|deviator) [^)]*', text)
    for m in re.finditer(r'\d', text):
        if named and named.start() < m.start() < named.end():
            continue
        wrong = str((int(m.group()) + 5) % 10)
        yield text[:m.start()] + wrong + text[m.end():]


def spoil(pages, taps, us):
    """Every digit of every number of every tap, changed: how many, and which
    were not noticed."""
    changed, kept = 0, []
    for tap in taps:
        text = next(t for t in (part_of(p, tap) for p in pages) if t)
        for want in wanted(tap, us):
            m = re.search(want, text)
            for wrong in other_digits(m.group()):
                copy = text[:m.start()] + wrong + text[m.end():]
                changed += 1
                if re.search(want, copy):
                    kept.append('%s: %s' % (tap['id'], wrong))
    return changed, kept


def spoil_codes(taps, us, bridge, date, codes):
    changed, kept = 0, []
    for tap in taps:
        want = '\n'.join(set_out(tap, us, bridge, date))
        own = next(c for c in codes if c.startswith('Tap %s\n' % name(tap)))
        for wrong in other_digits(own.rstrip('\n')):
            changed += 1
            if re.fullmatch(want, wrong):
                kept.append('code of %s: %s' % (tap['id'], wrong))
    return changed, kept


def main():
    if shutil.which('pdftotext') is None:
        print('no pdftotext')
        return 77
    folder = sys.argv[1]
    try:
        tendons, taps = rows(folder, 'tendons.csv'), rows(folder, 'taps.csv')
        pages = pages_of(folder)
        drawn = svg_pages_of(folder)
    except (OSError, subprocess.CalledProcessError) as e:
        print(e)
        return 2
    us = 'length_ft_in' in tendons[0]
    faults = check(pages, tendons, taps, us)
    if drawn:
        faults += ['SVG: ' + f for f in check(drawn, tendons, taps, us)]
        if len(drawn) != len(pages):
            faults.append('%d pages of SVG, %d of PDF' % (len(drawn),
                                                          len(pages)))
    codes = 0
    if shutil.which('zbarimg') and len(sys.argv) == 4:
        codes, said = len(taps), read_codes(folder)
        faults += check_codes(said, taps, us, sys.argv[2], sys.argv[3])
    for f in faults:
        print(f)
    if faults or not taps:
        return 1
    changed, kept = spoil(pages, taps, us)
    if codes:
        more, missed = spoil_codes(taps, us, sys.argv[2], sys.argv[3], said)
        changed, kept = changed + more, kept + missed
    for f in kept:
        print('a changed number was not noticed: ' + f)
    if kept:
        return 1
    if changed < 8 * len(taps):
        print('only %d changed numbers' % changed)
        return 1
    print('%d pages, %d taps as in the table, %d codes; %d changed numbers '
          'refused' % (len(pages), len(taps), codes, changed))
    return 0


if __name__ == '__main__':
    sys.exit(main())
