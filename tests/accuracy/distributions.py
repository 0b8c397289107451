"""distributions.py FILE...: SciPy's values; lines as those of distributions.cpp. What SciPy has no function for is left
out."""

import sys
import warnings

import numpy as np
from scipy import special, stats


def power(x, nu, alpha):
    critical = stats.t.isf(alpha / 2, nu)
    return stats.nct.sf(critical, nu, x) + stats.nct.cdf(-critical, nu, x)


FUNCTIONS = {
    "normal_upper_tail": lambda x: stats.norm.sf(x),
    "normal_upper_quantile": lambda p: stats.norm.isf(p),
    "t_upper_tail": lambda x, nu: stats.t.sf(x, nu),
    "t_upper_quantile": lambda p, nu: stats.t.isf(p, nu),
    "chi_square_lower_tail": lambda x, nu: stats.chi2.cdf(x, nu),
    "chi_square_upper_tail": lambda x, nu: stats.chi2.sf(x, nu),
    "chi_square_quantile": lambda p, nu: stats.chi2.ppf(p, nu),
    "chi_square_upper_quantile": lambda p, nu: stats.chi2.isf(p, nu),
    "f_upper_tail": lambda x, a, b: stats.f.sf(x, a, b),
    "f_upper_quantile": lambda p, a, b: stats.f.isf(p, a, b),
    "f_lower_quantile": lambda p, a, b: stats.f.ppf(p, a, b),
    "range_upper_tail": lambda q, k, nu: stats.studentized_range.sf(q, k, nu),
    "range_upper_quantile": lambda p, k, nu: stats.studentized_range.isf(p, k, nu),
    "digamma": lambda x: special.digamma(x),
    "trigamma": lambda x: special.polygamma(1, x),
    "two_sided_t_power": power,
    "noncentral_t_outside": power,
}

warnings.simplefilter("ignore")
np.seterr(all="ignore")
for path in sys.argv[1:]:
    with open(path, encoding="ascii") as file:
        for line in file:
            if line.startswith("#"):
                continue
            function, *arguments, _ = line.strip().split(",")
            if function in FUNCTIONS:
                value = FUNCTIONS[function](*(float(a) for a in arguments if a))
                print("SciPy", function, *arguments, repr(float(value)), sep="\t", flush=True)
