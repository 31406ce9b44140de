#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""usage: ledger.py PROGRAM JOB FOLDER

Does every output account for all duct? Reads back what `ductmark find
--ledger` prints for JOB and the files of its delivery in FOLDER (tendons.csv,
coverage.csv, coverage_lines.csv, summary.json, model.glb, model.ifc; model.ply,
model.obj and model.dae where they are), each in its own way, and adds up, per
tendon and clock line, by state and by reason: each sum must be the tendon's
length in the same output to 1e-6 m, and all outputs must say the same (the
terminal shows whole millimetres or eighths of an inch). Then one number of each is spoiled, which
must be found. Exit 1 on a fault, 2 without input.
"""
import collections
import copy
import csv
import json
import os
import re
import struct
import subprocess
import sys

from agree import Ifc

LIMIT = 1e-6 + 1e-9  # m; the second for adding decimal numbers in binary
STATES = ['tested', 'strand-masked', 'not tested', 'not valid',
          'not reconciled']
WHYS = ['strand', 'inside support', 'steel', 'wrap', 'low clearance',
        'obstruction', 'skipped', 'run left out', 'dead zone', 'no access',
        'not walked', 'lift-off', 'check drift', 'no calibration',
        'not closed']


def camel(words):
    return ''.join(w[0].upper() + w[1:] for w in re.split('[ -]', words))


def low_camel(words):
    text = camel(words)
    return text[0].lower() + text[1:]


def snake(words):
    return re.sub('[ -]', '_', words)


class Ledger:
    """Of one tendon and line: its length, sums by state and by reason."""

    def __init__(self, length, states, whys):
        self.length = length
        self.states = {s: states.get(s, 0.0) for s in STATES}
        self.whys = {w: whys.get(w, 0.0) for w in WHYS}

    def faults(self):
        by_state = sum(self.states.values())
        by_why = self.states['tested'] + sum(self.whys.values())
        return [f'{what} add up to {total:.6f}, the length is '
                f'{self.length:.6f}' for what, total in
                (('states', by_state), ('reasons', by_why))
                if not abs(total - self.length) <= LIMIT]


def clock_key(degrees):
    return f'{float(degrees) % 360.0:.1f}'


def metres(cell):
    """12.345, or 12 ft 3 5/8 in."""
    m = re.match(r'(\d+) ft (\d+)(?: (\d)/(\d))? in$', cell)
    if not m:
        return float(cell)
    inches = 12 * int(m[1]) + int(m[2]) + int(m[3] or 0) / int(m[4] or 1)
    return inches * 0.0254


def table_after(lines, i):
    """Rows of a table whose head is line i: cells with two blanks between."""
    for row in lines[i + 2:]:
        if not row.strip():
            return
        yield re.split(' {2,}', row.strip())


def from_text(text):
    """The terminal: the table of tendons, then the ledger."""
    first, sums = {}, collections.defaultdict(lambda: ({}, {}))
    lines = text.split('\n')
    for i, line in enumerate(lines):
        if re.match('tendon +length, (m|ft in) +tested', line):
            for tendon, *values in table_after(lines, i):
                first[tendon] = list(map(metres, values))
        if re.match('tendon +clock +length, (m|ft in)', line):
            for tendon, clock, length, state, *why in table_after(lines, i):
                if clock != 'all':
                    hour, minute = map(int, clock.split(':'))
                    clock = clock_key(30.0 * (hour % 12) + 0.5 * minute)
                states, whys = sums[tendon, clock]
                states[state] = states.get(state, 0.0) + metres(length)
                if why:
                    whys[why[0]] = metres(length)
    out = {k: Ledger(first[k[0]][0], *v) for k, v in sums.items()}
    for tendon, (_, *values) in first.items():
        row = dict(zip(STATES, values))
        one = out.setdefault((tendon, 'all'), Ledger(
            first['all'][0], row, {'strand': sum(values[1:])}))
        if any(abs(one.states[s] - row[s]) > 1e-9 for s in STATES):
            raise ValueError(f'{tendon}: its two tables differ')
    return out


def rows_of(folder, name):
    with open(os.path.join(folder, name), encoding='utf-8', newline='') as f:
        return list(csv.DictReader(f))


def from_tendons(folder):
    return {(r['id'], 'all'): Ledger(
        float(r['length_m']), {s: float(r[snake(s) + '_m']) for s in STATES},
        {w: float(r['why_' + snake(w) + '_m']) for w in WHYS})
        for r in rows_of(folder, 'tendons.csv')}


def from_lengths(rows, key, length):
    """Sums of rows that follow each other: from, to, length, state, why."""
    sums, end = {}, {}
    for r in rows:
        k = key(r)
        if abs(float(r['from']) - end.get(k, 0.0)) > 1e-9:
            raise ValueError(f'{k}: a gap at {r["from"]}')
        end[k] = float(r['to'])
        if abs(float(r['to']) - float(r['from']) - float(r['length'])) > 2e-9:
            raise ValueError(f'{k}: {r["length"]} is not the length')
        states, whys = sums.setdefault(k, ({}, {}))
        states[r['state']] = states.get(r['state'], 0.0) + float(r['length'])
        if r['why']:
            whys[r['why']] = whys.get(r['why'], 0.0) + float(r['length'])
    return {k: Ledger(length[k[0]], *v) for k, v in sums.items()}


def from_cover(folder, name):
    rows = rows_of(folder, name)
    for r in rows:
        for column in ('from', 'to', 'length'):
            r[column] = r[column + '_m']
    length = {r['id']: float(r['length_m'])
              for r in rows_of(folder, 'tendons.csv')}
    return from_lengths(rows, lambda r: (
        r['tendon'], clock_key(r['clock_deg']) if 'clock_deg' in r else 'all'),
        length)


def from_json(folder):
    with open(os.path.join(folder, 'summary.json'), encoding='utf-8') as f:
        doc = json.load(f)
    out, rows, length = {}, [], {}
    for t in doc['tendons']:
        length[t['id']] = t['length']
        for key, part in [('all', t)] + [(clock_key(l['clock']), l)
                                         for l in t['clockLines']]:
            out[t['id'], key] = Ledger(
                t['length'], {s: part[low_camel(s)] for s in STATES},
                part['why'])
            rows += [dict(l, tendon=t['id'], line=key,
                          length=round(l['to'] - l['from'], 6))
                     for l in part['lengths']]
    for key, one in from_lengths(rows, lambda r: (r['tendon'], r['line']),
                                 length).items():
        same(out[key], one, LIMIT, f'summary.json, lengths of {key}')
    return out


def from_properties(sets):
    out = {}
    for p in sets:
        for prefix in [''] + [f'Line{i + 1}' for i in
                              range(int(p.get('ClockLines', 0)))]:
            out[p['Id'], clock_key(p[prefix + 'Clock']) if prefix else
                'all'] = Ledger(
                p['Length'],
                {s: p[f'{prefix}Length{camel(s)}'] for s in STATES},
                {w: p.get(f'{prefix}LengthWhy{camel(w)}', 0.0) for w in WHYS})
    return out


def from_ducts(ducts, length):
    rows = [{'tendon': d['Tendon'], 'from': d['From'], 'to': d['To'],
             'length': d['Length'], 'state': d['Cover'],
             'why': d.get('Why', '')} for d in ducts]
    rows.sort(key=lambda r: (r['tendon'], r['from']))
    return from_lengths(rows, lambda r: (r['tendon'], 'all'), length)


def from_glb(folder):
    with open(os.path.join(folder, 'model.glb'), 'rb') as f:
        data = f.read()
    doc = json.loads(data[20:20 + struct.unpack_from('<I', data, 12)[0]])
    extras = [n.get('extras', {}) for n in doc['nodes']]
    out = from_properties(e for e in extras if e.get('Object') == 'tendon')
    ducts = [e for e in extras if e.get('Object') == 'duct']
    colours = {}
    for n in doc['nodes']:
        if n.get('extras', {}).get('Object') == 'duct' and 'mesh' in n:
            part = doc['meshes'][n['mesh']]['primitives'][0]
            name = doc['materials'][part['material']]['name']
            colours.setdefault(n['extras']['Cover'], set()).add(name)
    own_colours('model.glb', colours)
    return out, from_ducts(ducts, {k[0]: v.length for k, v in out.items()})


def own_colours(name, colours):
    """A state has one colour, which no other state has."""
    used = [c for names in colours.values() for c in names]
    if len(used) != len(set(used)) or len(used) != len(colours):
        raise ValueError(f'{name}: colours by state: {colours}')


def from_ifc(folder):
    ifc = Ifc(os.path.join(folder, 'model.ifc'))
    out = from_properties(p for _, p in ifc.sets('DM_Tendon'))
    ducts = ifc.sets('DM_Duct')
    layer = {}
    for ident, (entity, text) in ifc.at.items():
        if entity == 'IFCPRESENTATIONLAYERASSIGNMENT':
            name = re.match("'coverage: ([^']*)'", text)[1]
            layer.update({r: name for r in ifc.refs(ident)})
    colours = {}
    for product, p in ducts:
        shape = [r for r in ifc.refs(product)
                 if ifc.at[r][0] == 'IFCPRODUCTDEFINITIONSHAPE']
        for r in (ifc.refs(shape[0]) if shape else []):
            if ",'Body'," not in ifc.at[r][1]:
                continue  # an axis, which is not seen
            if layer.get(r) != p['Cover']:
                raise ValueError(f'model.ifc: #{product} of state '
                                 f'{p["Cover"]} lies on layer {layer.get(r)}')
            colours.setdefault(p['Cover'], set()).add(layer[r])
    own_colours('model.ifc', colours)
    return out, from_ducts([p for _, p in ducts],
                           {k[0]: v.length for k, v in out.items()})


def from_comments(folder, name):
    out = {}
    with open(os.path.join(folder, name), 'rb') as f:
        text = f.read().decode('latin-1')
    for m in re.finditer(r'coverage of tendon (\S+): length ([\d.]+)'
                         r'((?:, [a-z -]+ [\d.]+)+)', text):
        states, whys = {}, {}
        for word, value in re.findall(r', ([a-z -]+) ([\d.]+)', m[3]):
            if word.startswith('why '):
                whys[word[4:]] = float(value)
            else:
                states[word] = float(value)
        out[m[1], 'all'] = Ledger(float(m[2]), states, whys)
    return out


def same(a, b, limit, what):
    for name, one, other in (('length', {'': a.length}, {'': b.length}),
                             ('state', a.states, b.states),
                             ('why', a.whys, b.whys)):
        for k in one:
            if k in other and not abs(one[k] - other[k]) <= limit:
                raise ValueError(f'{what}: {name} {k}: {one[k]:.6f} and '
                                 f'{other[k]:.6f}')


def check(name, ledgers, reference, limit):
    faults = [f'{name}, tendon {t}, line {c}: {f}'
              for (t, c), one in ledgers.items() for f in one.faults()]
    wanted = {k for k in reference if k[1] == 'all' or
              any(c != 'all' for _, c in ledgers)}
    have = {k for k in ledgers if k[0] != 'all'}
    if name != 'coverage_lines.csv' and have != wanted:
        faults.append(f'{name}: ledgers of {sorted(have ^ wanted)} are '
                      f'missing or too many')
    for key in have & set(reference):
        try:
            same(reference[key], ledgers[key], limit, f'{name}, {key}')
        except ValueError as fault:
            faults.append(str(fault))
    return faults


def main():
    if len(sys.argv) != 4:
        print(__doc__.split('\n')[0], file=sys.stderr)
        return 2
    program, job, folder = sys.argv[1:]
    shown = subprocess.run([program, 'find', job, '--ledger'],
                           capture_output=True, check=False)
    if shown.returncode not in (0, 1):
        print(shown.stderr.decode(), file=sys.stderr)
        return 2
    read = {'summary.json': from_json(folder),
            'tendons.csv': from_tendons(folder),
            'coverage.csv': from_cover(folder, 'coverage.csv'),
            'coverage_lines.csv': from_cover(folder, 'coverage_lines.csv'),
            'the terminal': from_text(shown.stdout.decode())}
    read['model.glb'], read['ducts of model.glb'] = from_glb(folder)
    read['model.ifc'], read['ducts of model.ifc'] = from_ifc(folder)
    for name in ('model.ply', 'model.obj', 'model.dae'):
        if os.path.exists(os.path.join(folder, name)):
            read[name] = from_comments(folder, name)
    reference = read['summary.json']
    faults, spoiled = [], 0
    for name, ledgers in read.items():
        # A duct's type may change inside a length: two roundings more.
        limit = (0.0033 if name == 'the terminal' else
                 5e-6 if name.startswith('ducts') else LIMIT)
        faults += check(name, ledgers, reference, limit)
        for part in ('states', 'whys'):
            worse = copy.deepcopy(ledgers)
            sums = getattr(next(iter(worse.values())), part)
            sums[max(sums, key=sums.get)] += 0.005
            spoiled += bool(check(name, worse, reference, limit))
    if spoiled != 2 * len(read):
        faults.append(f'only {spoiled} of {2 * len(read)} spoiled numbers '
                      f'were found')
    for fault in faults:
        print(fault)
    lines = sum(k[1] != 'all' for k in reference)
    print(f'{folder}: {len(reference) - lines} tendons and {lines} clock '
          f'lines in {len(read)} outputs, {len(faults)} faults')
    return 1 if faults else 0


if __name__ == '__main__':
    try:
        sys.exit(main())
    except (ValueError, KeyError) as fault:
        print(f'{type(fault).__name__}: {fault}')
        sys.exit(1)
