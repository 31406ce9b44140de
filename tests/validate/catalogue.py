# SPDX-License-Identifier: MIT
"""Every value of every type in the shipped catalogues names its source.

usage: catalogue.py ROOT     exits 1 and lists what is wrong

A type's `source` is a list "value: source; value: source", one for each
attribute but id, kind and source itself. A source is one of those below; who
adds another writes it down here. Where it is a DR rule the value is the
outside diameter over the ratio. Ids are unique, a value from memory is no
limit, and xmllint, where it is, finds the files valid. Copies that are damaged
on purpose must be refused: that is tested first.
"""
import glob
import re
import shutil
import subprocess
import sys
import xml.etree.ElementTree as ET

TO_M = {"m": 1.0, "mm": 1e-3, "in": 0.0254, "ft": 0.3048}
NO_VALUE = {"id", "kind", "source"}
# Refused, or drilled, by them: never from memory.
LIMITS = {"wall-min", "radius-min", "angle-max"}
MEMORY = "from memory, unverified"
SOURCES = (
    r"D?IPS list of a public data sheet \(ANSI B36\.10, AWWA C151\)",
    r"od / (\d+(?:\.\d+)?), DR rule of ASTM F714",
    r"as wall-min",
    r"scope of ASTM F714",
    r"(?:.+, )?" + MEMORY,
)


def metres(text):
    number, unit = text.split(" ")
    return float(number) * TO_M[unit]


def check_value(node, name, source):
    """What is wrong with one value, or None."""
    found = next((m for m in (re.fullmatch(s, source) for s in SOURCES) if m),
                 None)
    if not found:
        return f"{name}: no known source: {source}"
    if name in LIMITS and source.endswith(MEMORY):
        return f"{name}: a limit from memory"
    if source == "as wall-min":
        if node.get("wall-min") != node.get(name):
            return f"{name} is not wall-min"
    elif "DR rule" in source:
        rule = metres(node.get("od")) / float(found.group(1))
        if abs(metres(node.get(name)) - rule) > 1e-12:
            return f"{name} is not od / {found.group(1)}"
        if not node.get("id").endswith("-DR" + found.group(1)):
            return f"the id does not end in -DR{found.group(1)}"
    return None


def check_type(node):
    """All that is wrong with one type."""
    pairs = [p.split(": ", 1) for p in (node.get("source") or "").split("; ")]
    named = {p[0]: p[1] for p in pairs if len(p) == 2}
    if len(named) != len(pairs):
        yield "source is no list 'value: source; ...', each value once"
    values = set(node.keys()) - NO_VALUE
    for name in sorted(values ^ set(named)):
        yield (f"{name} has no source" if name in values else
               f"a source of {name}, which is not there")
    for name in sorted(values & set(named)):
        wrong = check_value(node, name, named[name])
        if wrong:
            yield wrong


def check_texts(texts):
    """All that is wrong with the files of a map from name to text."""
    seen, faults, types = set(), [], 0
    for name, text in texts.items():
        root = ET.fromstring(text)
        if (root.tag, root.get("id")) in seen:
            faults.append(f"{name}: id {root.get('id')} is there twice")
        seen.add((root.tag, root.get("id")))
        for node in root:
            types += 1
            where = f"{name}: {node.get('id')}: "
            if (node.tag, node.get("id")) in seen:
                faults.append(where + "is there twice")
            seen.add((node.tag, node.get("id")))
            faults += [where + wrong for wrong in check_type(node)]
    return faults, types


def refuses(texts, name, old, new):
    """A copy with the first `old` made `new` must be found wrong."""
    if old not in texts[name]:
        return [f"{name}: nothing to damage: {old}"]
    copy = dict(texts)
    copy[name] = copy[name].replace(old, new, 1)
    return [] if check_texts(copy)[0] else [
        f"{name}: not found wrong with '{new}' for '{old}'"]


def main(root):
    paths = sorted(glob.glob(root + "/geometry/catalogue/*.xml"))
    texts = {}
    for path in paths:
        with open(path, encoding="utf-8") as f:
            texts[path.rsplit("/", 1)[1]] = f.read()
    faults, types = check_texts(texts)
    if len(paths) < 3 or types < 40:
        faults.append(f"{types} types in {len(paths)} files: fewer than known")
    for damage in (
            ("ducts.xml", "od: IPS list of", "od: a list of"),
            ("ducts.xml", "; wall: as wall-min", ""),
            ("ducts.xml", "; wall: as wall-min",
             "; wall: as wall-min; wall: as wall-min"),
            ("ducts.xml", "; wall: as wall-min",
             "; wall: as wall-min; wall-max: as wall-min"),
            ("ducts.xml", 'wall="0.205882352941176 in"',
             'wall="0.205882352941177 in"'),
            ("ducts.xml", 'wall-min="0.2058823529411',
             'wall-min="0.2058823530411'),
            ("ducts.xml", "od / 17, DR", "od / 13.5, DR"),
            ("ducts.xml", 'id="IPS4-DR17"', 'id="IPS3-DR17"'),
            ("ducts.xml", 'wall="5.4 mm"', 'wall="5.4 mm" wall-max="6 mm"'),
            ("ducts.xml", "source=", "name="),
            ("strands.xml", "from memory, unverified", "from memory"),
            ("deviators.xml", 'source="radius: ',
             'radius-min="1 m" source="radius-min: from memory, unverified; '
             'radius: ')):
        faults += refuses(texts, *damage)
    if shutil.which("xmllint"):
        for path in paths:
            run = subprocess.run(
                ["xmllint", "--noout", "--nonet", "--schema",
                 root + "/geometry/catalogue.xsd", path],
                capture_output=True, text=True, check=False)
            if run.returncode:
                faults.append(run.stderr.strip())
    else:
        print("xmllint is not there: schemas skipped")
    for line in faults:
        print(line)
    print(f"{types} types in {len(paths)} files, {len(faults)} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
