#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What field books say of openings: what cannot be is refused, and what is
stated arrives.

The demo's openings are changed in copies of its field book:
- a place beyond the tendon's end is an error with its line, and nothing is
  written;
- the id of a tap that is not there, or of another tendon, is a warning with
  its line.

    opened.py PROGRAM DEMO_INPUT
"""
import os
import re
import shutil
import subprocess
import sys
import tempfile


class Copy:
    """The demo's input with another list of openings."""

    def __init__(self, source, folder):
        shutil.copytree(source, folder)
        self.folder = folder
        self.book = os.path.join(folder, "fieldbook.xml")
        with open(self.book, encoding="utf-8") as f:
            lines = f.read().split("\n")
        self.first = min(i for i, l in enumerate(lines) if "<opened" in l)
        self.lines = [l for l in lines if "<opened" not in l]

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


def main():
    program, source = sys.argv[1:3]
    faults = []
    with tempfile.TemporaryDirectory() as folder:
        copy = Copy(source, os.path.join(folder, "input"))
        beyond(faults, copy, program)
        unknown_tap(faults, copy, program)
    for fault in faults:
        print(fault)
    print(f"{len(faults)} faults")
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
