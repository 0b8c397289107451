# Makes distributions.csv: tails and quantiles with mpmath, most at 50 digits and more, of which 30 are written; the
# studentised range at 24, of which 20 are written. Minutes.
#   /usr/bin/python3 distributions.py > distributions.csv      (or only some parts of it, by the functions' names below)
# Columns: function, x or p, first and second parameter (doubles, exactly as read; empty where there is none), value.
#
# No formula here is that of the library: incomplete gamma and beta functions are summed as power series whose terms are all
# positive, upper tails are 1 minus the lower one with as many digits more as the tail is small, quantiles are Newton steps on
# the logarithm of the tail, and the integrals are trapezoid sums in log s (and z).
import functools
import math
import sys
import mpmath as mp


mp.mp.dps = 50
INF = float("inf")


def row(function, x, first, second, value):
    text = [function] + ["" if a is None else repr(float(a)) for a in (x, first, second)]
    print(",".join(text), mp.nstr(value, min(30, mp.mp.dps - 4)), sep=",", flush=True)


# ---- normal ----


def normal_upper(z):
    return mp.erfc(mp.mpf(z) / mp.sqrt(2)) / 2


def solve(log_tail, slope, start, p):
    """x where log_tail(x) = log p, by Newton steps; slope is the derivative of the tail."""
    x, target = mp.mpf(start), mp.log(mp.mpf(p))
    for _ in range(60):
        tail = log_tail(x)
        step = (mp.log(tail) - target) * tail / slope(x)
        x -= step
        if abs(step) < abs(x) * mp.mpf(10) ** (8 - mp.mp.dps) and abs(mp.log(tail) - target) < mp.mpf(10) ** (12 - mp.mp.dps):
            return x
    raise ArithmeticError(f"no quantile at {p}, last {x}")


def normal_upper_quantile(p):
    if p > 0.5:
        return -solve(normal_upper, lambda z: -mp.npdf(z), _normal_start(mp.mpf(1) - mp.mpf(p)), mp.mpf(1) - mp.mpf(p))
    if p == 0.5:
        return mp.mpf(0)
    return solve(normal_upper, lambda z: -mp.npdf(z), _normal_start(p), p)


def _normal_start(p):
    t = mp.sqrt(-2 * mp.log(p))
    return t - (2.515517 + 0.802853 * t + 0.010328 * t * t) / (1 + 1.432788 * t + 0.189269 * t * t + 0.001308 * t**3)


# ---- incomplete gamma and beta ----


def series(first, ratio):
    """first · (1 + ratio(0) + ratio(0)·ratio(1) + …), all terms positive."""
    total = term = mp.mpf(1)
    n = 0
    while True:
        r = ratio(n)
        term *= r
        total += term
        n += 1
        if r < mp.mpf("0.99") and term < total * mp.eps or r < 1 and term / (1 - r) < total * mp.eps:
            return first * total


def gamma_lower(a, h):
    """Regularised lower incomplete gamma function, to full relative precision."""
    return series(mp.exp(a * mp.log(h) - h - mp.loggamma(a + 1)), lambda n: h / (a + 1 + n))


def beta_lower(a, b, x, rest):
    """Regularised incomplete beta function at x, rest = 1 − x, to full relative precision; x ≤ ½ is quick."""
    first = mp.exp(a * mp.log(x) + b * mp.log(rest) - mp.log(a) - mp.loggamma(a) - mp.loggamma(b) + mp.loggamma(a + b))
    return series(first, lambda n: (a + b + n) / (a + 1 + n) * x)


def with_digits(extra, f):
    old = mp.mp.dps
    mp.mp.dps = old + extra
    try:
        return f()
    finally:
        mp.mp.dps = old


def one_minus(f):
    """1 − f(), with as many digits more as the difference needs."""
    for extra in (25, 60, 150, 350):
        value = with_digits(extra, lambda: 1 - f())
        if value > mp.mpf(10) ** (15 - extra):
            return +value
    raise ArithmeticError("a tail below 1e-330")


def chi_lower(x, nu):
    return +with_digits(25, lambda: gamma_lower(mp.mpf(nu) / 2, mp.mpf(x) / 2))


def chi_upper(x, nu):
    return one_minus(lambda: gamma_lower(mp.mpf(nu) / 2, mp.mpf(x) / 2))


def chi_density(x, nu):
    a = mp.mpf(nu) / 2
    return mp.exp((a - 1) * mp.log(x / 2) - x / 2 - mp.loggamma(a)) / 2


