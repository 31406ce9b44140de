#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""usage: agree.py FOLDER

Do the outputs of one delivery say the same of every tap point? Reads
taps.csv, summary.json, model.ifc and model.glb, each in its own way, and
compares: places, stations and tape measures to 0.1 mm, angles to 0.01 deg.
Where the advice is to drill, the drawn arrow's tip must be at the mark too;
where it is not, no output may give what a drill is set by.
Exit 1 on a difference, 2 without input.
"""
import csv
import json
import re
import struct
import sys

LIMIT = 0.0001  # m
ANGLE = 0.0101  # deg: each is rounded to 0.01
TIP = 0.003  # m: radius of the drawn tip, and some more
# summary.json's key, column of taps.csv, property; None: not there
LENGTHS = [
    ('t', 'station_m', 'TendonStation'), ('U', 'U_world_m', 'U'),
    ('mark.0', 'x_m', 'X'), ('mark.1', 'y_m', 'Y'), ('mark.2', 'z_m', 'Z'),
    ('axis.0', 'axis_x_m', 'AxisX'), ('axis.1', 'axis_y_m', 'AxisY'),
    ('axis.2', 'axis_z_m', 'AxisZ'),
    ('fromBack.distance', 'back_tape_m', 'TapeFromBackFace'),
    ('fromAhead.distance', 'ahead_tape_m', 'TapeFromAheadFace'),
    ('facesApart', 'faces_apart_m', 'FacesApart'),
    ('UTapesMeet', 'U_tapes_meet_m', 'TapesMeetU'),
    ('bridgeStation', 'bridge_station_m', 'BridgeStation'),
    ('bridgeStationShown', 'bridge_station_shown_m', 'BridgeStationShown'),
    ('bridgeOffset', 'bridge_offset_m', 'BridgeOffset')]
SMALL = [('depthStop', 'depth_stop_mm', 'DepthStop'), ('bit', 'bit_mm', 'Bit'),
         ('aroundFromCrown', 'around_from_crown_mm', 'AroundFromCrown')]
DRILL = ('depthStop', 'depth_stop_mm', 'DepthStop', 'bit', 'bit_mm', 'Bit',
         'pContact', 'p_contact', 'ProbabilityOfContact')
TEXTS = [('advice', 'advice', 'Advice'), ('indication', 'indication',
                                          'Indication'),
         ('fromBack.face', 'back_face', 'BackFace'),
         ('fromAhead.face', 'ahead_face', 'AheadFace'),
         ('markFace', 'mark_face', 'MarkFace')]


def dig(value, path):
    for step in path.split('.'):
        if value is None:
            return None
        value = (value[int(step)] if isinstance(value, list) else
                 value.get(step))
    return value


class Ifc:
    """Just enough of a STEP file: its instances and their parameters."""

    def __init__(self, path):
        self.at = {}
        for line in open(path, encoding='ascii'):
            m = re.match(r'#(\d+)=(\w+)\((.*)\);$', line.rstrip('\n'))
            if m:
                self.at[int(m[1])] = (m[2], m[3])

    def refs(self, ident):
        return [int(x) for x in re.findall(r'#(\d+)', self.at[ident][1])]

    def value(self, ident):
        name, text = re.match(r"'([^']*)',\$,IFC\w+\((.*)\),(?:\$|#\d+)$",
                              self.at[ident][1]).groups()
        return name, text[1:-1] if text[0] == "'" else (
            float(text) if text[0] != '.' else text == '.T.')

    def sets(self, wanted):
        """(object, properties) of every property set of that name."""
        out = []
        for ident, (entity, text) in self.at.items():
            if entity != 'IFCRELDEFINESBYPROPERTIES':
                continue
            *objects, pset = self.refs(ident)
            if f",'{wanted}'," in self.at[pset][1]:
                out.append((objects[0], dict(map(self.value,
                                                 self.refs(pset)))))
        return out

    def points(self, product):
        todo, seen = self.refs(product), set()
        for ident in todo:
            entity, text = self.at[ident]
            if entity == 'IFCCARTESIANPOINTLIST3D':
                return [tuple(map(float, p.split(','))) for p in
                        re.findall(r'\(([-+.\dE]+,[-+.\dE]+,[-+.\dE]+)\)',
                                   text)]
            if ident not in seen and entity in (
                    'IFCPRODUCTDEFINITIONSHAPE', 'IFCSHAPEREPRESENTATION',
                    'IFCTRIANGULATEDFACESET'):
                seen.add(ident)
                todo += self.refs(ident)
        return []


def glb_taps(path):
    data = open(path, 'rb').read()
    size = struct.unpack_from('<I', data, 12)[0]
    doc = json.loads(data[20:20 + size])
    start = 20 + size + 8
    out = {}
    for node in doc['nodes']:
        extras = node.get('extras', {})
        if extras.get('Object') != 'tap':
            continue
        points = []
        if 'mesh' in node:
            part = doc['meshes'][node['mesh']]['primitives'][0]
            acc = doc['accessors'][part['attributes']['POSITION']]
            view = doc['bufferViews'][acc['bufferView']]
            at = (start + view.get('byteOffset', 0) +
                  acc.get('byteOffset', 0))
            points = [struct.unpack_from('<3f', data, at + 12 * i)
                      for i in range(acc['count'])]
        out[extras['Id'], extras['Tendon']] = (extras, points)
    return out


def glb_extras(path, kind):
    data = open(path, 'rb').read()
    doc = json.loads(data[20:20 + struct.unpack_from('<I', data, 12)[0]])
    return [n['extras'] for n in doc['nodes']
            if n.get('extras', {}).get('Object') == kind]


def tapped_faults(folder, summary, ifc, taps):
    """Every indication has a tap, or a reason, the same in all files."""
    rows = {r['key']: r for r in
            csv.DictReader(open(folder + '/indications.csv', encoding='utf-8',
                                newline=''))}
    told = {i['key']: i for t in summary['tendons'] for i in t['indications']}
    drawn = {p['Key']: p for _, p in ifc.sets('DM_Indication')}
    gl = {e['Key']: e for e in glb_extras(folder + '/model.glb', 'indication')}
    faults = []
    if not set(rows) == set(told) == set(drawn) == set(gl):
        faults.append('the files name other indications')
    for key in sorted(set(rows) & set(told) & set(drawn) & set(gl)):
        row = rows[key]
        for a, b, c in (('tap', 'tap', 'Tap'), ('noTap', 'no_tap', 'NoTap')):
            values = {told[key][a] or '', row[b], drawn[key].get(c, ''),
                      gl[key].get(c, '')}
            if len(values) != 1:
                faults.append(f'{key}: {c} differs: {sorted(values)}')
        if not row['tap'] and not row['no_tap']:
            faults.append(f'{key}: neither a tap nor why')
        if row['tap'] and (row['tap'], row['tendon']) not in taps:
            faults.append(f'{key}: there is no tap {row["tap"]}')
    return faults


def tip_error(points, mark):
    """How far from the mark the arrow's tip is drawn: a small ring of points
    about it, whose middle counts."""
    near = [p for p in points
            if all(abs(a - b) <= TIP for a, b in zip(p, mark))]
    if not near:
        return float('inf')
    return max(abs((min(p[i] for p in near) + max(p[i] for p in near)) / 2 -
                   mark[i]) for i in range(3))


def main():
    if len(sys.argv) != 2:
        print(__doc__.split('\n')[0], file=sys.stderr)
        return 2
    folder = sys.argv[1]
    rows = {(r['id'], r['tendon']): r for r in
            csv.DictReader(open(folder + '/taps.csv', encoding='utf-8',
                                newline=''))}
    summary = json.load(open(folder + '/summary.json', encoding='utf-8'))
    told = {(p['id'], t['id']): p for t in summary['tendons']
            for p in t['taps']}
    ifc = Ifc(folder + '/model.ifc')
    bridge = ifc.sets('DM_Bridge')[0][1]
    origin = [bridge['Origin' + a] for a in 'XYZ']
    drawn = {(p['Id'], p['Tendon']): (p, ifc.points(o))
             for o, p in ifc.sets('DM_TapPoint')}
    gl = glb_taps(folder + '/model.glb')
    faults, worst = [], 0.0

    def same(key, what, values, limit):
        nonlocal worst
        values = [None if v in ('', None) else float(v) for v in values]
        if any(v is None for v in values):
            if any(v is not None for v in values):
                faults.append(f'{key}: {what} is missing somewhere: {values}')
            return
        spread = max(values) - min(values)
        if limit == LIMIT:
            worst = max(worst, spread)
        if not spread <= limit:
            faults.append(f'{key}: {what} differs: {values}')

    for name, other in (('summary.json', told), ('model.ifc', drawn),
                        ('model.glb', gl)):
        if set(other) != set(rows):
            faults.append(f'{name} and taps.csv name other taps: '
                          f'{sorted(set(other) ^ set(rows))}')
    for key in sorted(set(rows) & set(told) & set(drawn) & set(gl)):
        row, tap = rows[key], told[key]
        (mine, ifc_points), (extras, gl_points) = drawn[key], gl[key]
        for a, b, c in LENGTHS:
            same(key, c, [dig(tap, a), row[b], mine.get(c), extras.get(c)],
                 LIMIT)
        for a, b, c in SMALL:
            mm = row[b]
            same(key, c, [dig(tap, a), mm and float(mm) / 1000.0,
                          mine.get(c), extras.get(c)], LIMIT)
        same(key, 'Clock', [tap['clock'], row['clock_deg'], mine.get('Clock'),
                            extras.get('Clock')], ANGLE)
        for a, b, c in TEXTS:
            values = {dig(tap, a) or '', row[b], mine.get(c, ''),
                      extras.get(c, '')}
            if len(values) != 1:
                faults.append(f'{key}: {c} differs: {sorted(values)}')
        for said in (tap, row, mine, extras):
            given = sorted(n for n in DRILL if said.get(n) not in ('', None))
            if tap['advice'] != 'tap' and given:
                faults.append(f'{key}: not to be drilled, but has {given}')
            if tap['advice'] == 'tap' and len(given) < 2:
                faults.append(f'{key}: to be drilled, without stop or bit')
        if tap['advice'] == 'tap':
            mark = [m - o for m, o in zip(tap['mark'], origin)]
            for name, points in (('IFC', ifc_points), ('glTF', gl_points)):
                off = tip_error(points, mark)
                worst = max(worst, off)
                if not off <= LIMIT:
                    faults.append(f'{key}: {name} draws the tip beside the mark: '
                                  f'{off * 1000:.3f} mm')
    faults += tapped_faults(folder, summary, ifc, rows)
    for fault in faults:
        print(fault)
    print(f'{folder}: {len(rows)} taps in four files, largest difference '
          f'{worst * 1000:.3f} mm')
    return 1 if faults else 0


if __name__ == '__main__':
    sys.exit(main())
