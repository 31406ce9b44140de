# SPDX-License-Identifier: MIT
"""How the work sheets, their labels and codes say what a row of taps.csv holds:
regular expressions made from the table alone. Used by sheets.py."""
import itertools
import math
import re
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
    """Never less than the table says; that is rounded to 10 um."""
    step = 0.0254 / 8 if us else 1e-3
    up = {math.ceil((u + d) / step - 1e-6) for d in (-2e-5, 0, 2e-5)}
    return {inches(n) if us else '%d mm' % n for n in up}


def chances(p):
    out = {'%.2f' % (math.floor(100 * (p + d) + 1e-6) / 100)
           for d in (-6e-4, 0, 6e-4)}
    return {'over 0.99' if w >= '1.00' else w for w in out}


def adds_up(tap, us):
    """Faces apart, with a word on rounding where who adds both tapes finds
    another last digit."""
    lengths = [float(tap[w + '_m'])
               for w in ('back_tape', 'ahead_tape', 'faces_apart')]
    said = set()
    for a, b, c in itertools.product(*(around(x, 1e-3) for x in lengths)):
        for d, e, f in itertools.product(
                *(around(x, 0.0254 / 8) for x in lengths)):
            words = '%s (%d mm)' % (feet(f), c) if us else '%d mm (%s)' % (
                c, feet(f))
            if a + b != c or d + e != f:
                words += ('; both tapes add up to it within 1 mm (1/8 in) by '
                          'rounding')
            said.add(words)
    return said


def inside(tap):
    """The stop lies behind the wall."""
    return float(tap['depth_stop_mm']) > float(tap['wall_min_mm']) + 0.015


def basis(tap, us):
    """What a stop is made of, and that it adds up as printed."""
    wall = 'nominal wall' if tap['wall_assumed'] == 'yes' else 'least wall'
    stop = one_of(stops(float(tap['depth_stop_mm']), us), '')
    if not inside(tap):
        return 'DEPTH STOP (?:%s) = %s' % (stop, wall)
    said = []
    for s in sorted(stops(float(tap['depth_stop_mm']), us)):
        for w in sorted(stops(float(tap['wall_min_mm']), us)):
            (a, b), (c, d) = ([float(x) for x in re.findall(r'[0-9.]+', n)]
                              for n in (s, w))
            more = ('%.2f in (%.1f mm)' if us else '%.1f mm (%.2f in)') % (
                a - c, b - d)
            said.append('DEPTH STOP %s = %s %s + allowance %s' % (
                s, wall, w, more))
    return '(?:%s)' % one_of(said, '')


def bit(tap, us):
    return 'bit (?:%s)' % one_of(stops(float(tap['bit_mm']), us), '')


def pierce(tap):
    words = ('The stop lies INSIDE the duct: stop at the inner face, pierce by '
             'hand.' if inside(tap) else
             'Pierce the last of the wall by hand tool.')
    if tap['wall_assumed'] == 'yes':
        words += ' No least wall is documented: measure the wall first.'
    return re.escape(words)


def contact(tap):
    """With an allowance: how likely a strand is touched."""
    if not drilled(tap) or not inside(tap):
        return []
    chance = 'not known'
    if tap['p_contact']:
        chance = '(?:%s) %%' % '|'.join(sorted({
            '%d' % math.ceil(100 * (float(tap['p_contact']) + d))
            for d in (-6e-4, 0, 6e-4)}))
    return [r'strand may touch \(chance %s\): stop at the inner face, pierce by '
            'hand' % chance]


def no_drill(tap, us):
    """Why a tap has no stop; an empty string where it has one."""
    if tap['opened'] == 'yes':
        words = 'Opened on %s: found %s, %s.' % (
            tap['opened_on'], tap['found'],
            'neither confirmed nor refuted' if tap['outcome'] == 'neither'
            else tap['outcome'])
        if tap['as found']['strand'] == 'yes':
            words += ' A STRAND WAS TOUCHED.'
        if tap['as found']['water'] == 'yes':
            words += ' Water came out.'
        return re.escape(words + " No second hole but on the engineer's word.")
    if no_room(tap):
        return 'No drill before the engineer has said how\\.'
    if tap['advice'] == 're-scan by hand first':
        return re.escape('No hole yet. Scan this length again by hand, all '
                         'round; the mark is only its middle.')
    if drilled(tap):
        return ''
    return ('No drill\\. Hand tool, through the wall only \\(%s wall (?:%s)\\), '
            'with the engineer present\\.' % (
                'nominal' if tap['wall_assumed'] == 'yes' else 'least',
                one_of(stops(float(tap['wall_min_mm']), us), '')))


def meeting(tap, us):
    """Step 4 behind the length between the faces."""
    if not tap['back_face'] or not tap['ahead_face']:
        return re.escape(
            'One tape only, no check by a second face: two people measure, '
            'each for himself.' if tap['back_face'] or tap['ahead_face'] else
            'No face can be touched: do NOT set out from here.')
    do = ('the hole is' if tap['opened'] == 'yes' else
          'scan about' if tap['advice'] == 're-scan by hand first' else
          'mark at') + ' the end of the tape from '
    return ('If both tapes do not meet within (?:%s): STOP, wrong face or wrong '
            'line\\. If they do: %s%s\\.' % (
                one_of(bounds(float(tap['U_back_tape_m']) +
                              float(tap['U_ahead_tape_m']), us), ''),
                do.replace('the hole is the', 'the hole is at the'),
                re.escape(tap['mark_face'])))