def f_upper(f, above, below):
    def lower_of(x_of):
        above_, below_, f_ = mp.mpf(above), mp.mpf(below), mp.mpf(f)
        total = below_ + above_ * f_
        share, rest = above_ * f_ / total, below_ / total
        if x_of == "rest":
            return beta_lower(below_ / 2, above_ / 2, rest, share)
        return beta_lower(above_ / 2, below_ / 2, share, rest)
    if mp.mpf(above) * f > below:
        return +with_digits(25, lambda: lower_of("rest"))
    return one_minus(lambda: lower_of("share"))


def f_density(f, above, below):
    a, b = mp.mpf(above) / 2, mp.mpf(below) / 2
    y = a / b * f
    return mp.exp(a * mp.log(y) - (a + b) * mp.log(1 + y) - mp.loggamma(a) - mp.loggamma(b) + mp.loggamma(a + b)) / f


def t_upper(t, nu):
    if nu == INF:
        return normal_upper(t)
    if t == 0:
        return mp.mpf(1) / 2
    if t < 0:
        return 1 - t_upper(-t, nu)
    return f_upper(mp.mpf(t) ** 2, 1, nu) / 2


def t_density(t, nu):
    nu = mp.mpf(nu)
    return mp.exp(mp.loggamma((nu + 1) / 2) - mp.loggamma(nu / 2) - (nu + 1) / 2 * mp.log1p(t * t / nu)) / mp.sqrt(nu * mp.pi)


def log_quantile(tail, density, p, rises, near=1, width=1):
    """Positive x with tail(x) = p: bisection in log x to 4 digits, then Newton steps in log x."""
    target = mp.log(p)
    old = mp.mp.dps
    mp.mp.dps = 20
    sign = 1 if rises else -1

    def off(u):
        try:
            return sign * (mp.log(tail(mp.exp(u))) - target)
        except ArithmeticError:  # far out in an upper tail
            return mp.mpf(1000)
    centre, below, above = mp.log(mp.mpf(near)), mp.mpf(width), mp.mpf(width)
    while off(centre - below) > 0:
        below *= 2
    while off(centre + above) < 0:
        above *= 2
        if above > 300:
            raise ArithmeticError("quantile out of reach")
    low, high = centre - below, centre + above
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if off(middle) < 0 else (low, middle)
        if high - low < mp.mpf("1e-4"):
            break
    mp.mp.dps = old
    u = (low + high) / 2
    for _ in range(40):
        x = mp.exp(u)
        value = tail(x)
        # Newton on log tail in log x
        step = (mp.log(value) - target) * value / (sign * x * density(x))
        u -= step
        if abs(step) < mp.mpf(10) ** (12 - mp.mp.dps):
            assert abs(tail(mp.exp(u)) / p - 1) < mp.mpf(10) ** (15 - mp.mp.dps)
            return mp.exp(u)
    raise ArithmeticError("no quantile")


def t_upper_quantile(p, nu):
    if nu == INF:
        return normal_upper_quantile(p)
    if p > 0.5:
        return -t_upper_quantile_mp(1 - mp.mpf(p), nu)
    return t_upper_quantile_mp(mp.mpf(p), nu)


@functools.lru_cache(None)
def t_upper_quantile_mp(p, nu):
    return log_quantile(lambda t: t_upper(t, nu), lambda t: t_density(t, nu), p, False)


# ---- integrals over s, s² = χ²_ν/ν, by the trapezoid rule in u = log s ----


def log_s_density(u, nu):
    """s·f_ν(s) up to a factor that the sums divide out."""
    return mp.exp(-nu * ((mp.expm1(2 * u)) / 2 - u))


def average(g, log_q, nu, per_unit, lowest):
    """Average over s of g(j), g at log w = j/per_unit, w = q·s; g falls with j and is 1 below `lowest`."""
    area = total = mp.mpf(0)
    nu = mp.mpf(nu)
    small = mp.mpf(10) ** (4 - mp.mp.dps)
    j0 = int(mp.floor(log_q * per_unit))
    for direction in (1, -1):
        j = j0 if direction == 1 else j0 - 1
        while True:
            density = log_s_density(mp.mpf(j) / per_unit - log_q, nu)
            area += density
            part = density * (1 if j < lowest * per_unit else g(j))
            total += part
            # Towards small s a tail may be 10^80 times what it is at s = 1, so what is left out is measured against the sum.
            if density < small * (total if direction == -1 else area) and part <= small * total:
                break
            j += direction
    return total / area


# ---- studentised range ----

PER_Z = 5


@functools.lru_cache(None)
def cumulative(i):
    """Φ(i/PER_Z) and φ(i/PER_Z)."""
    z = mp.mpf(i) / PER_Z
    return mp.erfc(-z / mp.sqrt(2)) / 2, mp.npdf(z)


