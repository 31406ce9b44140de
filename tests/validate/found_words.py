# SPDX-License-Identifier: MIT
"""How the page of what was opened says a row of openings.csv: regular
expressions made from the table alone. Used by sheets.py."""
import math
import re
import unicodedata

from sheet_words import LAST, arcs, around, bounds, chances, feet, one_of

VERDICTS = {'confirmed': 'CONFIRMED', 'refuted': 'REFUTED',
            'neither': 'NEITHER CONFIRMED NOR REFUTED',
            'missed': 'MISSED: NOT INDICATED, NOT SOUND',
            'agrees': 'SOUND, AS READ',
            'not read there': 'NOT SOUND, NOT READ THERE'}
LITRE_IN3 = 0.001 / 0.0254 ** 3
PSI_KPA = 4.4482216152605 / 0.0254 ** 2 / 1000  # NIST SP 811, B.8


def said(value, last, decimals):
    """What a number, known to `last`, may be with so many decimals."""
    one = 10 ** decimals
    return {'%.*f' % (decimals, n / one) for n in range(
        math.floor((value - last) * one + 0.5 - 1e-9),
        math.floor((value + last) * one + 0.5 + 1e-9) + 1)}


def two(value, last, metric, factor, us):
    """A value in two units, each with its decimals: all pairs that may be."""
    pairs = [(a + ' ' + metric[1], b + ' ' + us[1])
             for a in said(value, last, metric[0])
             for b in said(value * factor, last * factor, us[0])]
    return one_of({'%s (%s)' % p for p in pairs}, ''), one_of(
        {'%s (%s)' % p[::-1] for p in pairs}, '')


def volume(litres, last, us):
    return '(?:%s)' % two(litres, last, (3, 'L'), LITRE_IN3,
                          (1, 'in\u00b3'))[us]


def pressure(kpa, us):
    return '(?:%s)' % two(kpa, 6e-5, (2, 'kPa'), 1 / PSI_KPA, (2, 'psi'))[us]


def volume_bound(litres, us):
    """Rounded up; the table's own bound may lie 0.0005 L below it."""
    factor, one, unit = (LITRE_IN3, 10, 'in\u00b3') if us else (1, 1000, 'L')
    return '(?:%s)' % one_of({'%.*f %s' % (1 if us else 3, n / one, unit)
                              for n in range(
        math.ceil((litres - 6e-4) * factor * one - 1e-6),
        math.ceil((litres + 6e-4) * factor * one + 1e-6) + 1)}, '')


def length(metres, us):
    return '(?:%s)' % one_of({feet(e) for e in around(metres, 0.0254 / 8)} if us
                             else {'%.3f m' % (n / 1000)
                                   for n in around(metres, 1e-3)}, '')


def bound(metres, us):
    return '(?:%s)' % one_of(bounds(metres, us), '')


def arc(metres, us):
    return '(?:%s)' % one_of(arcs(metres, us), '')


def called(text, most=None):
    """A name from a file: cut behind so many letters; marks that only turn the
    direction of writing may come out anywhere or not at all."""
    cut = text if most is None or len(text) <= most else text[:most]
    out = ''.join('' if unicodedata.category(c) == 'Cf' else re.escape(c)
                  for c in cut).rstrip('\\ ')
    return out + ('' if cut == text else '\u2026')


def where(o, us):
    out = 'Where: %s looking ahead towards %s; tendon station %s \u00b1 %s' % (
        o['clock_looking_ahead'], called(o['looking_ahead_towards'], 40),
        length(float(o['station_m']), us), bound(float(o['U_world_m']), us))
    if o['bridge_station_shown_m']:
        out += '; bridge station ' + length(
            float(o['bridge_station_shown_m']), us)
    return out + ('; sheet of tap %s\\.' % re.escape(o['sheet of']) if
                  o['sheet of'] else '; no tap of these sheets\\.')


def estimated(o, us):
    out = 'Estimated: '
    if not o['indication']:
        return out + 'nothing indicated; what was read there: %s\\.' % re.escape(
            o['readings_there'] or 'nothing')
    out += re.escape(o['indication'])
    if not o['kind']:
        return out + ', which the readings show no more\\.'
    out += ', ' + o['kind']
    for way, end in (('from', 'back'), ('to', 'ahead')):
        if o['inside_%s_m' % way]:
            metres = float(o['inside_%s_m' % way])
            out += ', %s \u00b1 %s %s its %s end' % (
                arc(metres, us), bound(float(o['U_inside_%s_m' % way]), us),
                'beyond' if metres < -LAST else 'inside' if metres > LAST else
                '(?:beyond|inside)', end)
    low, high = o['estimated_depth_low_mm'], o['estimated_depth_high_mm']
    if low:
        out += '; void depth ' + ('' if high else 'at least ') + arc(
            float(low) / 1000, us)
    if low and high:
        out += ' to ' + arc(float(high) / 1000, us)
    if o['p_found']:
        out += '; chance of what was found (?:%s)' % one_of(
            chances(float(o['p_found'])), '')
    return out + '\\.'


def found(o, us):
    out = 'Found: ' + o['found']
    if o['found_depth_mm']:
        out += ', depth ' + arc(float(o['found_depth_mm']) / 1000, us)
    return out + ('\\. WATER CAME OUT' if o['water'] == 'yes' else
                  '\\. No water') + (
        '\\. A STRAND WAS TOUCHED\\.' if o['strand'] == 'yes' else
        '\\. No strand touched\\.')


def measured(o, us):
    """By pressures."""
    if not o['volume_measured_L']:
        return []
    out = 'Volume by pressures ' + volume(float(o['volume_measured_L']), 6e-4,
                                          us)
    out += (' \u00b1 ' + volume_bound(float(o['U_volume_measured_L']), us)
            if o['U_volume_measured_L'] else ', U not known')
    if o['vessel_L']:
        out += ': vessel ' + volume(float(o['vessel_L']), 6e-5, us)
        if float(o['hoses_L'] or 0) > 0:
            out += ', hoses ' + volume(float(o['hoses_L']), 6e-5, us)
        for before, column in (('; absolute pressure before ', 'before'),
                               (', after ', 'after'), (', of the air ', 'air')):
            out += before + pressure(float(o['pressure_%s_kPa' % column]), us)
    return [out + '\\.']


def title(o):
    return 'Opening %s: %s' % (o['id'], VERDICTS[o['outcome']])


def wanted_found(o, us):
    out = [re.escape(title(o)), r'(?<!\d)%s(?!\d)' % re.escape(o['date']),
           'Tendon %s%s%s' % (
               re.escape(o['tendon']),
               ', tag ' + called(o['field_tag']) if o['field_tag'] else '',
               ', ' + called(o['where']) if o['where'] else ''),
           where(o, us), estimated(o, us), found(o, us)] + measured(o, us)
    out.append('What it says: %s\\.' % re.escape(o['why']))
    papers = 'Survey: ' + called(o['survey'], 40)
    papers += ', from the register\\.' if o['from_register'] == 'yes' else '\\.'
    if o['photo']:
        papers += ' Photo: %s\\.' % called(o['photo'])
    if o['note']:
        papers += ' Note: ' + called(o['note'])
    return out + [papers]
