#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""usage: totals.py FOLDER

Do the sums over parts and the bridge add up? Reads tendons.csv,
indications.csv, parts.csv, tallies.csv, summary.json, model.ifc and model.glb
of a delivery: the bridge is the sum of its tendons, a part that of its own
tendons and the parts in it, the tallies are those of the rows of
indications.csv, and all outputs say the same. Lengths of the ledger to
1e-6 m, of indications to 1e-5 m for each of them. Then numbers are spoiled,
which must be found. Exit 1 on a fault, 2 without input.
"""
import collections
import json
import os
import sys

from agree import Ifc
from ledger import STATES, WHYS, camel, low_camel, rows_of, snake

LEDGER = 1e-6 + 1e-9
EXTENT = 1e-5 + 1e-9


def glb_extras(folder):
    with open(os.path.join(folder, 'model.glb'), 'rb') as f:
        data = f.read()
    size = int.from_bytes(data[12:16], 'little')
    return [n.get('extras', {}) for n in json.loads(data[20:20 + size])
            ['nodes']]


def sums(row, prefix, name):
    return {**{s: float(row[name(s)]) for s in STATES},
            **{w: float(row.get(prefix(w), 0.0)) for w in WHYS}}


def csv_sums(row):
    return {'length': float(row['length_m']),
            **sums(row, lambda w: f'why_{snake(w)}_m',
                   lambda s: snake(s) + '_m')}


def property_sums(p):
    return {'length': p['Length'],
            **sums(p, lambda w: 'LengthWhy' + camel(w),
                   lambda s: 'Length' + camel(s))}


def differences(what, a, b, limit):
    return [f'{what}, {k}: {a.get(k, 0.0):.6f} and {b.get(k, 0.0):.6f}'
            for k in sorted(set(a) | set(b), key=str)
            if not abs(a.get(k, 0.0) - b.get(k, 0.0)) <= limit]


def children(parts, tendons, scope):
    """Ids of the parts and tendons directly in a part."""
    return ([p['id'] for p in parts if p['scope'] == 'part' and
             p['parent'] == scope],
            [t['id'] for t in tendons if t['part'] == scope])


def check_lengths(parts, tendons, others):
    faults = []
    mine = {(p['scope'], p['id']): csv_sums(p) for p in parts}
    by_tendon = {t['id']: csv_sums(t) for t in tendons}

    def total(items):
        out = collections.Counter()
        for one in items:
            out.update(one)
        return dict(out)

    for (scope, ident), have in mine.items():
        faults += [f'{ident}: states are not the length'] * (
            abs(sum(have[s] for s in STATES) - have['length']) > LEDGER)
        inner, own = children(parts, tendons, ident)
        wanted = (total(by_tendon.values()) if scope == 'bridge' else
                  total([mine['part', p] for p in inner] +
                        [by_tendon[t] for t in own]))
        faults += differences(f'parts.csv, {ident}', have, wanted, LEDGER)
        for name, other in others.items():
            if ident not in other[scope]:
                faults.append(f'{name}: no {scope} {ident}')
                continue
            faults += differences(f'{name}, {ident}', have,
                                  other[scope][ident], LEDGER)
    return faults


def tallies_of(rows, parts, tendons):
    """From indications.csv: by scope, id, kind, grade."""
    part_of = {t['id']: t['part'] for t in tendons}
    parent = {p['id']: p['parent'] for p in parts if p['scope'] == 'part'}
    bridge = next(p['id'] for p in parts if p['scope'] == 'bridge')
    out = collections.defaultdict(lambda: [0, 0.0])
    for r in rows:
        scopes = [('bridge', bridge), ('tendon', r['tendon'])]
        part = part_of[r['tendon']]
        while part in parent:
            scopes.append(('part', part))
            part = parent[part]
        for scope in scopes:
            cell = out[(*scope, r['kind'], r['grade'])]
            cell[0] += 1
            cell[1] += float(r['length_m'])
    return out


def check_tallies(tallies, wanted, told):
    faults = []
    have = {(r['scope'], r['id'], r['kind'], r['grade']):
            [int(r['indications']), float(r['length_m'])] for r in tallies}
    for name, other in (('tallies.csv', have), ('summary.json', told)):
        for key in set(other) | set(wanted):
            a, b = other.get(key, [0, 0.0]), wanted.get(key, [0, 0.0])
            if a[0] != b[0] or not abs(a[1] - b[1]) <= EXTENT * max(1, b[0]):
                faults.append(f'{name}: {key}: {a}, expected {b}')
    return faults


def json_tallies(doc):
    out = {}
    for scope, items in (('bridge', [doc['coverage']]),
                         ('part', doc['partTotals']),
                         ('tendon', doc['tendons'])):
        for one in items:
            for t in one['tallies']:
                out[scope, one['id'], t['kind'], t['grade'] or ''] = [
                    t['count'], t['length']]
    return out


def property_counts(p):
    """(by kind, by grade, all) of a property set."""
    kinds = sum(p.get('Indications' + k, 0)
                for k in ('VoidLike', 'SoftLike', 'Unresolved'))
    grades = p.get('IndicationsNoGrade', 0) + sum(
        v for k, v in p.items() if k.startswith('IndicationsGrade'))
    return kinds, grades, p['Indications']


def main():
    if len(sys.argv) != 2:
        print(__doc__.split('\n')[0], file=sys.stderr)
        return 2
    folder = sys.argv[1]
    parts, tendons = rows_of(folder, 'parts.csv'), rows_of(folder,
                                                           'tendons.csv')
    tallies, found = rows_of(folder, 'tallies.csv'), rows_of(folder,
                                                             'indications.csv')
    with open(os.path.join(folder, 'summary.json'), encoding='utf-8') as f:
        doc = json.load(f)
    ifc, glb = Ifc(os.path.join(folder, 'model.ifc')), glb_extras(folder)
    sets = {'model.ifc': {
        'bridge': [p for _, p in ifc.sets('DM_Bridge')],
        'part': [p for _, p in ifc.sets('DM_Part')]},
        'model.glb': {
            'bridge': [e for e in glb if e.get('Object') == 'bridge'],
            'part': [e for e in glb if e.get('Object') == 'part']}}
    others = {name: {scope: {p['Id']: property_sums(p) for p in items}
                     for scope, items in s.items()}
              for name, s in sets.items()}
    others['summary.json'] = {
        scope: {t['id']: {'length': t['length'],
                          **{s: t[low_camel(s)] for s in STATES},
                          **{w: t['why'].get(w, 0.0) for w in WHYS}}
                for t in items}
        for scope, items in (('bridge', [doc['coverage']]),
                             ('part', doc['partTotals']))}
    faults = check_lengths(parts, tendons, others)
    wanted = tallies_of(found, parts, tendons)
    faults += check_tallies(tallies, wanted, json_tallies(doc))
    counts = {p['id']: int(p['indications']) for p in parts}
    for name, s in sets.items():
        for p in s['bridge'] + s['part']:
            if set(property_counts(p)) != {counts[p['Id']]}:
                faults.append(f'{name}, {p["Id"]}: {property_counts(p)} '
                              f'indications, not {counts[p["Id"]]}')
    for spoil in ('tested_m', 'why_inside_support_m', 'length_m'):
        worse = [dict(p) for p in parts]
        worse[-1][spoil] = str(float(worse[-1][spoil]) + 1e-4)
        if not check_lengths(worse, tendons, others):
            faults.append(f'a spoiled {spoil} was not found')
    if tallies:
        worse = [dict(t) for t in tallies]
        worse[-1]['indications'] = str(int(worse[-1]['indications']) + 1)
        if not check_tallies(worse, wanted, json_tallies(doc)):
            faults.append('a spoiled tally was not found')
    for fault in faults:
        print(fault)
    print(f'{folder}: {len(parts)} sums, {len(tallies)} tallies, '
          f'{len(faults)} faults')
    return 1 if faults else 0


if __name__ == '__main__':
    sys.exit(main())