def range_tails(w, groups):
    """1 − W_k(w) for each k: k ∫ φ(z) [a^m − b^m] dz, a = Φ(z), b = a − d, d = Φ(z − w), m = k − 1."""
    totals = [mp.mpf(0)] * len(groups)
    if w > 200:
        return totals  # below 1e-4000
    centre = int(w * PER_Z / 2)
    for i in range(centre - 10 * PER_Z, centre + 10 * PER_Z + 1):
        a, density = cumulative(i)
        d = mp.erfc((w - mp.mpf(i) / PER_Z) / mp.sqrt(2)) / 2
        b = a - d
        products, power, m = mp.mpf(1), mp.mpf(1), 1
        for at, k in enumerate(groups):
            while m < k - 1:
                power *= a
                products = products * b + power
                m += 1
            totals[at] += density * d * products
    return [k * total / PER_Z for k, total in zip(groups, totals)]


GROUPS = (3, 5, 10)
PER_LOG = 20


@functools.lru_cache(None)
def range_tails_at(j):
    return range_tails(mp.exp(mp.mpf(j) / PER_LOG), GROUPS)


@functools.lru_cache(None)
def range_tails_of(w):
    return range_tails(w, GROUPS)


def range_upper(q, k, nu):
    q = mp.mpf(q)
    if k == 2:
        return 2 * t_upper(q / mp.sqrt(2), nu)
    at = GROUPS.index(k)
    if nu == INF:
        return range_tails_of(q)[at]
    if nu > 100:  # the law of s is narrow, its SD is 1/√(2ν)
        per = int(2 * math.sqrt(2 * nu)) + 1
        return average(lambda j: range_tails_of(mp.exp(mp.mpf(j) / per))[at], mp.log(q), nu, per, -18)
    return average(lambda j: range_tails_at(j)[at], mp.log(q), nu, PER_LOG, -18)


def range_upper_quantile(p, k, nu):
    """Bisection, then secant steps, on log tail in log q, from quantiles of t that enclose it."""
    p = mp.mpf(p)
    u0 = mp.log(mp.sqrt(2) * t_upper_quantile_mp(p / 2, nu))
    if k == 2:
        return mp.exp(u0)
    u1 = mp.log(mp.sqrt(2) * t_upper_quantile_mp(p / (k * (k - 1)), nu))
    off = lambda u: mp.log(range_upper(mp.exp(u), k, nu) / p)
    while u1 - u0 > mp.mpf("0.1"):
        middle = (u0 + u1) / 2
        u0, u1 = (middle, u1) if off(middle) > 0 else (u0, middle)
    f0, f1 = off(u0), off(u1)
    for _ in range(60):
        u2 = u1 - f1 * (u1 - u0) / (f1 - f0)
        u0, f0, u1 = u1, f1, u2
        f1 = off(u1)
        if abs(u1 - u0) < mp.mpf("1e-18"):
            return mp.exp(u1)
        if f1 == f0:
            break
    if abs(f1) < mp.mpf("1e-18"):
        return mp.exp(u1)
    raise ArithmeticError("no range quantile")


# ---- power of a two-sided t test at noncentrality λ ----


def t_power(alpha, lam, nu):
    c = t_upper_quantile_mp(mp.mpf(alpha) / 2, nu)
    lam = mp.mpf(lam)
    per = (40 if nu < 200 else 400) + 4 * int(lam)  # the tails fall over 1/λ of a unit of log s
    value = average(lambda j: normal_upper(c * mp.exp(mp.mpf(j) / per) - lam) + normal_upper(c * mp.exp(mp.mpf(j) / per) + lam),
                    mp.mpf(0), nu, per, -40)  # Q(−λ) + Q(λ) = 1
    return value


FREEDOMS = (1, 1.5, 2, 3, 4.5, 10, 30, 100, 1e4, 1e6)
PROBABILITIES = (1e-15, 1e-10, 1e-6, 0.001, 0.005, 0.025, 0.05, 0.1, 0.25, 0.4, 0.49, 0.9, 0.975)


def normal_and_t():
    for z in (-30.0, -8.0, -3.0, -1.0, -0.1, 1e-5, 0.1, 0.5, 1.0, 1.96, 3.0, 5.0, 8.0, 12.5, 20.0, 30.0, 37.0):
        row("normal_upper_tail", z, None, None, normal_upper(z))
    for p in (1e-300, 1e-100, 1e-30, 1e-15, 1e-10, 1e-6, 0.001, 0.005, 0.025, 0.05, 0.1, 0.25, 0.4, 0.49, 0.499999, 0.6, 0.9,
              0.975, 0.999):
        row("normal_upper_quantile", p, None, None, normal_upper_quantile(p))

    for nu in FREEDOMS:
        for t in (-5.0, -0.5, 1e-3, 0.1, 0.5, 1.0, 2.0, 4.0, 8.0, 20.0, 35.0, 1e3, 1e8):
            if t > 100 and nu > 30:
                continue
            row("t_upper_tail", t, nu, None, t_upper(t, nu))
    for nu in FREEDOMS:
        for p in PROBABILITIES:
            row("t_upper_quantile", p, nu, None, t_upper_quantile(p, nu))


