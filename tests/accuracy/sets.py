"""sets.py FOLDER: NIST's certified data sets as decimal text, one CSV file each, for every program to read.

Names are KIND-SET.csv: univariate (y), anova (group, y), line and origin (x, y; origin means without intercept).
"""

import json
import pathlib
import sys
from decimal import Decimal

REFERENCE = pathlib.Path("data/reference")


def text(number):
    """A number of the JSON file as it was written there."""
    return format(Decimal(repr(number)) if isinstance(number, float) else Decimal(number), "f")


def alternately(centre, n):
    """NIST's rule: the centre, then a tenth below and a tenth above it, in turn, to n values."""
    tenth = Decimal("0.1")
    return [format(centre + (0 if i == 0 else tenth if i % 2 == 0 else -tenth), "f") for i in range(n)]


def certified():
    """(kind, set, check) of each certified set of published.json."""
    for check in json.loads((REFERENCE / "published.json").read_text())["checks"]:
        family, *rest = check["id"].removeprefix("strd-").split("-")
        if not check["id"].startswith("strd-"):
            continue
        kind = {"univ": "univariate", "anova": "anova", "lin": "line"}[family]
        if kind == "line" and not check["data"].get("intercept", True):
            kind = "origin"
        yield kind, rest[0], check


def rows(kind, check):
    data = check["data"]
    if kind == "univariate":
        if "file" in data:
            lines = (REFERENCE / pathlib.Path(data["file"]).name).read_text().split()
            return "y", lines[1:]
        if "y" in data:
            return "y", [text(y) for y in data["y"]]
        return "y", alternately(Decimal(data["c"]), 1001)
    if kind == "anova":
        if "groups" in data:
            groups = [[text(y) for y in group] for group in data["groups"]]
        else:
            offsets = ["0.4", "0.3", "0.5", "0.3", "0.5", "0.3", "0.5", "0.3", "0.5"]
            base = Decimal(data["smls"]["base"])
            groups = [alternately(base + Decimal(offset), data["smls"]["n_per_group"]) for offset in offsets]
        return "group,y", [f"{number},{y}" for number, group in enumerate(groups, 1) for y in group]
    return "x,y", [f"{text(x)},{text(y)}" for x, y in zip(data["x"], data["y"], strict=True)]


if __name__ == "__main__":
    folder = pathlib.Path(sys.argv[1])
    for kind, name, check in certified():
        header, lines = rows(kind, check)
        (folder / f"{kind}-{name}.csv").write_text("\n".join([header, *lines]) + "\n")
