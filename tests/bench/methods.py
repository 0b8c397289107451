"""What NumPy, SciPy, pandas and plain Python make of the questions of methods_bench.cpp."""

import io
import itertools
import sys

sys.dont_write_bytecode = True
import timing  # noqa: E402  (nothing may be written into the source tree)
import numpy  # noqa: E402
import pandas  # noqa: E402
import scipy.special  # noqa: E402
import scipy.stats  # noqa: E402

LEVEL = 0.95
draw = numpy.random.default_rng(1)


def a(n):
    return 190 + 7 * numpy.arange(n) % 5


def b(n):
    return 188 + 3 * numpy.arange(n) % 4


def gap(p, q, axis=-1):
    return q.mean(axis=axis) - p.mean(axis=axis)


def resampled(n, method, resamples):
    return lambda: scipy.stats.bootstrap((a(n), b(n)), gap, n_resamples=resamples, vectorized=True, method=method,
                                         confidence_level=LEVEL, random_state=draw).confidence_interval.low


def dealt(n):
    return lambda: scipy.stats.permutation_test((a(n), b(n)), gap, vectorized=True, n_resamples=numpy.inf).pvalue


def welch_5():
    found = scipy.stats.ttest_ind(b(5), a(5), equal_var=False)
    return found.pvalue


def million_tests():
    p, q = draw.normal(0.0, 1.2, (1_000_000, 5)), draw.normal(3.0, 1.2, (1_000_000, 5))
    v, w = p.var(axis=1, ddof=1) / 5, q.var(axis=1, ddof=1) / 5
    t = abs(q.mean(axis=1) - p.mean(axis=1)) / numpy.sqrt(v + w)
    nu = 4 * (v + w) ** 2 / (v**2 + w**2)
    # From 4 to 8, and the quantile falls with it: those of the whole degrees beside it decide most tests.
    factor = scipy.special.stdtrit(numpy.arange(10.0).clip(1), 0.975)
    below = nu.astype(int)
    found = t > factor[below]
    near = (t > factor[below + 1]) & ~found
    return (found.sum() + (t[near] > scipy.special.stdtrit(nu[near], 0.975)).sum()) / 1_000_000


def propagated():
    trials = 1_000_000
    mass = draw.normal(0.025, 0.0001, trials)
    speed = draw.normal(60.0, 0.2, trials) + draw.uniform(-0.1 * 3**0.5, 0.1 * 3**0.5, trials)
    energy = numpy.sort(0.5 * mass * speed**2)
    energy.mean(), energy.std(ddof=1)
    inside = int(LEVEL * trials)
    widths = energy[inside:] - energy[: trials - inside]
    widths.argmin()  # the shortest interval
    return energy[(trials - inside) // 2]


def figures():
    return sum(1 for shots in itertools.combinations_with_replacement(range(180, 201), 8)
               if shots[0] == 180 and shots[-1] == 200 and 1520.4 <= sum(shots) <= 1521.2)


TEXT = "setup,speed_fps\n" + "".join(f"A,{190 + 7 * i % 5}\nB,{188 + 3 * i % 4}\n" for i in range(50_000))


def sheet():
    shots = pandas.read_csv(io.StringIO(TEXT))
    speeds = {name: group.speed_fps for name, group in shots.groupby("setup")}
    return scipy.stats.ttest_ind(speeds["B"], speeds["A"], equal_var=False).statistic


timing.answer_from({
    "welch_5": welch_5,
    "bca_5": resampled(5, "BCa", 10_000),
    "bca_10": resampled(10, "BCa", 10_000),
    "bca_30": resampled(30, "BCa", 10_000),
    "permutation_8": dealt(8),
    "resamples": resampled(5, "percentile", 100_000),
    "million_tests": million_tests,
    "propagated": propagated,
    "sheet": sheet,
    "figures": figures,
})