def chi_square():
    for nu in FREEDOMS:
        spread = math.sqrt(2 * nu)
        for x in sorted({1e-10 * nu, 1e-3 * nu, 0.1 * nu, 0.5 * nu, nu, 2 * nu, nu + 4 * spread, nu + 8 * spread,
                         nu + 20 * spread, max(nu - 3 * spread, 0.01 * nu), max(nu - 6 * spread, 0.03 * nu),
                         max(nu - 20 * spread, 0.03 * nu)}):
            lower, upper = chi_lower(x, nu), None
            if lower > mp.mpf("1e-290"):
                row("chi_square_lower_tail", x, nu, None, lower)
            if mp.mpf(x) / 2 < 330 + mp.mpf(nu) / 2 + 25 * spread:
                try:
                    upper = chi_upper(x, nu)
                except ArithmeticError:
                    continue
                if upper > mp.mpf("1e-290"):
                    row("chi_square_upper_tail", x, nu, None, upper)
    for nu in FREEDOMS:
        chi_width = min(1.0, 12 * math.sqrt(2 / nu))
        for p in PROBABILITIES:
            q = mp.mpf(p)
            row("chi_square_quantile", p, nu, None,
                log_quantile(lambda x: chi_lower(x, nu), lambda x: chi_density(x, nu), q, True, nu, chi_width))
            row("chi_square_upper_quantile", p, nu, None,
                log_quantile(lambda x: chi_upper(x, nu), lambda x: chi_density(x, nu), q, False, nu, chi_width))


def f_distribution():
    pairs = [(a, b) for a in (1, 1.5, 2, 5, 30, 1e6) for b in (1, 1.5, 2, 5, 30, 1e6)] + [(4, 500), (800, 300)]
    for a, b in pairs:
        for f in (1e-10, 0.01, 0.3, 1.0, 2.0, 5.0, 30.0, 1e4, 1e10):
            if (a > 1000 or b > 1000) and (f > 40 or f < 1e-3) or a > 1000 and b > 1000 and abs(f - 1) > 0.02:
                continue
            try:
                value = f_upper(f, a, b)
            except ArithmeticError:
                continue
            if value > mp.mpf("1e-290"):
                row("f_upper_tail", f, a, b, value)
        f_width = min(1.0, 12 * math.sqrt(2 / a + 2 / b))
        for p in (1e-15, 1e-6, 0.005, 0.025, 0.05, 0.25, 0.5, 0.9, 0.975):
            q = mp.mpf(p)
            row("f_upper_quantile", p, a, b,
                log_quantile(lambda f: f_upper(f, a, b), lambda f: f_density(f, a, b), q, False, 1, f_width))
            # P(F ≤ f) = P(1/F ≥ 1/f)
            row("f_lower_quantile", p, a, b,
                1 / log_quantile(lambda f: f_upper(f, b, a), lambda f: f_density(f, b, a), q, False, 1, f_width))


def power():
    for nu in (1, 2, 4, 9, 29, 99, 999):
        for lam in (0.0, 0.5, 1.0, 2.0, 3.0, 5.0, 8.0, 12.0, 20.0, 30.0, 40.0):
            for alpha in (0.05, 0.001):
                value = t_power(alpha, lam, nu)
                row("two_sided_t_power", lam, nu, alpha, value)
                row("noncentral_t_outside", lam, nu, alpha, value)  # beyond the critical value, on either side


def studentized_range():
    mp.mp.dps = 24  # some 18 of which are right
    for k in (2,) + GROUPS:
        for nu in (1, 1.5, 2, 3, 10, 30, 120, 1e6, INF):
            for q in (0.1, 0.5, 1.0, 2.0, 3.5, 5.0, 8.0, 15.0, 50.0):
                if nu == INF and q > 30 or 100 < nu < INF and q not in (1.0, 3.5, 8.0):
                    continue
                row("range_upper_tail", q, k, nu, range_upper(q, k, nu))
    for k in (2,) + GROUPS:
        for nu in (1, 1.5, 2, 10, 30):
            for p in (1e-10, 1e-4, 0.05, 0.5, 0.99):
                row("range_upper_quantile", p, k, nu, range_upper_quantile(p, k, nu))


if __name__ == "__main__":
    print(f"# made by distributions.py, mpmath {mp.__version__}; columns stand there")
    for part in sys.argv[1:] or ("normal_and_t", "chi_square", "f_distribution", "power", "studentized_range"):
        globals()[part]()
