#pragma once

/// Everything a program needs to put a statistical question to readings: values, methods, and the studies made of them.
/// Reading sheets (records) and writing answers (narrative, report) are included by name.

#include <shotassay/core/budget.hpp>
#include <shotassay/core/decimal.hpp>
#include <shotassay/core/errors.hpp>
#include <shotassay/core/interval.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/moments.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/core/unit.hpp>
#include <shotassay/core/version.hpp>
#include <shotassay/methods/bootstrap.hpp>
#include <shotassay/methods/bootstrap_monte_carlo.hpp>
#include <shotassay/methods/bootstrap_t.hpp>
#include <shotassay/methods/bow_means.hpp>
#include <shotassay/methods/bow_power.hpp>
#include <shotassay/methods/describe.hpp>
#include <shotassay/methods/detectable_gap.hpp>
#include <shotassay/methods/drift.hpp>
#include <shotassay/methods/equivalence.hpp>
#include <shotassay/methods/family.hpp>
#include <shotassay/methods/holm.hpp>
#include <shotassay/methods/mean_interval.hpp>
#include <shotassay/methods/measured_coverage.hpp>
#include <shotassay/methods/mixed.hpp>
#include <shotassay/methods/moderated.hpp>
#include <shotassay/methods/one_way_anova.hpp>
#include <shotassay/methods/permutation.hpp>
#include <shotassay/methods/pooled.hpp>
#include <shotassay/methods/round_paired.hpp>
#include <shotassay/methods/rounding_aware.hpp>
#include <shotassay/methods/rounding_aware_power.hpp>
#include <shotassay/methods/sample_size.hpp>
#include <shotassay/methods/scatter_history.hpp>
#include <shotassay/methods/sd_upper_limit.hpp>
#include <shotassay/methods/sensitivity.hpp>
#include <shotassay/methods/session_gaps.hpp>
#include <shotassay/methods/stopping_error.hpp>
#include <shotassay/methods/tipping_bow_sd.hpp>
#include <shotassay/methods/welch.hpp>
#include <shotassay/methods/welch_power.hpp>
#include <shotassay/methods/widened_gap.hpp>
#include <shotassay/studies/comparison.hpp>
#include <shotassay/studies/influence.hpp>
#include <shotassay/studies/plan.hpp>
