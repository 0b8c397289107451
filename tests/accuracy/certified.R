# Rscript certified.R FILE...: R's statistics of the sets that sets.py has written; lines as those of certified.cpp.
show <- function(set, values)
  cat(sprintf("R\t%s\t%s\t%.17g\n", set, names(values), values), sep = "")
for (file in commandArgs(trailingOnly = TRUE)) {
  set <- sub("\\.csv$", "", basename(file))
  d <- read.csv(file)
  values <- switch(sub("-.*", "", set),
    univariate = c(mean = mean(d$y), sd = sd(d$y)),
    anova = {
      fit <- lm(y ~ factor(group), d)
      a <- anova(fit)
      s <- summary(fit)
      c(ss_between = a[1, "Sum Sq"], ss_within = a[2, "Sum Sq"], ms_between = a[1, "Mean Sq"],
        ms_within = a[2, "Mean Sq"], F = a[1, "F value"], r2 = s$r.squared, residual_sd = s$sigma)
    },
    line = {
      s <- summary(lm(y ~ x, d))
      c(b0 = coef(s)[1, 1], se0 = coef(s)[1, 2], b1 = coef(s)[2, 1], se1 = coef(s)[2, 2], sigma = s$sigma,
        r2 = s$r.squared, F = unname(s$fstatistic[1]))
    },
    origin = {
      s <- summary(lm(y ~ x - 1, d))
      c(b1 = coef(s)[1, 1], se1 = coef(s)[1, 2], sigma = s$sigma, r2 = s$r.squared, F = unname(s$fstatistic[1]))
    })
  show(set, values)
}
