#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What field books say of openings: what cannot be is refused, and what is
stated arrives.

The demo's openings are changed in copies of its field book:
- a place beyond the tendon's end is an error with its line, and nothing is
  written;
- the id of a tap that is not there, or of another tendon, is a warning with
  its line;
- picture, note, pressures and the volume that follows stand in openings.csv,
  summary.json, register.xml, model.glb and model.ifc, there with their
  types; and again in a year whose register alone remembers the opening.

    opened.py PROGRAM DEMO_INPUT
"""
import csv
import json
import os
import re
import shutil
import struct
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ET


class Copy:
    """The demo's input with another list of openings."""

    def __init__(self, source, folder):
        shutil.copytree(source, folder)
        self.folder = folder
        self.book = os.path.join(folder, "fieldbook.xml")
        with open(self.book, encoding="utf-8") as f:
            text = f.read()
        self.first = text[:text.index("<opened")].count("\n")
        self.lines = re.sub(
            r"^ *<opened [^>]*(?:/>|[^/]>.*?</opened>)\n", "", text,
            flags=re.M | re.S).split("\n")

    def run(self, program, openings, out, *words):
        """Status and messages; opening i stands on line_of(i)."""
        text = list(self.lines)
        text[self.first:self.first] = openings
        with open(self.book, "w", encoding="utf-8") as f:
            f.write("\n".join(text))
        done = subprocess.run(
            [program, "export", os.path.join(self.folder, "job.xml"),
             "--out", out, "--quiet", *words],
            capture_output=True, text=True, check=False)
        return done.returncode, done.stderr

    def line_of(self, i):
        return self.first + i + 1


def opening(ident, tendon, face, distance, more="", inside=""):
    """An `opened` element on one line."""
    return (f'<opened id="{ident}" tendon="{tendon}" face="{face}" '
            f'distance="{distance}" clock="12:00" date="2026-04-28" '
            f'found="void" {more}>{inside}</opened>')


def beyond(faults, copy, program):
    """540 m from the first face, 50 m back from the last one: both at once."""
    out = os.path.join(copy.folder, "beyond")
    code, said = copy.run(program, [
        opening("O1", "L1", "A1-f", "540 m"),
        opening("O2", "L1", "A1-f", "20 m"),
        opening("O3", "L1", "A2-f", "150 m")], out, "--format", "csv,register")
    if code != 2 or os.path.exists(out):
        faults.append(f"beyond the end: exit {code}, {out} is there: "
                      f"{os.path.exists(out)}")
    lines = [int(n) for n in re.findall(
        r"fieldbook\.xml:(\d+): error: opened: .* lies beyond the end of "
        r"tendon L1, expected at most [\d.]+ m", said)]
    if lines != [copy.line_of(0), copy.line_of(2)]:
        faults.append(f"beyond the end: errors on lines {lines}\n{said}")


def unknown_tap(faults, copy, program):
    """A tap of the tendon's own indication is known; others are not."""
    out = os.path.join(copy.folder, "unknown")
    code, said = copy.run(program, [
        opening("O1", "L6", "A1-f", "947 mm", 'tap="L6-I01-A"'),
        opening("O2", "L6", "A1-f", "947 mm", 'tap="L6-I77-A"'),
        opening("O3", "L6", "A1-f", "947 mm", 'tap="L2-I01-A"'),
        opening("O4", "L6", "A1-f", "947 mm", 'tap="L6-I01-Z"')],
                          out, "--format", "csv,register")
    if code != 1 or not os.path.exists(os.path.join(out, "openings.csv")):
        faults.append(f"an unknown tap: exit {code}")
    lines = [int(n) for n in re.findall(
        r"fieldbook\.xml:(\d+): warning: O\d: tendon L6 has no tap '[^']*', "
        r"now or in the register .*: the hole counts by its place alone",
        said)]
    if lines != [copy.line_of(i) for i in (1, 2, 3)]:
        faults.append(f"an unknown tap: warnings on lines {lines}\n{said}")