def words_on_all(tap, us):
    """What page, label and code must say alike."""
    out = [meeting(tap, us)] + contact(tap)
    if no_drill(tap, us):
        out.append(no_drill(tap, us))
    if drilled(tap):
        out.append(pierce(tap))
    if tap['warning']:
        out.append('WARNING: ' + re.escape(tap['warning']))
    return out


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
        out.append('Faces apart (?:%s)\\.' % one_of(adds_up(tap, us), ''))
    way = float(tap['around_from_tape_line_mm']) / 1000
    if abs(way) < 4.9e-4:
        out.append('Round the duct 0 mm')
    elif abs(way) > 5.1e-4:
        out.append('Round the duct (?:%s) to the %s looking ahead' % (
            one_of(arcs(way, us), ''), 'RIGHT' if way > 0 else 'LEFT'))
    if drilled(tap):
        out.append(basis(tap, us) + '\\.')
        out.append(bit(tap, us))
        if tap['p_enter']:
            out.append('Chance to enter, if it is one: (?:at least )?(?:%s)' %
                       one_of(chances(float(tap['p_enter'])), ''))
    if tap['strand_gap_mm']:
        out.append('Strands expected (?:%s) behind the wall' % one_of(
            stops(max(float(tap['strand_gap_mm']), 0), us), ''))
    if tap['opened'] == 'yes':
        out.append('All that was found: page "As found", opening ' +
                   re.escape(tap['as found']['id']))
        if tap['found_depth_mm']:
            out.append('Depth (?:%s)' % one_of(
                arcs(float(tap['found_depth_mm']) / 1000, us), ''))
    else:
        out.append('Found again from.* turn made\\?'
                   if tap['advice'].startswith('re-scan') else
                   'As found: void depth.* water\\?.* strand touched\\?.* '
                   'photo, note.* plugged by')
    if tap['accepted']:
        out.append('Accepted: ' + re.escape(tap['accepted']))
    return out + words_on_all(tap, us)


def on_label(tap, us):
    """The same for its label."""
    def length(metres):
        if us:
            return {feet(e) for e in around(metres, 0.0254 / 8)}
        return {'%d mm' % n for n in around(metres, 1e-3)}
    out = [re.escape(name(tap)) + ' on the line ' + tap['tape_line'] + ':']
    for side, arrow, none in (('back', '\u2192', 'no face on the back side'),
                              ('ahead', '\u2190', 'no face ahead')):
        out.append('%s %s (?:%s) ' % (
            re.escape(tap[side + '_face']), arrow,
            one_of(length(float(tap[side + '_tape_m'])), ''))
            if tap[side + '_face'] else none)
    way = float(tap['around_from_tape_line_mm']) / 1000
    out.append('round it (?:%s) ' % one_of(
        {inches(e) for e in around(abs(way), 0.0254 / 8)} if us else
        {'%d mm' % n for n in around(abs(way), 1e-3)}, ''))
    for looking, right in (('ahead', way > 0), ('back', way < 0)):
        out.append('%s %s%s ' % (
            looking,
            '' if abs(way) < 4.9e-4 else 'RIGHT to ' if right else 'LEFT to ',
            tap['clock_looking_' + looking]))
    if drilled(tap) and not no_room(tap):
        out += [basis(tap, us) + '; ' + bit(tap, us)] + words_on_all(tap, us)
    else:
        out += [order_on_label(tap)] + [
            w for w in words_on_all(tap, us)
            if not drilled(tap) or w != pierce(tap)]
    return out


def order_on_label(tap):
    if tap['opened'] == 'yes':
        return 'OPENED: NO SECOND HOLE'
    return ('NO ROOM: ASK THE ENGINEER' if no_room(tap) else
            'RE-SCAN BY HAND: NO HOLE' if tap['advice'].startswith('re-scan')
            else 'HAND TOOL ONLY: NO DRILL')


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
             '1 tape line ' + tap['tape_line'],
             '2 ' + tape('back', 'AHEAD'), '3 ' + tape('ahead', 'BACK'),
             '4 ' + ('faces apart (?:%s)\\. ' % one_of(adds_up(tap, us), '')
                     if tap['faces_apart_m'] else '') + meeting(tap, us),
             '5 round the duct, looking ahead (?:%s)%s' % (
                 one_of(arcs(way, us), ''), hand),
             '6 looking ahead %s, looking back %s' % (
                 tap['clock_looking_ahead'], tap['clock_looking_back'])]
    drill = no_drill(tap, us)
    if drilled(tap):
        drill += ' Then: ' if drill else ''
        drill += '%s, %s\\. %s' % (basis(tap, us), bit(tap, us), pierce(tap))
    lines.append('7 ' + drill)
    if tap['warning']:
        lines.append('WARNING: ' + re.escape(tap['warning']))
    if tap['accepted']:
        lines.append('Accepted: ' + re.escape(tap['accepted']))
    lines += ['x y z ' + ' '.join(
                  '(?:%s)' % one_of({'%.3f' % (float(tap[a + '_m']) + d)
                                     for d in (-LAST, 0, LAST)}, '')
                  for a in 'xyz') + ' m',
              'job of ' + date]
    return lines
