#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""usage: sheets.py FOLDER [BRIDGE DATE]

The work sheets of a delivery as people read them (sheets.pdf and labels.pdf
through poppler's pdftotext, and the texts of the SVG files): every tap point of
taps.csv stands on exactly one page of its tendon and on one label with the same
numbers; a stop stands with no tap that is not to be drilled, and with none without
the bit, what it is made of and what to do at its end; every tendon with taps has
pages and no other has one; every page has its number, and the index names the page
of every tap, in an order that is walked once. Feet and inches are made again from the table's metres, bounds
rounded up. A copy with any one digit of any number of any tap changed must be
refused, and one that lacks a warning or the words beside a stop: on a page, on a
label and in a code. Every place of
openings.csv stands once on the pages of what was opened, as the table has it; there
too a changed digit or a missing sentence must be refused. The codes, rendered at 150 dpi and read by zbarimg, hold each
set-out as the table has it, and nothing else. Exit 1 on a difference, 2 without
input, 77 without pdftotext.
"""
import csv
import glob
import os
import re
import shutil
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ET

from found_words import title, wanted_found
from sheet_words import (BARS, NO_ROOM, OPENED, contact, drilled, name, no_room,
                         on_label, order, order_short, set_out, wanted,
                         words_on_all)


def rows(folder, name):
    with open(os.path.join(folder, name), encoding='utf-8', newline='') as f:
        return list(csv.DictReader(f))


def pages_of(folder, name='sheets.pdf'):
    text = subprocess.run(
        ['pdftotext', '-raw', os.path.join(folder, name), '-'],
        check=True, capture_output=True).stdout.decode()
    return [' '.join(p.split()) for p in text.split('\f')[:-1]]


def svg_text(path):
    root = ET.parse(path).getroot()
    return ' '.join(' '.join(t.text or '' for t in root.iter(
        '{http://www.w3.org/2000/svg}text')).split())


def svg_pages_of(folder):
    """In the order of their page numbers."""
    out = {}
    for path in glob.glob(os.path.join(folder, 'sheet*.svg')):
        text = svg_text(path)
        number = int(re.search(r'page (\d+) of', text).group(1))
        if number in out:
            raise OSError('%s: page %d again' % (path, number))
        out[number] = text
    return [out[n] for n in sorted(out)]


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


def outermost(part, parents):
    while part in parents and parents[part] in parents:
        part = parents[part]
    return part


def check_walk(index, tendons, taps, parents):
    """The index does not come back to a place: an outermost part has one
    stretch of it, in which the bridge station does not fall."""
    part = {t['id']: outermost(t['part'], parents) for t in tendons}
    at = sorted((m.start(), t['id']) for t in taps for m in re.finditer(
        '(?<![^ ])%s %s ' % (re.escape(name(t)), order_short(t)), index))
    by_id = {t['id']: t for t in taps}
    walked, faults, last = [], [], None
    for _, tap in at:
        own = part[by_id[tap]['tendon']]
        station = float(by_id[tap]['bridge_station_m'] or 'nan')
        if walked and walked[-1] == own and station < last:
            faults.append('%s is walked back to' % tap)
        if own in walked[:-1] and walked[-1] != own:
            faults.append('%s is walked to again' % own)
        if not walked or walked[-1] != own:
            walked.append(own)
        last = station
    return faults


def check(pages, tendons, taps, us, parents):
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
        if not tap['warning'] and 'WARNING' in text:
            faults.append(tap['id'] + ': a warning that the table has not')
    index = ' '.join(p for p in pages if 'Tap points in walking order' in p)
    for tap in taps:
        line = re.search(re.escape(name(tap)) + ' ' + order_short(tap) +
                         r' .*?(?: mm| in|touched) (\d+)(?: |$)', index)
        if line is None or int(line.group(1)) != where.get(tap['id']):
            faults.append('%s in the index' % tap['id'])
    faults += check_walk(index, tendons, taps, parents)
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


def found_of(pages, openings):
    """Text of each place opened, by its tendon, survey and id."""
    text = ' '.join(p for p in pages if re.match(r'As found page \d', p))
    at = sorted((m.start(), i) for i, o in enumerate(openings)
                for m in re.finditer('(?<![^ ])' + re.escape(title(o)) + ' ',
                                     text))
    ends = [a for a, _ in at[1:]] + [len(text)]
    out = {}
    for (a, i), end in zip(at, ends):
        out.setdefault(i, []).append(text[a:end])
    return out


def check_found(pages, openings, us):
    faults = []
    parts = found_of(pages, openings)
    for i, o in enumerate(openings):
        own = parts.get(i, [])
        if len(own) != 1:
            faults.append('opening %s stands %d times' % (o['id'], len(own)))
            continue
        for want in wanted_found(o, us):
            if not re.search(want, own[0]):
                faults.append('opening %s: %s' % (o['id'], want))
        if not o['volume_measured_L'] and 'by pressures' in own[0]:
            faults.append('opening %s: a volume' % o['id'])
    text = ' '.join(pages)
    counts = re.search(r'(\d+) places? w(?:as|ere) opened: (\d+) confirmed, '
                       r'(\d+) refuted, (\d+) neither, (\d+) missed [^,]*, '
                       r'[^,]*, (\d+) sound [^,]*, (\d+) not sound', text)
    want = [len(openings)] + [
        sum(o['outcome'] == w for o in openings) for w in
        ('confirmed', 'refuted', 'neither', 'missed', 'agrees',
         'not read there')]
    if openings and (counts is None or
                     [int(n) for n in counts.groups()] != want):
        faults.append('how many were opened')
    if ('All that was opened stands behind this list' in text) != bool(
            openings) and 'Tap points in walking order' in text:
        faults.append('the index on what was opened')
    return faults


def spoil_found(parts, openings, us):
    changed, removed, kept = 0, 0, []
    for i, o in enumerate(openings):
        text = parts[i][0]
        for want in wanted_found(o, us):
            m = re.search(want, text)
            removed += 1
            if re.search(want, text[:m.start()] + text[m.end():]):
                kept.append('opening %s without: %s' % (o['id'], want))
            for wrong in other_digits(m.group()):
                changed += 1
                if re.search(want, text[:m.start()] + wrong + text[m.end():]):
                    kept.append('opening %s: %s' % (o['id'], wrong))
    return changed, removed, kept


def labels_of(pages, taps):
    """Text of each label, by the id of its tap."""
    text = ' '.join(pages)
    at = sorted((m.start(), t['id']) for t in taps for m in re.finditer(
        '(?<![^ ])' + re.escape(name(t)) + ' on the line ', text))
    ends = [a for a, _ in at[1:]] + [len(text)]
    out = {}
    for (a, tap), end in zip(at, ends):
        out.setdefault(tap, []).append(text[a:end])
    return out


def check_labels(pages, taps, us):
    faults = []
    labels = labels_of(pages, taps)
    for tap in taps:
        own = labels.get(tap['id'], [])
        if len(own) != 1:
            faults.append('%s stands on %d labels' % (tap['id'], len(own)))
            continue
        for want in on_label(tap, us):
            if not re.search(want, own[0]):
                faults.append('label of %s: %s' % (tap['id'], want))
        if (not drilled(tap) or no_room(tap)) and re.search(
                'DEPTH STOP|bit [0-9]', own[0]):
            faults.append('label of %s: a stop' % tap['id'])
        if not tap['warning'] and 'WARNING' in own[0]:
            faults.append('label of %s: a warning' % tap['id'])
    return faults


def read_codes(folder):
    with tempfile.TemporaryDirectory() as work:
        subprocess.run(['pdftoppm', '-r', '150', '-gray', '-png',
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
        for words in contact(tap):
            if not any(re.search(words, c) for c in codes):
                faults.append('code of %s: %s' % (tap['id'], words))
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


def spoil(texts, taps, wanted_of, us):
    """Every digit of every number of every tap changed, and every wanted
    sentence taken out: how many, and which were not noticed."""
    changed, removed, kept = 0, 0, []
    for tap in taps:
        text = texts[tap['id']]
        for want in wanted_of(tap, us):
            m = re.search(want, text)
            for wrong in other_digits(m.group()):
                copy = text[:m.start()] + wrong + text[m.end():]
                changed += 1
                if re.search(want, copy):
                    kept.append('%s: %s' % (tap['id'], wrong))
        for want in words_on_all(tap, us):
            copy, n = re.subn(want, '', text)
            removed += n > 0
            if n and not any(re.search(w, copy) is None
                             for w in wanted_of(tap, us)):
                kept.append('%s without: %s' % (tap['id'], want))
    return changed, removed, kept


def spoil_codes(taps, us, bridge, date, codes):
    changed, removed, kept = 0, 0, []
    for tap in taps:
        want = '\n'.join(set_out(tap, us, bridge, date))
        own = next(c for c in codes if c.startswith('Tap %s\n' % name(tap)))
        for wrong in other_digits(own.rstrip('\n')):
            changed += 1
            if re.fullmatch(want, wrong):
                kept.append('code of %s: %s' % (tap['id'], wrong))
        for words in words_on_all(tap, us):
            copy, n = re.subn(words, '', own.rstrip('\n'))
            removed += n > 0
            if n and re.fullmatch(want, copy):
                kept.append('code of %s without: %s' % (tap['id'], words))
    return changed, removed, kept


def main():
    if shutil.which('pdftotext') is None:
        print('no pdftotext')
        return 77
    folder = sys.argv[1]
    try:
        tendons, taps = rows(folder, 'tendons.csv'), rows(folder, 'taps.csv')
        openings = rows(folder, 'openings.csv')
        pages, labels = pages_of(folder), pages_of(folder, 'labels.pdf')
        drawn = svg_pages_of(folder)
    except (OSError, subprocess.CalledProcessError) as e:
        print(e)
        return 2
    us = 'length_ft_in' in tendons[0]
    parents = {p['id']: p['parent'] for p in rows(folder, 'parts.csv')
               if p['scope'] == 'part'}
    for tap in taps:
        tap['as found'] = next((o for o in openings if o['id'] == tap['opening']
                                and o['tendon'] == tap['tendon']), None)
    for o in openings:
        o['sheet of'] = next((name(t) for t in taps if t['opening'] == o['id']
                              and t['tendon'] == o['tendon']), '')
    faults = check_found(pages, openings, us)
    faults += check(pages, tendons, taps, us, parents) + check_labels(labels, taps, us)
    if drawn:
        faults += ['SVG: ' + f for f in check_found(drawn, openings, us)]
        faults += ['SVG: ' + f for f in check(drawn, tendons, taps, us,
                                          parents)]
        faults += ['SVG: ' + f for f in check_labels(
            [svg_text(p) for p in glob.glob(folder + '/labels*.svg')], taps, us)]
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
    parts = {t['id']: next(x for x in (part_of(p, t) for p in pages) if x)
             for t in taps}
    stuck = {k: v[0] for k, v in labels_of(labels, taps).items()}
    spoilt = [spoil(parts, taps, wanted, us), spoil(stuck, taps, on_label, us),
              spoil_found(found_of(pages, openings), openings, us)]
    if codes:
        spoilt.append(spoil_codes(taps, us, sys.argv[2], sys.argv[3], said))
    changed, removed = (sum(s[k] for s in spoilt) for k in (0, 1))
    kept = [f for s in spoilt for f in s[2]]
    for f in kept:
        print('a change was not noticed: ' + f)
    if kept:
        return 1
    if changed < 8 * len(taps):
        print('only %d changed numbers' % changed)
        return 1
    if removed < 4 * len(taps):
        print('only %d removed sentences' % removed)
        return 1
    print('%d pages, %d taps and %d openings as in the tables, %d codes; %d '
          'changed numbers, %d removed sentences refused' % (
              len(pages), len(taps), len(openings), codes, changed, removed))
    return 0


if __name__ == '__main__':
    sys.exit(main())
