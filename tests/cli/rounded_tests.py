"""What tests on a rounding display find, by ways that are slow and plain: every outcome listed, or simulated."""

import itertools
import math

import numpy
import scipy.integrate
import scipy.optimize
import scipy.special
import scipy.stats

PHASES = 8  # of a step; the chances are smooth and periodic in the phase, so that evenly spaced ones average exactly


def half_width(n, spread, level=0.95):
    """H of the rounding-aware interval, in steps, for arrays of what two groups showed.

    n: shots of each; spread: of each an array of Σ(y − ȳ)² and one of k/n − ½ for tight groups, else 0.
    V = max(s², φ)/n, S(x) = t(1 − α/2; ν)·√(V_a + V_b + x), H = max(S(0), S(Σh²/3), Σh), and beside one group whose
    readings are all equal ½ + t(1 − α; n_o − 1)·√V_o of the other.
    """
    v, h, equal = [], [], []
    for shots, (squares, edge) in zip(n, spread):
        v.append(numpy.maximum(squares / (shots - 1), 1 / 4 if shots == 2 else 1 / 12) / shots)
        h.append(numpy.abs(edge))
        equal.append(squares == 0)

    def sampling(extra):
        u2 = v[0] + v[1] + extra
        nu = u2 ** 2 / (v[0] ** 2 / (n[0] - 1) + v[1] ** 2 / (n[1] - 1))
        return scipy.special.stdtrit(nu, (1 + level) / 2) * numpy.sqrt(u2)

    bound = h[0] + h[1]
    for one, other in ((0, 1), (1, 0)):
        beside = 0.5 + scipy.special.stdtrit(n[other] - 1, level) * numpy.sqrt(v[other])
        bound = numpy.where(equal[one] & ~equal[other], numpy.maximum(bound, beside), bound)
    return numpy.maximum(numpy.maximum(sampling(0), sampling((h[0] ** 2 + h[1] ** 2) / 3)), bound)


def spreads(readings):
    """Σ(y − ȳ)², and k/n − ½ where no two readings are further apart than a step, for rows of whole readings."""
    n, least = readings.shape[1], readings.min(axis=1, keepdims=True)
    up = readings - least
    sums = up.sum(axis=1)
    squares = (n * (up ** 2).sum(axis=1) - sums ** 2) / n
    return squares, numpy.where(up.max(axis=1) <= 1, sums / n - 0.5, 0.0)


