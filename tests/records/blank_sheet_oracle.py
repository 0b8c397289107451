"""Does Python's csv module read in a blank sheet what was planned, whatever the names?

usage: blank_sheet_oracle.py BLANK_SHEET_DUMP

Makes odd titles and names (fixed seed), has BLANK_SHEET_DUMP print their sheet, and compares every cell that csv.reader
finds in it with the plan. A `#` line must be one cell.
"""

import csv
import io
import random
import subprocess
import sys

SHEETS = 200
PIECES = ["a", "27", "1.5", " ", "é", "µ", "字", "🏹", "#", "'", "\\", ".", ",", ";", '"', '""', ":", "=", " of "]


def odd_name(random_source, taken):
    while True:
        name = "".join(random_source.choices(PIECES, k=random_source.randint(1, 6))).strip()
        folded = " ".join(name.lower().split())
        if name and name[0] not in "=+-@" and folded not in taken:
            taken.add(folded)
            return name


def planned(title, check, setups):
    yield ["# title: " + title]
    yield from (["# date:"], ["# place:"], ["# archer:"], ["# display: 1"], ["# margin: 1.5"], ["# plan: shotassay 1"],
                ["# confidence: 0.95"], ["# power: 0.8"])
    yield from (["# planned shots: 1 of " + name] for name in setups)
    yield ["# seed: 1"]
    yield ["# check standard: " + check]
    yield ["order", "round", "setup", "bow", "arrow", "speed_fps", "draw_weight_lbf", "excluded", "note"]
    yield ["1", "", setups[0], "", "", "", "", "warm-up, declared beforehand", ""]
    for number, name in enumerate([check, *setups], 2):
        yield [str(number), "1", name, name, name, "", "", "", ""]


def main():
    random_source = random.Random(17022)
    quoted = 0
    for _ in range(SHEETS):
        taken = set()
        title, check, *setups = [odd_name(random_source, taken) for _ in range(random_source.randint(4, 6))]
        run = subprocess.run([sys.argv[1], title, check, *setups], stdout=subprocess.PIPE, check=True)
        text = run.stdout.decode()
        assert "\r" not in text and text.endswith("\n"), f"line ends of {text!r}"
        theirs = list(csv.reader(io.StringIO(text, newline=""), strict=True))
        expected = list(planned(title, check, setups))
        assert theirs == expected, f"in {text!r}:\n  csv     {theirs}\n  planned {expected}"
        quoted += text.count('"# ')
    assert quoted > SHEETS, "the names made are too poor to show anything"
    print(f"{SHEETS} sheets: the same")


main()