# The note on two lines and with what each format must escape.
NOTE = 'white "paste" &amp; a crack &lt; 1 mm,\n  wet; \u00fc'
NOTE_READ = 'white "paste" & a crack < 1 mm, wet; \u00fc'
PHOTO = "photos/left cell/O 1.jpg"
# value and standard uncertainty, m3 and Pa
VESSEL, U_VESSEL = 0.01, 0.00005
PRESSURES, U_PRESSURE = (20e3, 60e3, 101.325e3), 200.0
HOSES, U_HOSES = 0.0005, 0.00002
# Boyle's law and its numerical derivatives, mpmath.
VOLUME, U_VOLUME = 9.17937084089534e-3, 1.27867146103049e-4
K = 2.0
# Name in IFC and glTF, type in IFC, value.
WANTED = [
    ("Vessel", "IFCVOLUMEMEASURE", VESSEL),
    ("VesselU", "IFCVOLUMEMEASURE", K * U_VESSEL),
    ("PressureBefore", "IFCPRESSUREMEASURE", PRESSURES[0]),
    ("PressureAfter", "IFCPRESSUREMEASURE", PRESSURES[1]),
    ("PressureAir", "IFCPRESSUREMEASURE", PRESSURES[2]),
    ("PressureU", "IFCPRESSUREMEASURE", K * U_PRESSURE),
    ("Hoses", "IFCVOLUMEMEASURE", HOSES),
    ("HosesU", "IFCVOLUMEMEASURE", K * U_HOSES),
    ("VolumeMeasured", "IFCVOLUMEMEASURE", VOLUME),
    ("VolumeMeasuredU", "IFCVOLUMEMEASURE", K * U_VOLUME),
    ("Tap", "IFCLABEL", "L6-I01-A"),
    ("Photo", "IFCURIREFERENCE", PHOTO),
    ("Note", "IFCTEXT", NOTE_READ)]
MEASURED = "O1"
PLAIN = "O2"  # nothing of all that
# Property: column of openings.csv with its factor, key in summary.json.
ELSEWHERE = {
    "Vessel": ("vessel_L", 1e3, "vessel"),
    "VesselU": ("U_vessel_L", 1e3, "UVessel"),
    "PressureBefore": ("pressure_before_kPa", 1e-3, "pressureBefore"),
    "PressureAfter": ("pressure_after_kPa", 1e-3, "pressureAfter"),
    "PressureAir": ("pressure_air_kPa", 1e-3, "pressureAir"),
    "PressureU": ("U_pressure_kPa", 1e-3, "UPressure"),
    "Hoses": ("hoses_L", 1e3, "hoses"),
    "HosesU": ("U_hoses_L", 1e3, "UHoses"),
    "VolumeMeasured": ("volume_measured_L", 1e3, "measuredVolume"),
    "VolumeMeasuredU": ("U_volume_measured_L", 1e3, "UMeasuredVolume"),
    "Tap": ("tap", None, "tap"), "Photo": ("photo", None, "photo"),
    "Note": ("note", None, "note")}
REGISTER = [("vessel", VESSEL), ("vessel-u", U_VESSEL), ("hoses", HOSES),
            ("hoses-u", U_HOSES), ("pressure-before", PRESSURES[0]),
            ("pressure-after", PRESSURES[1]), ("pressure-air", PRESSURES[2]),
            ("pressure-u", U_PRESSURE)]
UNITS = {"L": 1e-3, "kPa": 1e3, "m": 1.0}


def same(got, want, exact):
    """Texts to the letter; numbers to the digits that a table has."""
    if isinstance(want, str) or got is None:
        return got == want
    return abs(float(got) - want) <= (1e-9 if exact else 2e-3) * abs(want)


def tables(folder):
    """Property -> value of each opening, from the table and the summary."""
    with open(os.path.join(folder, "openings.csv"), encoding="utf-8") as f:
        rows = {r["id"]: r for r in csv.DictReader(f)}
    with open(os.path.join(folder, "summary.json"), encoding="utf-8") as f:
        root = json.load(f)
    objects = {o["id"]: o for t in root["tendons"] for o in t["openings"]}
    out = {"openings.csv": {}, "summary.json": {}}
    for ident, row in rows.items():
        values = out["openings.csv"][ident] = {}
        other = out["summary.json"][ident] = {}
        for name, (column, factor, key) in ELSEWHERE.items():
            cell = row[column] or None
            values[name] = (cell if cell is None or factor is None else
                            float(cell) / factor)
            other[name] = objects[ident][key]
    return out


def glb(folder):
    with open(os.path.join(folder, "model.glb"), "rb") as f:
        data = f.read()
    size = struct.unpack_from("<I", data, 12)[0]
    found = {}
    for node in json.loads(data[20:20 + size])["nodes"]:
        extras = node.get("extras", {})
        if extras.get("Object") == "opening":
            found[extras["Id"]] = extras
    return found


def step_text(text):
    """ISO 10303-21, 6.4.3: quotes doubled, \\X2\\ for what is not ASCII."""
    text = re.sub(r"\\X2\\([0-9A-F]+)\\X0\\", lambda m: bytes.fromhex(
        m[1]).decode("utf-16-be"), text)
    return text.replace("''", "'")