class Listed:
    """Two groups of a few shots, every outcome listed with its chance. Speeds in steps of the display.

    Readings further than 5.4 SDs from their mean, less likely than 1e-7 each, are left out.
    """

    def __init__(self, n_a, n_b, sd_a, sd_b, level=0.95):
        self.n, self.sd = (n_a, n_b), (sd_a, sd_b)
        self.rows, self.kinds, self.sums, self.weights = [], [], [], []
        for n, sd in zip(self.n, self.sd):
            reach = math.ceil(5.4 * sd - 0.5)
            rows = numpy.array(list(itertools.combinations_with_replacement(range(-reach, reach + 2), n)))
            squares, edge = spreads(rows)
            kinds, kind = numpy.unique(numpy.stack([numpy.round(n * squares), numpy.round(edge * 2 * n)], axis=1), axis=0,
                                       return_inverse=True)
            arrangements = math.factorial(n) * numpy.ones(len(rows))
            for values in numpy.unique(rows):
                arrangements /= scipy.special.factorial((rows == values).sum(axis=1))
            # Outcomes with one sum and one spread are one state.
            states, state = numpy.unique(numpy.stack([rows.sum(axis=1), kind.ravel()], axis=1), axis=0, return_inverse=True)
            self.rows.append((rows + reach, reach, arrangements, state.ravel(), len(states)))
            self.kinds.append((kinds[:, 0] / n, kinds[:, 1] / (2 * n)))
            self.sums.append(states[:, 0] / n)
            self.weights.append(states[:, 1])
        a, b = self.kinds
        self.h = half_width(self.n, ((a[0][:, None], a[1][:, None]), (b[0][None, :], b[1][None, :])), level)
        self.h = self.h[numpy.ix_(self.weights[0], self.weights[1])]

    def law(self, group, mean):
        """Chance of each state; the mean lies in [0, 1)."""
        rows, reach, arrangements, state, states = self.rows[group]
        cells = numpy.arange(-reach, reach + 2)
        p = numpy.diff(scipy.special.ndtr((numpy.append(cells, cells[-1] + 1) - 0.5 - mean) / self.sd[group]))
        return numpy.bincount(state, weights=arrangements * p[rows].prod(axis=1), minlength=states)

    def over_phases(self, gap, found):
        whole = math.floor(gap)
        hit = found(self.sums[1][None, :] + whole - self.sums[0][:, None])
        at = []
        for i in range(PHASES):
            second = i / PHASES + gap - whole
            # A mean of 1 or more is that much above the next lattice point: states move up by one step.
            up = second >= 1
            table = found(self.sums[1][None, :] + whole + 1 - self.sums[0][:, None]) if up else hit
            at.append(self.law(0, i / PHASES) @ table @ self.law(1, second - up))
        return numpy.mean(at), numpy.min(at)

    def finds(self, gap):
        """Average over the phases, and the least."""
        return self.over_phases(gap, lambda d: numpy.abs(d) > self.h + 1e-9)

    def same(self, gap, margin):
        return self.over_phases(gap, lambda d: numpy.abs(d) + self.h < margin - 1e-9)

    def laws(self):
        return [sum(self.law(g, i / PHASES) for i in range(PHASES)) / PHASES for g in (0, 1)]

    def mean_half_width(self):
        a, b = self.laws()
        return a @ self.h @ b

    def narrow(self, width):
        a, b = self.laws()
        return a @ (self.h <= width + 1e-9) @ b


class Simulated:
    """The same from simulated tests, for more shots. `share` is a pair: a share of tests and its standard error."""

    def __init__(self, n_a, n_b, sd_a, sd_b, gap=0.0, level=0.95, tests=100_000, seed=20):
        random = numpy.random.default_rng(seed)
        phase = random.random((tests, 1))
        a = numpy.rint(phase + sd_a * random.standard_normal((tests, n_a)))
        b = numpy.rint(phase + gap + sd_b * random.standard_normal((tests, n_b)))
        self.difference = b.mean(axis=1) - a.mean(axis=1)
        pairs, place = numpy.unique(numpy.stack([*spreads(a), *spreads(b)], axis=1), axis=0, return_inverse=True)
        h = half_width((n_a, n_b), ((pairs[:, 0], pairs[:, 1]), (pairs[:, 2], pairs[:, 3])), level)
        self.h = h[place.ravel()]

    @staticmethod
    def share(hits):
        p = hits.mean()
        return p, math.sqrt(p * (1 - p) / len(hits)) + 1 / len(hits)

    def finds(self):
        return self.share(numpy.abs(self.difference) > self.h + 1e-9)

    def same(self, margin):
        return self.share(numpy.abs(self.difference) + self.h < margin - 1e-9)

    def narrow(self, width):
        return self.share(self.h <= width + 1e-9)

    def mean_half_width(self):
        return self.h.mean(), self.h.std() / math.sqrt(len(self.h))


