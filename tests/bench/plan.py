"""What statsmodels' planner answers: two groups of like SD, the pooled test, readings not rounded, both tails."""

import sys
import warnings

sys.dont_write_bytecode = True
import timing  # noqa: E402  (nothing may be written into the source tree)
from statsmodels.stats.power import TTestIndPower  # noqa: E402

# Its search passes through gaps for which the noncentral t has no value; the answers are sound.
warnings.simplefilter("ignore")

GAP, SD = 3.0, 1.2
planner = TTestIndPower()


def table():
    for n in range(2, 11):
        planner.power(effect_size=GAP / SD, nobs1=n, alpha=0.05)
        last = SD * planner.solve_power(nobs1=n, power=0.8, alpha=0.05)
    return last


timing.answer_from({
    "power": lambda: planner.power(effect_size=GAP / SD, nobs1=5, alpha=0.05),
    "gap": lambda: SD * planner.solve_power(nobs1=5, power=0.8, alpha=0.05),
    "shots": lambda: planner.solve_power(effect_size=GAP / SD, power=0.8, alpha=0.05),
    "many_shots": lambda: planner.solve_power(effect_size=1.0 / 2.0, power=0.8, alpha=0.05),
    "table": table,
})
