"""certified.py FILE...: NumPy's, SciPy's and statsmodels' statistics of the sets that sets.py has written; lines as those
of certified.cpp."""

import pathlib
import sys

import numpy as np
import scipy.stats
import statsmodels.api as sm
from statsmodels.stats.weightstats import DescrStatsW


def show(side, name, **values):
    for statistic, value in values.items():
        print(side, name, statistic, repr(float(value)), sep="\t")


for path in map(pathlib.Path, sys.argv[1:]):
    name = path.stem
    kind = name.split("-")[0]
    table = np.loadtxt(path, delimiter=",", skiprows=1, ndmin=2)
    y = table[:, -1]
    if kind == "univariate":
        show("SciPy", name, mean=np.mean(y), sd=np.std(y, ddof=1))
        described = DescrStatsW(y)
        show("statsmodels", name, mean=described.mean, sd=described.std_ddof(1))
    elif kind == "anova":
        groups = table[:, 0].astype(int)
        numbers = np.unique(groups)
        show("SciPy", name, F=scipy.stats.f_oneway(*(y[groups == g] for g in numbers)).statistic)
        design = np.column_stack([np.ones(len(y))] + [(groups == g).astype(float) for g in numbers[1:]])
        fit = sm.OLS(y, design).fit()
        show("statsmodels", name, ss_between=fit.ess, ss_within=fit.ssr, ms_between=fit.mse_model, ms_within=fit.mse_resid,
             F=fit.fvalue, r2=fit.rsquared, residual_sd=np.sqrt(fit.mse_resid))
    else:
        x = table[:, 0]
        if kind == "line":
            r = scipy.stats.linregress(x, y)
            show("SciPy", name, b0=r.intercept, se0=r.intercept_stderr, b1=r.slope, se1=r.stderr, r2=r.rvalue**2)
            fit = sm.OLS(y, sm.add_constant(x)).fit()
            show("statsmodels", name, b0=fit.params[0], se0=fit.bse[0], b1=fit.params[1], se1=fit.bse[1])
        else:
            fit = sm.OLS(y, x).fit()
            show("statsmodels", name, b1=fit.params[0], se1=fit.bse[0])
        show("statsmodels", name, sigma=np.sqrt(fit.mse_resid), r2=fit.rsquared, F=fit.fvalue)
