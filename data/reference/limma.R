# Makes limma.csv: empirical-Bayes priors of variances and moderated t, by limma (fitFDist, squeezeVar, lmFit, eBayes).
#   Rscript limma.R > limma.csv                           (R with limma 3.54)
# Later versions of limma take another estimator where degrees of freedom differ; these are the moments of Smyth (2004).
# Kinds of rows, lists separated by blanks:
#   prior    variances, degrees of freedom; then prior variance, prior degrees of freedom, squeezed variances
#   t        shots of the first and the second set-up, readings in tenths (first set-up first), the residual variances of
#            all items with their common degrees of freedom, place of this item; then prior variance, prior degrees of
#            freedom, squeezed variance, gap (second minus first), t, total degrees of freedom, two-sided p, and
#            P(F >= residual variance / prior variance) on the two degrees of freedom (pf)
suppressPackageStartupMessages(library(limma))
RNGkind("Mersenne-Twister", "Inversion", "Rejection")
set.seed(1)
num <- function(x) paste(sprintf("%.17g", x), collapse = " ")
row <- function(...) cat(paste(c(...), collapse = ","), "\n", sep = "")
cat("# made by limma.R, R ", R.version$major, ".", R.version$minor, ", limma ", as.character(packageVersion("limma")),
    ", seed 1; columns stand there\n", sep = "")
for (i in 1:200) {
  G <- sample(3:30, 1)
  df <- if (runif(1) < .5) rep(sample(1:9, 1), G) else sample(1:9, G, TRUE)
  d0 <- sample(c(1, 1.5, 4, 10, 1e6), 1); scale <- exp(runif(1, log(.1), log(10)))
  s2 <- signif(scale*(d0/rchisq(G, d0))*rchisq(G, df)/df, 10)
  f <- fitFDist(s2, df); q <- squeezeVar(s2, df)
  stopifnot(identical(c(f$scale, f$df2), c(q$var.prior, q$df.prior)))
  row("prior", num(s2), num(df), num(f$scale), num(f$df2), num(q$var.post))
}
# A variance far below the others, and one far below 1e-5 of their median.
for (s2 in list(c(1, 2, 3, 1e-4), c(1, 2, 3, 1e-9), c(2, 1e-12, 5, 7, 9))) {
  df <- rep(2, length(s2)); q <- squeezeVar(s2, df)
  row("prior", num(s2), num(df), num(q$var.prior), num(q$df.prior), num(q$var.post))
}
for (i in 1:60) {
  n1 <- sample(2:6, 1); n2 <- sample(2:6, 1); G <- sample(4:12, 1)
  y <- t(sapply(seq_len(G), function(g) {
    s <- 1.5*exp(rnorm(1, 0, .7)); round(10*c(rnorm(n1, 280, s), rnorm(n2, 281, s)))
  }))
  fit <- eBayes(lmFit(y/10, cbind(1, rep(0:1, c(n1, n2)))))
  d <- n1 + n2 - 2
  for (g in seq_len(G))
    row("t", n1, n2, paste(y[g, ], collapse = " "), num(fit$sigma^2), d, g - 1, num(fit$s2.prior), num(fit$df.prior),
        num(fit$s2.post[g]), num(fit$coefficients[g, 2]), num(fit$t[g, 2]), num(fit$df.total[g]), num(fit$p.value[g, 2]),
        num(pf(fit$sigma[g]^2/fit$s2.prior, d, fit$df.prior, lower.tail = FALSE)))
}
