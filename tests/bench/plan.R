# What R's own planner answers: two groups of like SD, the pooled test, readings not rounded; `strict` counts both
# tails.
folder <- dirname(sub("^--file=", "", grep("^--file=", commandArgs(), value = TRUE)))
source(file.path(folder, "timing.R"))

gap <- 3
sd <- 1.2

answer_from(list(
  power = function() power.t.test(n = 5, delta = gap, sd = sd, strict = TRUE)$power,
  # The two lines of power.t.test that compute, without what checks and packs.
  power_formula = function() {
    t <- qt(0.025, 8, lower.tail = FALSE)
    lambda <- sqrt(5 / 2) * gap / sd
    pt(t, 8, ncp = lambda, lower.tail = FALSE) + pt(-t, 8, ncp = lambda, lower.tail = TRUE)
  },
  gap = function() power.t.test(n = 5, power = 0.8, sd = sd, strict = TRUE)$delta,
  shots = function() power.t.test(delta = gap, sd = sd, power = 0.8, strict = TRUE)$n,
  many_shots = function() power.t.test(delta = 1, sd = 2, power = 0.8, strict = TRUE)$n,
  table = function() {
    for (n in 2:10) {
      power.t.test(n = n, delta = gap, sd = sd, strict = TRUE)
      last <- power.t.test(n = n, power = 0.8, sd = sd, strict = TRUE)$delta
    }
    last
  }
))
