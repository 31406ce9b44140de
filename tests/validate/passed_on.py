#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What the bridge file states and the program only passes on must arrive.

The demo's bridge gets external ids on the bridge, each part, tendon, anchorage
and deviator, each its own; the job is run, and every id must stand at the
element of that name in model.ifc, model.glb and summary.json, and nowhere
else. So must the EPSG codes and the map conversion, with all their digits.

    passed_on.py PROGRAM DEMO_INPUT
"""
import json
import os
import re
import shutil
import struct
import subprocess
import sys
import tempfile

CRS = '<crs epsg="25832" vertical-epsg="7837"/>'
MAP = {"eastings": 500123.456789, "northings": 5800000.000001, "height": -3.5,
       "xAxisAbscissa": 0.96, "xAxisOrdinate": -0.28, "scale": 0.9995,
       "gridFactor": 0.99988}
TAGS = ("bridge", "part", "tendon", "anchorage", "deviator")


def mark(text):
    """Puts an id into each element; returns the text and what was put where:
    value -> (tag, its own id, that of its tendon)."""
    put = {}
    tendon = [None]

    def one(m):
        tag, attributes, closed = m.group(1), m.group(2), m.group(3)
        own = re.search(r'\bid="([^"]*)"', attributes).group(1)
        if tag == "tendon":
            tendon[0] = own
        value = f"X-{tag}-{len(put)}"
        put[value] = (tag, own, tendon[0] if tag in TAGS[3:] else None)
        inside = f'<external-id scheme="drawing" value="{value}"/>'
        return (f"<{tag}{attributes}>{inside}" +
                (f"</{tag}>" if closed else ""))

    text = re.sub(r"<crs [^>]*/>\s*<map-conversion [^>]*/>", CRS +
                  '<map-conversion eastings="{eastings:.6f} m" '
                  'northings="{northings:.6f} m" height="{height} m" '
                  'x-axis-abscissa="{xAxisAbscissa}" '
                  'x-axis-ordinate="{xAxisOrdinate}" '
                  'scale="{scale}" '
                  'grid-factor="{gridFactor}"/>'.format(**MAP), text)
    text = re.sub(r"<(%s)( [^>]*?)(/?)>" % "|".join(TAGS), one, text)
    return text, put


def from_json(path):
    with open(path, encoding="utf-8") as f:
        root = json.load(f)
    found = {}

    def take(node, tag, own, tendon=None):
        for e in node["externalIds"]:
            if e["scheme"] == "drawing":
                found.setdefault(e["value"], []).append((tag, own, tendon))

    take(root, "bridge", root["bridge"])
    for p in root["parts"]:
        take(p, "part", p["id"])
    for t in root["tendons"]:
        take(t, "tendon", t["id"])
        for s in t["supports"]:
            take(s, s["kind"], s["id"], t["id"])
    return found, root


def from_glb(path):
    with open(path, "rb") as f:
        data = f.read()
    size = struct.unpack_from("<I", data, 12)[0]
    root = json.loads(data[20:20 + size])
    parent = {c: i for i, n in enumerate(root["nodes"])
              for c in n.get("children", ())}
    found = {}
    for i, n in enumerate(root["nodes"]):
        extras = n.get("extras", {})
        for e in extras.get("ExternalIds", ()):
            if e["scheme"] != "drawing":
                continue
            tag = extras["Object"]
            tendon = None
            up = i
            while tag in TAGS[3:] and up in parent and tendon is None:
                up = parent[up]
                above = root["nodes"][up].get("extras", {})
                if above.get("Object") == "tendon":
                    tendon = above["Id"]
            found.setdefault(e["value"], []).append(
                (tag, extras.get("Id"), tendon))
    return found, root["scenes"][0]["extras"]


def from_ifc(path):
    """Value -> the name of the product that its set hangs on."""
    lines = {}
    with open(path, encoding="utf-8") as f:
        for line in f:
            m = re.match(r"#(\d+)=(\w+)\((.*)\);", line.strip())
            if m:
                lines[m.group(1)] = (m.group(2), m.group(3))
    found = {}
    sets = {}
    for number, (kind, rest) in lines.items():
        if kind == "IFCPROPERTYSET" and "'DM_ExternalIds'" in rest:
            sets[number] = re.findall(r"#(\d+)", rest)
    for kind, rest in lines.values():
        if kind != "IFCRELDEFINESBYPROPERTIES":
            continue
        numbers = re.findall(r"#(\d+)", rest)
        if numbers[-1] not in sets:
            continue
        for n in sets[numbers[-1]]:
            for value in re.findall(r"IFCIDENTIFIER\('(X-[^']*)'\)",
                                    lines[n][1]):
                for product in numbers[:-1]:
                    if lines[product][0] != "IFCOWNERHISTORY":
                        found.setdefault(value, []).append(lines[product])
    return found, lines


IFC_KIND = {"bridge": ("IFCBRIDGE",), "part": ("IFCBRIDGEPART",),
            "tendon": ("IFCTENDON",), "anchorage": ("IFCTENDONANCHOR",),
            "deviator": ("IFCDISCRETEACCESSORY", "IFCBUILDINGELEMENTPROXY",
                         "IFCTENDONCONDUIT", "IFCELEMENTASSEMBLY")}


def check(faults, what, put, found):
    for value, place in put.items():
        got = found.get(value, [])
        if got != [place]:
            faults.append(f"{what}: {value} is to stand at {place}, "
                          f"stands at {got}")


def check_ifc(faults, put, origin, found, lines):
    for value, (tag, own, _) in put.items():
        got = found.get(value, [])
        if len(got) != 1 or got[0][0] not in IFC_KIND[tag]:
            faults.append(f"model.ifc: {value} ({tag} {own}) stands at {got}")
    conversion = [r for k, r in lines.values() if k == "IFCMAPCONVERSIONSCALED"]
    numbers = [float(v) for v in
               re.findall(r"(?<=,)-?\d+\.\d*(?:E[-+]?\d+)?",
                          conversion[0])] if conversion else []
    # Its coordinates begin at the scene's origin, so its conversion does too.
    x, y, z = (origin[k] for k in "xyz")
    a, o, k = (MAP[n] for n in ("xAxisAbscissa", "xAxisOrdinate", "scale"))
    g = MAP["gridFactor"]
    want = [MAP["eastings"] + k * g * (x * a - y * o),
            MAP["northings"] + k * g * (x * o + y * a),
            MAP["height"] + k * z, a, o, k, g, g, 1.0]
    if len(numbers) != len(want) or max(abs(p - q) for p, q in
                               zip(numbers, want)) > 1e-8:
        faults.append(f"model.ifc: map conversion {numbers}")
    text = str(lines.values())
    for code in ("EPSG:25832", "EPSG:7837"):
        if code not in text:
            faults.append(f"model.ifc lacks {code}")


def check_map(faults, what, extras):
    if extras.get("epsg") != 25832 or extras.get("verticalEpsg") != 7837:
        faults.append(f"{what}: EPSG codes")
    if extras.get("mapConversion") != MAP:
        faults.append(f"{what}: map conversion {extras.get('mapConversion')}")


def main():
    program, source = sys.argv[1:3]
    faults = []
    with tempfile.TemporaryDirectory() as folder:
        folder = os.path.join(folder, "input")
        shutil.copytree(source, folder)
        path = os.path.join(folder, "bridge.xml")
        with open(path, encoding="utf-8") as f:
            text, put = mark(f.read())
        with open(path, "w", encoding="utf-8") as f:
            f.write(text)
        out = os.path.join(folder, "out")
        done = subprocess.run(
            [program, "export", os.path.join(folder, "job.xml"), "--format",
             "ifc,glb,json,ply", "--out", out, "--quiet"],
            capture_output=True, text=True, check=False)
        if done.returncode not in (0, 1):
            sys.exit(f"export: exit {done.returncode}\n{done.stderr}")
        found, root = from_json(os.path.join(out, "summary.json"))
        check(faults, "summary.json", put, found)
        check_map(faults, "summary.json", root)
        found, extras = from_glb(os.path.join(out, "model.glb"))
        check(faults, "model.glb", put, found)
        check_map(faults, "model.glb", extras)
        check_ifc(faults, put, extras["origin"],
                  *from_ifc(os.path.join(out, "model.ifc")))
        with open(os.path.join(out, "model.ply"), "rb") as f:
            head = f.read(4000).decode("latin-1")
        if "eastings 500123.456789 northings 5800000.000001" not in head:
            faults.append("model.ply: map conversion")
    for fault in faults[:20]:
        print(fault)
    kinds = {tag for tag, _, _ in put.values()}
    print(f"{len(put)} external ids, {len(faults)} faults")
    sys.exit(1 if faults or kinds != set(TAGS) else 0)


if __name__ == "__main__":
    main()