class WelchTwo:
    """Welch's test of n and n normal shots of one SD, by conditioning on where the two sample variances split.

    With u = s_a²/(s_a² + s_b²) the sum of the variances is independent of u, so t is noncentral t with 2(n−1) degrees of
    freedom, and only its critical value, by Satterthwaite's ν = (n−1)/(u² + (1−u)²), depends on u; u is Beta((n−1)/2,
    (n−1)/2). The program integrates over both variances another way.
    """

    def __init__(self, n, sd, confidence=0.95):
        self.n, self.tail, self.se = n, (1 - confidence) / 2, sd * math.sqrt(2 / n)

    def over_splits(self, function):
        half = (self.n - 1) / 2
        law = scipy.stats.beta(half, half)

        def integrand(angle):  # u = sin² takes the poles of the density at both ends, n = 2, away
            u = math.sin(angle) ** 2
            freedom = (self.n - 1) / (u * u + (1 - u) ** 2)
            weight = law.pdf(u) * 2 * math.sin(angle) * math.cos(angle)
            return weight * function(scipy.special.stdtrit(freedom, 1 - self.tail))

        return scipy.integrate.quad(integrand, 1e-9, math.pi / 2 - 1e-9, epsabs=1e-9, epsrel=1e-9, limit=200)[0]

    def power(self, gap):
        law = scipy.stats.nct(2 * (self.n - 1), gap / self.se)
        with numpy.errstate(invalid="ignore"):  # flags that SciPy leaves behind far out in the tails
            return self.over_splits(lambda critical: law.sf(critical) + law.cdf(-critical))

    def half_width(self):
        freedom = 2 * (self.n - 1)  # mean of √(χ²/freedom)
        root = math.sqrt(2 / freedom) * math.exp(math.lgamma((freedom + 1) / 2) - math.lgamma(freedom / 2))
        return self.over_splits(lambda critical: critical) * self.se * root


class WelchPair:
    """Welch's test of unequal groups, by Gauss and Laguerre's rule over both sample variances."""

    def __init__(self, n_a, n_b, sd_a, sd_b, confidence=0.95, nodes=48):
        parts, weights = [], []
        for n, sd in ((n_a, sd_a), (n_b, sd_b)):
            x, w = scipy.special.roots_genlaguerre(nodes, (n - 1) / 2 - 1)
            parts.append(sd * sd / n * 2 * x / (n - 1))
            weights.append(w / w.sum())
        a, b = parts[0][:, None], parts[1][None, :]
        nu = (a + b) ** 2 / (a ** 2 / (n_a - 1) + b ** 2 / (n_b - 1))
        self.critical = scipy.special.stdtrit(nu, (1 + confidence) / 2) * numpy.sqrt(a + b)
        self.weights = weights[0][:, None] * weights[1][None, :]
        self.se = math.sqrt(sd_a * sd_a / n_a + sd_b * sd_b / n_b)

    def power(self, gap):
        ndtr = scipy.special.ndtr
        return float((self.weights * (ndtr((gap - self.critical) / self.se) + ndtr((-gap - self.critical) / self.se))).sum())

    def detectable_gap(self, power=0.8):
        return scipy.optimize.brentq(lambda gap: self.power(gap) - power, 0.01 * self.se, 1000 * self.se)


class KindsOfBow:
    """Pooled t on the averages of k bows of each kind: noncentral t, from SciPy."""

    def __init__(self, bows, shots, bow_sd, shot_sd, step=1.0, confidence=0.95):
        self.freedom = 2 * (bows - 1)
        average = bow_sd ** 2 + ((shot_sd ** 2 + step ** 2 / 12) / shots if shots else 0.0)  # 0 shots: without end
        self.se = math.sqrt(2 * average / bows)
        self.critical = scipy.stats.t.isf((1 - confidence) / 2, self.freedom)

    def power(self, gap):
        law = scipy.stats.nct(self.freedom, gap / self.se)
        # The other side's share is far below any digit looked at for large gaps, where SciPy has no answer.
        with numpy.errstate(invalid="ignore"):
            return law.sf(self.critical) + (law.cdf(-self.critical) if gap < 4 * self.se else 0.0)

    def half_width(self):
        root = math.sqrt(2 / self.freedom) * math.exp(math.lgamma((self.freedom + 1) / 2) - math.lgamma(self.freedom / 2))
        return self.critical * self.se * root


def readings_sd(sd, step=1.0):
    return math.sqrt(sd * sd + step * step / 12)
