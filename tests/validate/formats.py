# SPDX-License-Identifier: MIT
"""Every element and attribute of the schemas has its place in docs/formats.md.

usage: formats.py ROOT     exits 1 and lists what is missing
"""
import re
import sys
import xml.etree.ElementTree as ET

XS = "{http://www.w3.org/2001/XMLSchema}"


def names(path):
    for node in ET.parse(path).iter():
        if node.tag in (XS + "element", XS + "attribute") and node.get("name"):
            yield node.tag[len(XS):], node.get("name")


def main(root):
    text = open(root + "/docs/formats.md", encoding="utf-8").read()
    parts = dict(re.findall(r"^## (\w+)$(.*?)(?=^## |\Z)", text, re.M | re.S))
    general = text[:text.index("## bridge")]
    missing = []
    for name in ("common", "bridge", "catalogue", "fieldbook", "criteria",
                 "job", "register"):
        where = general + parts.get(name, text)
        # Examples do not count as words about a field.
        where = re.sub(r"^```.*?^```", "", where, flags=re.M | re.S)
        words = set(re.findall(r"[a-z][a-z0-9-]*", where))
        for kind, field in names(f"{root}/geometry/{name}.xsd"):
            if field not in words:
                missing.append(f"{name}: {kind} {field}")
    for line in missing:
        print("docs/formats.md does not have", line)
    return 1 if missing else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