def ifc(folder):
    """Property -> (type, value) of each DM_Opening; units of the project."""
    at = {}
    with open(os.path.join(folder, "model.ifc"), encoding="ascii") as f:
        for line in f:
            m = re.match(r"#(\d+)=(\w+)\((.*)\);$", line.strip())
            if m:
                at[m[1]] = (m[2], m[3])
    found = {}
    for kind, rest in at.values():
        if kind != "IFCPROPERTYSET" or "'DM_Opening'" not in rest:
            continue
        values = {}
        for ref in re.findall(r"#(\d+)", rest):
            name, typ, value = re.match(
                r"'([^']*)',\$,(\w+)\((.*)\),(?:\$|#\d+)$",
                at[ref][1]).groups()
            values[name] = (typ, step_text(value[1:-1]) if value[0] == "'"
                            else value)
        found[values["Id"][1]] = values
    units = " ".join(at[ref][1] for k, r in at.values()
                     if k == "IFCUNITASSIGNMENT"
                     for ref in re.findall(r"#(\d+)", r))
    return found, units


def quantity(text):
    number, unit = text.split(" ")
    return float(number) * UNITS[unit]


def register(faults, what, path):
    """Returns the two openings as they are written."""
    openings = {e.get("id"): e for e in ET.parse(path).iter("opened")}
    o = openings[MEASURED]
    given = o.find("pressure-volume")
    for name, want in REGISTER:
        if given is None or not same(quantity(given.get(name, "-1 L")), want,
                                     True):
            faults.append(f"{what}: {name} is "
                          f"{given is not None and given.get(name)}")
    if abs(quantity(o.get("volume")) - VOLUME) > 1e-9:
        faults.append(f"{what}: volume {o.get('volume')}")
    if (o.get("photo"), o.findtext("note")) != (PHOTO, NOTE_READ):
        faults.append(f"{what}: {o.get('photo')}, {o.findtext('note')}")
    plain = openings[PLAIN]
    if len(plain) or plain.get("volume") or plain.get("photo"):
        faults.append(f"{what}: {PLAIN} has what nobody stated")
    return [ET.tostring(openings[i]).strip() for i in (MEASURED, PLAIN)]


def look(faults, what, out):
    sources = tables(out)
    sources["model.glb"] = glb(out)
    typed, units = ifc(out)
    sources["model.ifc"] = {i: {n: v[1] for n, v in p.items()}
                            for i, p in typed.items()}
    if ".PRESSUREUNIT.,$,.PASCAL." not in units:
        faults.append(f"{what}: model.ifc does not name its pressure unit")
    for name, typ, want in WANTED:
        if typed.get(MEASURED, {}).get(name, ("",))[0] != typ:
            faults.append(f"{what}: model.ifc: {name} is no {typ}")
        for source, openings in sources.items():
            got = openings.get(MEASURED, {}).get(name)
            # A register rounds to 1e-9 m3 what it writes, the tables more.
            if not same(got, want, source.startswith("model")
                        and what == "first year" and isinstance(want, float)):
                faults.append(f"{what}: {source}: {name} is {got}, expected "
                              f"{want}")
            if openings.get(PLAIN, {"": 1}).get(name) is not None:
                faults.append(f"{what}: {source}: {PLAIN} has {name}")


def arrives(faults, copy, program):
    words = ("--format", "csv,json,register,glb,ifc")
    out = os.path.join(copy.folder, "measured")
    code, said = copy.run(program, [
        opening(MEASURED, "L6", "A1-f", "947 mm",
                f'tap="L6-I01-A" photo="{PHOTO}"',
                '<pressure-volume vessel="10 L" vessel-u="0.05 L" '
                'pressure-before="20 kPa" pressure-after="60 kPa" '
                'pressure-air="101.325 kPa" pressure-u="0.2 kPa" '
                'hoses="0.5 L" hoses-u="0.02 L"/>'
                f'<note>{NOTE}</note>'),
        opening(PLAIN, "R3", "D2-a", "10988 mm")], out, *words)
    if code != 1:
        faults.append(f"measured: exit {code}\n{said}")
        return
    look(faults, "first year", out)
    reg = os.path.join(out, "register.xml")
    before = register(faults, "first year", reg)

    # The next year's job: no openings in its book, the register remembers.
    job = os.path.join(copy.folder, "job.xml")
    with open(job, encoding="utf-8") as f:
        text = f.read()
    with open(job, "w", encoding="utf-8") as f:
        f.write(re.sub(r"(<criteria [^>]*/>)",
                       r'\1<register href="measured/register.xml"/>', text))
    out = os.path.join(copy.folder, "next")
    code, said = copy.run(program, [], out, *words)
    if code != 1:
        faults.append(f"next year: exit {code}\n{said}")
        return
    look(faults, "next year", out)
    after = register(faults, "next year", os.path.join(out, "register.xml"))
    if before != after:
        faults.append(f"next year: {before} is now {after}")


def main():
    program, source = sys.argv[1:3]
    faults = []
    with tempfile.TemporaryDirectory() as folder:
        copy = Copy(source, os.path.join(folder, "input"))
        beyond(faults, copy, program)
        unknown_tap(faults, copy, program)
        arrives(faults, copy, program)
    for fault in faults:
        print(fault)
    print(f"{len(faults)} faults")
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
