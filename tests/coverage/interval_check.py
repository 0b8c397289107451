#!/usr/bin/env python3
"""Simulates some rows of docs/coverage.md anew and compares: shares of 95 % intervals that hold the true gap.

    /usr/bin/python3 -B tests/coverage/interval_check.py [TESTS [SEED]]

Nothing here comes from the library: NumPy's generator, shots and rounding; Welch's interval from SciPy's t; resamples
counted one multiset at a time; the permutation interval by solving each exchange for the shift that makes it a tie.
Prints each difference in standard errors (of both simulations, and the page's rounding), the largest last, and fails
when one is above 4. A minute or two; not an everyday test.
"""

import itertools
import math
import pathlib
import sys

import numpy
from scipy import stats

PAGE = pathlib.Path(__file__).parents[2] / "docs" / "coverage.md"
PAGE_TESTS = 25_000
ROWS = [  # table, labels, shots and SDs of a and b, shape
    ("gap", ("2", "1"), (2, 2), (1, 1), "normal"),
    ("gap", ("3", "0.5"), (3, 3), (0.5, 0.5), "normal"),
    ("gap", ("3", "1"), (3, 3), (1, 1), "normal"),
    ("gap", ("3", "5"), (3, 3), (5, 5), "normal"),
    ("gap", ("4", "0.25"), (4, 4), (0.25, 0.25), "normal"),
    ("gap", ("4", "1"), (4, 4), (1, 1), "normal"),
    ("gap", ("5", "1"), (5, 5), (1, 1), "normal"),
    ("gap", ("5", "5"), (5, 5), (5, 5), "normal"),
    ("gap-unequal", ("2 + 6", "1"), (2, 6), (1, 1), "normal"),
    ("gap-unequal", ("2 + 6", "3, 1"), (2, 6), (3, 1), "normal"),
    ("gap-unequal", ("5 + 5", "0.1, 1"), (5, 5), (0.1, 1), "normal"),
    ("gap-shapes", ("skewed", "3 + 3", "1"), (3, 3), (1, 1), "skewed"),
    ("gap-shapes", ("skewed", "5 + 5", "0.5"), (5, 5), (0.5, 0.5), "skewed"),
    ("gap-shapes", ("skewed", "2 + 6", "1"), (2, 6), (1, 1), "skewed"),
    ("gap-shapes", ("heavy-tailed", "5 + 5", "5"), (5, 5), (5, 5), "heavy-tailed"),
]


def page_figures(table):
    """Labels of a row -> name of a method -> the average in per cent."""
    text = PAGE.read_text(encoding="utf-8")
    part = text.split(f"<!-- made by tables.sh {table} -->")[1].split(f"<!-- end of {table} -->")[0]
    rows = [[cell.strip(" *_") for cell in line.strip("|").split("|")] for line in part.splitlines() if line[:1] == "|"]
    first = rows[0].index("rounding_aware")
    return {tuple(row[:first]): dict(zip(rows[0][first:], row[first:])) for row in rows[2:]}


def shots(random, shape, size):
    if shape == "skewed":
        return random.exponential(size=size) - 1
    if shape == "heavy-tailed":
        return random.standard_t(4, size=size) / math.sqrt(2)
    return random.normal(size=size)


def welch(a, b):
    va, vb = numpy.var(a, ddof=1) / len(a), numpy.var(b, ddof=1) / len(b)
    if va + vb == 0:
        return None
    nu = (va + vb) ** 2 / (va**2 / (len(a) - 1) + vb**2 / (len(b) - 1))
    half = stats.t.ppf(0.975, nu) * math.sqrt(va + vb)
    gap = numpy.mean(b) - numpy.mean(a)
    return gap - half, gap + half


def resampled_sums(readings):
    """Sum of a resample -> its chance: every multiset of n places, by its multinomial coefficient."""
    n, law = len(readings), {}
    for counts in itertools.combinations_with_replacement(range(n), n):
        ways = math.factorial(n)
        for i in range(n):
            ways //= math.factorial(counts.count(i))
        total = sum(readings[i] for i in counts)
        law[total] = law.get(total, 0) + ways
    return {total: ways / n**n for total, ways in law.items()}


