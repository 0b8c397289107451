# Makes welch.csv: Welch's and the pooled two-sample t by stats::t.test on random readings.
#   Rscript welch.R > welch.csv
# Columns: decimals, level, a, b (whole multiples of 10^-decimals), then for Welch and for pooled each
#          t, degrees of freedom, standard error, p, lower, upper; differences are b minus a, in steps.
RNGkind("Mersenne-Twister", "Inversion", "Rejection")
set.seed(1)
num <- function(x) sprintf("%.15g", x)
cat("# made by welch.R, R ", R.version$major, ".", R.version$minor, "; columns stand there\n", sep = "")
for (i in 1:60) {
  decimals <- sample(c(0, 0, 1, 2), 1); scale <- 10^decimals
  shots <- function(n) as.integer(round(rnorm(n, runif(1, 275, 279), exp(runif(1, log(.3), log(6))))*scale))
  repeat {
    a <- shots(sample(2:12, 1)); b <- shots(sample(2:12, 1))
    if (sd(a) + sd(b) > 0) break
  }
  level <- sample(c(.9, .95, .99), 1)
  # Means near 0 keep R's own double arithmetic exact here: every reading less one whole number.
  x <- b - a[1]; y <- a - a[1]
  one <- function(pool) {
    h <- t.test(x, y, var.equal = pool, conf.level = level)
    num(c(h$statistic, h$parameter, h$stderr, h$p.value, h$conf.int))
  }
  cat(paste(c(decimals, level, paste(a, collapse = " "), paste(b, collapse = " "), one(FALSE), one(TRUE)),
            collapse = ","), "\n", sep = "")
}
