"""Does our CSV reader cut a text into the same cells as Python's csv module, and place them right?

usage: csv_oracle.py CSV_DUMP

Writes odd but well-formed CSV texts (fixed seed), runs CSV_DUMP on each, and compares the cells with csv.reader and
their lines, columns and quotes with what was written.
"""

import csv
import io
import json
import random
import re
import subprocess
import sys

FILES = 400
LINE_ENDS = ["\n", "\r\n", "\r"]
PIECES = ["a", "27", "1.5", " ", "é", "µ", "字", "🏹", "#", "'", "\\", ".", "-"]


def cell(random_source, separator):
    """A cell as written, and whether it is quoted."""
    kind = random_source.random()
    if kind < 0.2:
        return "", False
    if kind < 0.55:
        others = [c for c in ",;\t" if c != separator]
        return "".join(random_source.choices(PIECES + others, k=random_source.randint(1, 6))), False
    inside = PIECES + [separator, '""', '""""', *LINE_ENDS]
    return '"' + "".join(random_source.choices(inside, k=random_source.randint(0, 8))) + '"', True


def odd_file(random_source, separator):
    """A text, and for each cell of each row (offset, quoted)."""
    text, rows = "", []
    for _ in range(random_source.randint(0, 8)):
        places = []
        for column in range(random_source.choice([1, 1, 2, 3, 6])):
            if column:
                text += separator
            written, quoted = cell(random_source, separator)
            places.append((len(text), quoted))
            text += written
        end = random_source.choice(LINE_ENDS)
        # An empty line ended by LF after a row ended by CR would be the second half of one CRLF.
        if text.endswith("\r") and end == "\n" and places == [(len(text), False)]:
            end = "\r\n"
        text += end
        rows.append(places)
    if rows and random_source.random() < 0.3:
        cut = re.sub(r"(\r\n|\r|\n)\Z", "", text)
        # Without its end, a last row of one empty cell is no row at all.
        if rows[-1] != [(len(cut), False)]:
            text = cut
    return text, rows


def place(text, offset):
    before = text[:offset]
    ends = list(re.finditer(r"\r\n|\r|\n", before))
    return len(ends) + 1, offset - (ends[-1].end() if ends else 0) + 1


def compare(dump, text, rows, separator):
    run = subprocess.run([dump, separator], input=text.encode(), stdout=subprocess.PIPE, check=True)
    ours = [json.loads(line) for line in run.stdout.decode().split("\n") if line]
    theirs = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True))
    # An empty line: a row of one empty cell for us, a row of none for Python.
    texts = [[] if len(row) == 1 and row[0][0] == "" and not row[0][3] else [c[0] for c in row] for row in ours]
    assert texts == theirs, f"cells of {text!r}:\n  ours {texts}\n  csv  {theirs}"
    places = [[(c[1], c[2], c[3]) for c in row] for row in ours]
    expected = [[(*place(text, offset), quoted) for offset, quoted in row] for row in rows]
    assert places == expected, f"places in {text!r}:\n  ours     {places}\n  written  {expected}"
    assert all(c[4] == 0 for row in ours for c in row), f"a fault was seen in {text!r}"
    return sum(len(row) for row in ours)


def main():
    random_source = random.Random(14018)
    cells = 0
    for number in range(FILES):
        separator = ",;\t"[number % 3]
        text, rows = odd_file(random_source, separator)
        cells += compare(sys.argv[1], text, rows, separator)
    assert cells > 2 * FILES, "the texts made are too poor to show anything"
    print(f"{FILES} texts, {cells} cells: the same")


main()
