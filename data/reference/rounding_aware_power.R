# Makes rounding_aware_power.csv: tests of whole-step readings simulated in R, apart from the library.
#   Rscript rounding_aware_power.R > rounding_aware_power.csv
# Lines: simulated, n_a, sd_a, n_b, sd_b, gap, margin, level, tests, found, same, mean H, SD of H
# In display steps. Readings are round(mean + sd*Z), the mean of a at a phase f, evenly spread over a step, that of b at
# f + gap. found: the interval leaves out 0; same: it lies inside the margin; a limit on 0 or on the margin does not.
RNGkind("Mersenne-Twister", "Inversion", "Rejection")
set.seed(27)

half <- function(a, b, level = 0.95) {
  n <- c(length(a), length(b)); v <- c(var(a), var(b)); al <- 1 - level
  tight <- c(diff(range(a)), diff(range(b))) <= 1
  h <- ifelse(tight, sqrt(pmax(0, 1/4 - v*(n-1)/n)), 0)
  V <- pmax(v, ifelse(n == 2, 1/4, 1/12)) / n
  S <- function(x) { u2 <- sum(V) + x; qt(1-al/2, u2^2/sum(V^2/(n-1))) * sqrt(u2) }
  E <- sum(h)
  if (sum(v == 0) == 1) { o <- which(v > 0); E <- max(E, 1/2 + qt(level, n[o]-1)*sqrt(V[o])) }
  r <- c(S0 = S(0), ST = S(sum(h^2)/3), E = E)
  round(c(gap = mean(b) - mean(a), r, H = max(r)), 6) }

# The width depends on the readings up to order and a common shift: each such pair is worked out once.
shape <- function(y) apply(y - apply(y, 1, min), 1, function(v) paste(sort(v), collapse = " "))
design <- function(n_a, sd_a, n_b, sd_b, gap, margin, level, tests) {
  f <- runif(tests)
  a <- floor(f + matrix(rnorm(tests*n_a, 0, sd_a), tests) + 1/2)
  b <- floor(f + gap + matrix(rnorm(tests*n_b, 0, sd_b), tests) + 1/2)
  key <- paste(shape(a), shape(b), sep = "|")
  first <- !duplicated(key)
  width <- mapply(function(i) half(a[i, ], b[i, ], level)[["H"]], which(first))
  H <- width[match(key, key[first])]
  d <- abs(rowMeans(b) - rowMeans(a))
  cat("simulated", n_a, sd_a, n_b, sd_b, gap, margin, level, format(tests, scientific = FALSE), sum(d > H + 2e-6),
      sum(d + H < margin - 2e-6), sprintf("%.7g", mean(H)), sprintf("%.5g", sd(H)), sep = ",")
  cat("\n")
}
cat("# made by rounding_aware_power.R, R ", R.version$major, ".", R.version$minor, "; columns stand there\n", sep = "")
design(3, 0.5, 3, 0.5, 2, 3, 0.95, 1e6)
design(5, 0.3, 4, 0.9, 1.3, 2.2, 0.9, 1e6)
design(2, 1, 6, 0.25, 3.5, 7, 0.95, 1e6)
design(10, 0.6, 10, 0.6, 0.8, 1.5, 0.99, 1e6)
