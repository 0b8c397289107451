# Makes stopping_error.csv: how often two like set-ups are "told apart" when the interval is looked at again and again.
#   python3 stopping_error.py > stopping_error.csv                    (NumPy, SciPy; a minute or two)
# Columns: SD in display steps, shots at each look, level, tests; share of tests with |gap| > H at any look, and at the last.
# H is the default interval's half-width, written anew from docs/methods/rounding_aware.md; SDs of 1000 are Welch's.
import numpy as np
import scipy
from scipy.special import stdtrit


def half_width(a, b, alpha):
    variances, edges, equal, n = [], [], [], a.shape[1]
    for y in (a, b):
        low, high = y.min(1), y.max(1)
        s2 = y.var(1, ddof=1)
        tight = high - low <= 1
        k = (y - low[:, None]).sum(1)
        edges.append(np.where(tight, abs(k / n - 0.5), 0.0))
        equal.append(high == low)
        variances.append(np.maximum(s2, 0.25 if n == 2 else 1 / 12) / n)
    va, vb = variances

    def sampling(x):
        u2 = va + vb + x
        return -stdtrit(u2 * u2 / ((va * va + vb * vb) / (n - 1)), alpha / 2) * np.sqrt(u2)

    bound = edges[0] + edges[1]
    other = np.where(equal[0], vb, va)
    one = equal[0] != equal[1]
    bound = np.where(one, np.maximum(bound, 0.5 - stdtrit(n - 1, alpha) * np.sqrt(other)), bound)
    return np.maximum.reduce([sampling(0.0), sampling((edges[0] ** 2 + edges[1] ** 2) / 3), bound])


def study(sd, looks, level, tests, random):
    stopped, last = 0, 0
    for _ in range(tests // 50_000):
        phase = random.random((50_000, 1))
        a = np.floor(phase + sd * random.standard_normal((50_000, looks[-1])) + 0.5)
        b = np.floor(phase + sd * random.standard_normal((50_000, looks[-1])) + 0.5)
        found = np.zeros(50_000, bool)
        for n in looks:
            gap = abs(b[:, :n].sum(1) - a[:, :n].sum(1)) / n
            at = gap > half_width(a[:, :n], b[:, :n], 1 - level) + 1e-9
            found |= at
        stopped += found.sum()
        last += at.sum()
    print(f"{sd:g},{' '.join(map(str, looks))},{level:g},{tests},{stopped / tests:.6f},{last / tests:.6f}", flush=True)


print(f"# made by stopping_error.py, NumPy {np.__version__}, SciPy {scipy.__version__}, seed 1; columns stand there")
generator = np.random.default_rng(1)
for sd, looks, level in [(1000, [3], 0.95), (1000, [3, 6], 0.95), (1000, list(range(3, 11)), 0.95),
                         (1000, list(range(2, 7)), 0.8), (0.3, list(range(3, 11)), 0.95), (0.5, list(range(3, 11)), 0.95),
                         (0.5, [2, 4, 8], 0.8), (1, list(range(3, 11)), 0.95), (1, [5, 10, 15], 0.99), (2, [3, 5, 20], 0.9)]:
    study(sd, looks, level, 300_000, generator)
