"""tables.py digits|distributions FILE...: tables in Markdown from what each side has answered, FILE by FILE.

Exit status 1 where a peer agrees with more certified digits than ours, or ours falls short of what its header promises.
"""

import collections
import csv
import math
import pathlib
import sys
from decimal import Decimal, getcontext

import sets

getcontext().prec = 60
CAP = 15  # digits NIST certifies, and about what a double holds
STATISTICS = {"mean": "mean", "sd": "SD", "ss_between": "squares between", "ss_within": "squares within",
              "ms_between": "mean square between", "ms_within": "mean square within", "F": "F", "r2": "R²",
              "residual_sd": "residual SD", "b0": "intercept", "se0": "standard error of the intercept", "b1": "slope",
              "se1": "standard error of the slope", "sigma": "residual SD"}
NAMES = {"univariate": "", "anova": "", "line": "", "origin": " (no intercept)"}
PEERS = {"R": "R", "SciPy": "NumPy, SciPy", "statsmodels": "statsmodels"}


def answers(files):
    """{side: {key: value}}; a key is all that stands between the side and the value."""
    found = collections.defaultdict(dict)
    for path in files:
        for line in pathlib.Path(path).read_text(encoding="utf-8").splitlines():
            side, *key, value = line.split("\t")
            found[side][tuple(key)] = value
    return found


def significant(printed):
    digits = printed.upper().split("E")[0].lstrip("-").replace(".", "").lstrip("0")
    return len(digits)


def digits_agreed(value, printed, cap):
    """−log₁₀ of the relative difference, cut to tenths; all digits when it is no more than half a unit of the last."""
    try:
        x = Decimal(value)
        difference = abs(x - Decimal(printed))
    except ArithmeticError:
        return 0.0
    if not x.is_finite():
        return 0.0
    c = abs(Decimal(printed))
    half_unit = Decimal("0.5").scaleb(c.adjusted() - cap + 1)
    if difference <= half_unit:
        return float(cap)
    return max(0.0, min(float(cap), math.floor(10 * -float((difference / c).log10())) / 10))


def digits(files):
    found = answers(files)
    print("| set | statistic | Shotassay |", " | ".join(PEERS.values()), "| certified |")
    print("|---|---|--:|" + "--:|" * len(PEERS) + "---|")
    below, least, full, rows = [], CAP, 0, 0
    for kind, name, check in sets.certified():
        exact = (check.get("note") or "").startswith("exact by construction")
        for expected in check["expected"]:
            statistic, printed = expected["name"], expected["printed"]
            if statistic == "lag1" or statistic.startswith("df_"):
                continue  # not offered; whole numbers that the data's sizes fix
            cap = CAP if exact else min(CAP, significant(printed))
            key = (f"{kind}-{name}", statistic)
            agreed = {side: digits_agreed(found[side][key], printed, cap) for side in ("Shotassay", *PEERS)
                      if key in found[side]}
            ours = agreed["Shotassay"]
            rows, least, full = rows + 1, min(least, ours), full + (ours == cap)
            below += [f"{key}: {ours} beside {side}'s {a}" for side, a in agreed.items() if a > ours]
            cells = [f"{agreed[side]:.4g}" if side in agreed else "–" for side in ("Shotassay", *PEERS)]
            print(f"| {name}{NAMES[kind]} | {STATISTICS[statistic]} |", " | ".join(cells), f"| {printed} |")
    print()
    print(f"{rows} figures: ours has all certified digits in {full}, {least:.4g} at least; below a peer in {len(below)}.")
    return below + ([f"ours has {least} digits somewhere"] if least < 13 else [])


ABSOLUTE = {"two_sided_t_power": 1e-9, "noncentral_t_outside": 3e-14}