def bootstrap(a, b):
    """Percentile and BCa intervals from the law of the resampled gap; None where it is one point."""
    n, m = len(a), len(b)
    law = {}
    for x, p in resampled_sums(a).items():
        for y, q in resampled_sums(b).items():
            key = y * n - x * m  # whole; the gap times n·m
            law[key] = law.get(key, 0) + p * q
    if len(law) == 1:
        return None, None
    values = numpy.array(sorted(law))
    chances = numpy.array([law[v] for v in values])
    below = numpy.cumsum(chances)

    def quantile(p):
        return values[min(numpy.searchsorted(below, p - 1e-12), len(values) - 1)] / (n * m)

    seen = sum(b) * n - sum(a) * m
    z0 = stats.norm.ppf(chances[values < seen].sum() + 0.5 * chances[values == seen].sum())
    ua, ub = -(numpy.array(a) - numpy.mean(a)), numpy.array(b) - numpy.mean(b)
    acceleration = (sum(ua**3) / n**3 + sum(ub**3) / m**3) / (6 * (sum(ua**2) / n**2 + sum(ub**2) / m**2) ** 1.5)
    limits = []
    for z in stats.norm.ppf([0.025, 0.975]):
        if 1 - acceleration * (z0 + z) <= 0:
            return (quantile(0.025), quantile(0.975)), None
        limits.append(quantile(stats.norm.cdf(z0 + (z0 + z) / (1 - acceleration * (z0 + z)))))
    return (quantile(0.025), quantile(0.975)), tuple(limits)


def permutation(a, b):
    """Limits are among the shifts at which exchanging as many readings of a and b changes nothing."""
    if len(set(a)) == 1 and len(set(b)) == 1:
        return None
    ties = []
    for j in range(1, min(len(a), len(b)) + 1):
        from_a = numpy.array([sum(c) for c in itertools.combinations(a, j)])
        from_b = numpy.array([sum(c) for c in itertools.combinations(b, j)])
        ties.append(((from_b[:, None] - from_a[None, :]) / j).ravel())
    ties = numpy.sort(numpy.concatenate(ties))
    rank = math.floor(0.025 * (len(ties) + 1))
    if rank == 0:
        return None
    return ties[rank - 1], ties[-rank]


def main():
    tests = int(sys.argv[1]) if len(sys.argv) > 1 else 5_000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    random = numpy.random.default_rng(seed)
    largest = 0.0
    for table, labels, sizes, sds, shape in ROWS:
        known, held = {}, {"welch": 0, "percentile": 0, "BCa": 0, "permutation": 0}
        for _ in range(tests):
            places = random.uniform(size=2)
            a, b = (
                numpy.floor(place + sd * shots(random, shape, n) + 0.5).astype(int)
                for place, sd, n in zip(places, sds, sizes)
            )
            low_a, low_b = a.min(), b.min()
            key = tuple(sorted((a - low_a).tolist())), tuple(sorted((b - low_b).tolist()))
            if key not in known:
                percentile, bca = bootstrap(*key)
                known[key] = {
                    "welch": welch(*key),
                    "percentile": percentile,
                    "BCa": bca,
                    "permutation": permutation(*key),
                }
            truth = places[1] - places[0] - (low_b - low_a)
            for method, limits in known[key].items():
                held[method] += limits is not None and limits[0] - 1e-9 <= truth <= limits[1] + 1e-9
        figures = page_figures(table)[labels]
        for method, count in held.items():
            printed = figures[method]
            share = count / tests
            if printed == "–":
                if count:
                    raise SystemExit(f"{table} {labels}: {method} has an interval here and none on the page")
                continue
            page = float(printed.split("/")[0].strip(" *_")) / 100
            error = math.sqrt(share * (1 - share) * (1 / tests + 1 / PAGE_TESTS) + (0.001 / math.sqrt(12)) ** 2)
            away = (share - page) / error
            largest = max(largest, abs(away))
            print(f"{table} {', '.join(labels)}: {method} {100 * share:.2f}, page {100 * page:.1f}, {away:+.1f} SE")
    print(f"Largest difference: {largest:.1f} standard errors")
    if largest > 4:
        raise SystemExit("The page and this simulation disagree.")


if __name__ == "__main__":
    main()
