#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""usage: strips.py FOLDER [PNG...]

The strips of a delivery, read by another XML parser: every indication and tap
point of the tables stands in its tendon's pictures with the same numbers, the
share that was tested too, the stated scale is the one drawn, nothing in them
points outside the file. A copy with one number changed must be refused. PNG
files: decoded with zlib, size in pixels, not empty. Exit 1 on a difference, 2
without input.
"""
import csv
import glob
import os
import re
import struct
import sys
import xml.etree.ElementTree as ET
import zlib

SVG = '{http://www.w3.org/2000/svg}'
MINUS = '\u2212'


def rows(folder, name):
    with open(os.path.join(folder, name), encoding='utf-8', newline='') as f:
        return list(csv.DictReader(f))


def texts(root):
    return [(float(t.get('x')), float(t.get('y')), t.text or '')
            for t in root.iter(SVG + 'text')]


def said(row, us, name):
    return row[name + '_ft_in'] if us else '%.3f' % float(row[name + '_m'])


def said_about(row, us, name):
    if us:
        return [row[name + '_ft_in']]
    return ['%.3f' % (float(row[name + '_m']) + d) for d in (0, 6e-6, -6e-6)]


def near(text, row, us, name, ubound):
    """The words for a station with its U; 0.5 may round either way."""
    u = float(row[ubound + ('_in' if us else '_m')])
    pieces = [value + (' m' if not us else '') + ' \u00b1 ' + w
              for value in said_about(row, us, name)
              for w in ({'%.1f in' % (u + d) for d in (-0.01, 0, 0.01)} if us
                        else {'%.0f mm' % (1000 * u + d)
                              for d in (-0.02, 0, 0.02)})]
    return any(p in text for p in pieces)


def check_tendon(tendon, pages, found, taps, us):
    faults = []
    everything = []
    for page in pages:
        root = ET.fromstring(page)
        for e in root.iter():
            if e.tag in (SVG + 'script', SVG + 'image', SVG + 'use') or any(
                    'href' in k or k.startswith('on') for k in e.attrib):
                faults.append('%s: %s points outside' % (tendon['id'],
                                                         e.tag))
        # 8 points are 2.82 mm.
        if any(float(t.get('font-size')) < 2.81
               for t in root.iter(SVG + 'text')):
            faults.append('%s: print under 8 points' % tendon['id'])
        words = texts(root)
        everything += [t for _, _, t in words]
        faults += check_heads(tendon, words, found, taps)
        faults += check_scale(tendon, words, us)
    text = '\n'.join(everything)
    share = 100 * float(tendon['tested_m']) / float(tendon['length_m'])
    # The table is rounded; so is the picture.
    if not any('Tested %.1f %%' % (share + d) in text
               for d in (-0.002, 0, 0.002)):
        faults.append('%s: tested %.1f %%' % (tendon['id'], share))
    for r in found:
        if r['key'] + '  ' + r['kind'] not in text:
            faults.append(r['key'] + ' with its kind')
        for end in ('from', 'to'):
            if not near(text, r, us, end, 'U_' + end):
                faults.append('%s: %s %s' % (r['key'], end,
                                             said(r, us, end)))
    for r in taps:
        if not re.search(re.escape(r['id']) + '  at ' +
                         re.escape(r['clock_looking_ahead']), text):
            faults.append(r['id'] + ' with its clock')
        for side, sign in (('back', '+'), ('ahead', MINUS)):
            if not r[side + '_face']:
                continue
            # The table is rounded to 10 um before it is rounded here.
            words = ['%s %s %s%s' % (r[side + '_face'], sign, w,
                                     '' if us else ' m')
                     for w in said_about(r, us, side + '_tape')]
            if not any(w in text for w in words):
                faults.append('%s: %s' % (r['id'], words[0]))
    return faults


def check_heads(tendon, words, found, taps):
    """On each page the names of the columns stand above rows, and rows below
    them; the words are those of one cell."""
    said, faults = [t for _, _, t in words], []
    for head, ids in (('volume (planning)', [r['key'] for r in found]),
                      ('what to do', [r['id'] for r in taps])):
        if any(i in said for i in ids) != (head in said):
            faults.append('%s: names of columns and rows apart: %s' % (
                tendon['id'], head))
    return faults


def check_scale(tendon, words, us):
    """Numbers on one line, read as stations, lie 1000 / scale mm a metre
    apart."""
    scale = re.search(r'along 1:([\d.]+)', ' '.join(t for _, _, t in words))
    if scale is None:
        return []  # pages behind the first do not repeat it
    per_m = 1000 / float(scale.group(1)) * (0.3048 if us else 1)
    unit = 'ft' if us else 'm'
    faults, lines = [], 0
    for _, y, _ in [w for w in words if w[2] == unit]:
        ticks = sorted((float(t), x) for x, yy, t in words
                       if abs(yy - y) < 0.01 and re.fullmatch(r'[\d.]+', t))
        # The first may begin at the edge instead of standing about its tick.
        ticks = ticks[1:]
        for (a, xa), (b, xb) in zip(ticks, ticks[1:]):
            lines += 1
            if abs((xb - xa) - (b - a) * per_m) > 0.021:
                faults.append('%s: %g to %g drawn %.2f mm apart' % (
                    tendon['id'], a, b, xb - xa))
    if lines == 0:
        faults.append('%s: no scale found' % tendon['id'])
    return faults


def file_name(ident):
    return ''.join(c if c.isascii() and (c.isalnum() or c in '._-') else
                   ''.join('_%02X' % b for b in c.encode()) for c in ident)


def pages_of(folder, ident):
    first = os.path.join(folder, 'strip-%s.svg' % file_name(ident))
    rest = glob.glob(glob.escape(first[:-4]) + '+*.svg')
    return [open(p, encoding='utf-8').read() for p in [first] + sorted(rest)]


def decode(path):
    """Width, height and rows of an 8-bit RGB or RGBA PNG (ISO/IEC 15948)."""
    data = open(path, 'rb').read()
    assert data[:8] == b'\x89PNG\r\n\x1a\n', path
    at, packed, head = 8, b'', None
    while at < len(data):
        size, kind = struct.unpack('>I4s', data[at:at + 8])
        body = data[at + 8:at + 8 + size]
        crc, = struct.unpack('>I', data[at + 8 + size:at + 12 + size])
        assert crc == zlib.crc32(kind + body), path
        assert kind != b'tIME', path
        if kind == b'IHDR':
            head = struct.unpack('>IIBBBBB', body)
        if kind == b'IDAT':
            packed += body
        at += 12 + size
    width, height, depth, colour = head[:4]
    raw = zlib.decompress(packed)
    row = 1 + width * {2: 3, 6: 4}[colour] * depth // 8
    assert len(raw) == row * height, path
    return width, height, raw


def main():
    folder = sys.argv[1]
    try:
        tendons = rows(folder, 'tendons.csv')
        found = rows(folder, 'indications.csv')
        taps = rows(folder, 'taps.csv')
    except OSError as e:
        print(e)
        return 2
    us = 'length_ft_in' in tendons[0]
    faults, damaged = [], 0
    for t in tendons:
        own = [r for r in found if r['tendon'] == t['id']]
        marks = [r for r in taps if r['tendon'] == t['id']]
        pages = pages_of(folder, t['id'])
        faults += check_tendon(t, pages, own, marks, us)
        if own:
            copy = pages
            for value in said_about(own[0], us, 'from'):
                wrong = value[:-1] + ('4' if value[-1] != '4' else '7')
                if us:
                    wrong = value.replace(' ft ', ' ft 1', 1)
                copy = [p.replace(value, wrong) for p in copy]
            damaged += 1
            if not check_tendon(t, copy, own, marks, us):
                faults.append('%s: a changed number was not noticed' %
                              t['id'])
    for path in sys.argv[2:]:
        width, height, raw = decode(path)
        if width not in (1654, 1700) or height > 2340 or len(set(raw)) < 50:
            faults.append('%s: %d x %d' % (path, width, height))
    for f in faults:
        print(f)
    if faults or damaged == 0:
        return 1
    print('%d tendons, %d indications, %d taps stand in their strips; %d '
          'changed copies refused; %d PNG decoded' % (
              len(tendons), len(found), len(taps), damaged,
              len(sys.argv) - 2))
    return 0


if __name__ == '__main__':
    sys.exit(main())