# What the headers of lib/include/shotassay/numerics promise: (relative error, where it is not the same everywhere, why).
def promised(function, x, first, second, value):
    value = abs(float(value))
    if function.startswith("normal"):
        return 1e-14
    if function == "t_upper_tail":
        return 1e-14 if value >= 1e-8 else 1e-13 if value >= 1e-30 else 5e-13
    if function == "t_upper_quantile":
        return 1e-14
    if function.startswith("chi_square"):
        return 1e-12
    if function.startswith("f_"):
        return 1e-11
    if function == "range_upper_tail":
        return 1e-13 if value >= 1e-12 else 1e-12
    if function == "range_upper_quantile":
        return 1e-11 if x <= 0.99 else 1e-8
    if function in ABSOLUTE:
        return ABSOLUTE[function]
    if function == "digamma" and abs(x - 1.4616) < 0.3:
        return 1e-15 / value  # absolute near its zero
    return 1e-14


ARGUMENTS = {"normal": ("z", "p"), "t_upper": ("t", "p"), "chi_square": ("x", "p"), "f_": ("f", "p"), "range": ("q", "p")}
PARAMETERS = {"t_upper": ("ν",), "chi_square": ("ν",), "f_": ("ν₁", "ν₂"), "range": ("k", "ν"), "two_sided": ("ν", "α"),
              "noncentral": ("ν", "α")}


def short(text):
    x = float(text)
    return "∞" if math.isinf(x) else f"{x:.6g}".replace("e-0", "e-").replace("e+0", "e").replace("e+", "e")


def place(function, key):
    prefix = next((p for p in PARAMETERS if function.startswith(p)), "")
    names = {"two_sided": "λ", "noncentral": "λ", "": "y" if function.startswith("inverse") else "x"}.get(prefix)
    if names is None or function.startswith("normal"):
        pair = next(pair for p, pair in ARGUMENTS.items() if function.startswith(p))
        names = pair["quantile" in function]
    named = zip((names, *PARAMETERS.get(prefix, ())), key[1:])
    return ", ".join(f"{name} = {short(value)}" for name, value in named if value)


def distributions(files):
    references = [path for path in files if path.endswith(".csv")]
    found = answers(path for path in files if not path.endswith(".csv"))
    truth = {}
    for path in references:
        with open(path, encoding="ascii") as file:
            for row in csv.reader(line for line in file if not line.startswith("#")):
                truth[tuple(row[:-1])] = Decimal(row[-1])
    sides = ("Shotassay", "R", "SciPy")
    print("| function | rows | promised | Shotassay, worst | R, worst | SciPy, worst |")
    print("|---|--:|--:|---|---|---|")
    complaints = []
    for function in dict.fromkeys(key[0] for key in truth):
        keys = [key for key in truth if key[0] == function]
        absolute = function in ABSOLUTE
        cells, promises = [], set()
        for side in sides:
            errors, silent = [], []
            for key in keys:
                if key not in found[side]:
                    continue
                value, true = float(found[side][key]), truth[key]
                if not math.isfinite(value):
                    silent.append(key)
                    continue
                error = abs(Decimal(value) - true)
                error = float(error if absolute or true == 0 else error / abs(true))
                errors.append((error, key))
                if side == "Shotassay":
                    numbers = [float(a) if a else None for a in key[1:]] + [None] * (4 - len(key))
                    promise = promised(function, *numbers, true)
                    promises.add(promise if function != "digamma" else 1e-14)
                    if error > promise:
                        complaints.append(f"{function} at {place(function, key)}: {error:.1e}, {promise:.0e} is promised")
            if side == "Shotassay" and (silent or len(errors) != len(keys)):
                complaints.append(f"{function}: {len(keys) - len(errors)} rows without an answer")
            if not errors and not silent:
                cells.append("–")
                continue
            worst, at = max(errors)
            none = f"; no answer in {len(silent)}, as {place(function, silent[0])}" if silent else ""
            cells.append(f"{worst:.1e} at {place(function, at)}{none}")
        promise = " to ".join(f"{p:.0e}".replace("e-0", "e-") for p in sorted({min(promises), max(promises)}))
        name = f"`{'session_power' if function == 'two_sided_t_power' else function}`" + ", absolute" * absolute
        print(f"| {name} | {len(keys)} | {promise} |", " | ".join(cell.replace("e-0", "e-") for cell in cells), "|")
    return complaints


if __name__ == "__main__":
    wrong = {"digits": digits, "distributions": distributions}[sys.argv[1]](sys.argv[2:])
    for complaint in wrong:
        print(complaint, file=sys.stderr)
    sys.exit(1 if wrong else 0)
