# Exact bootstrap laws of random whole readings, as reference for the bootstrap tests.
# Rscript bootstrap_exact.R > bootstrap_exact.jsonl      (R 4.2.2, base packages only)
# mean1: law of mean(x). gap2: law of mean(x) - mean(y). Quantile q(p): smallest value v with P(<= v) >= p.
# bca: z0 = qnorm(P(below) + P(tie)/2); acceleration from the centred readings of each sample.
set.seed(1)
sum_law <- function(x) {  # n-fold law of the sum, one draw at a time
  v <- 0; p <- 1
  for (k in seq_along(x)) { s <- outer(v, x, "+"); w <- outer(p, rep(1/length(x), length(x)))
    t <- tapply(as.vector(w), as.vector(s), sum); v <- as.numeric(names(t)); p <- as.vector(t) }
  list(v = v, p = p)
}
num <- function(x) paste0(if (length(x) > 1) "[", paste(sprintf("%.17g", x), collapse = ","), if (length(x) > 1) "]")
describe <- function(v, p, theta, acc, scale) {  # whole-number keys v, scaled at the end
  o <- order(v); v <- v[o]; p <- p[o]; F <- cumsum(p)
  q <- function(level) v[which(F >= level - 1e-13)[1]]/scale
  below <- sum(p[v < theta]); tie <- sum(p[v == theta]); z0 <- qnorm(below + tie/2)
  bca <- function(alpha) { z <- z0 + qnorm(c(alpha/2, 1 - alpha/2)); sapply(pnorm(z0 + z/(1 - acc*z)), q) }
  r <- list(theta = theta/scale, se = sqrt(sum(p*(v - sum(v*p))^2))/scale, p_lt = below, p_eq = tie, p_le0 = sum(p[v <= 0]),
            pct90 = c(q(0.05), q(0.95)), pct95 = c(q(0.025), q(0.975)), bca90_mid = bca(0.1), bca95_mid = bca(0.05), accel = acc)
  paste0("{", paste0('"', names(r), '":', sapply(r, num), collapse = ","), "}")
}
for (i in 1:30) {
  repeat { m <- sample(3:7, 1); n <- sample(3:7, 1); mu <- runif(1, 180, 340); s <- runif(1, 0.8, 4)
    x <- round(rnorm(m, mu, s)); y <- round(rnorm(n, mu + rnorm(1, 0, 2), s)); if (var(x) > 0 && var(y) > 0) break }
  u <- (x - mean(x))/m; w <- -(y - mean(y))/n; A <- sum_law(x); B <- sum_law(y)
  cat('{"kind":"mean1","x":', num(x), ',"out":', describe(A$v, A$p, sum(x), sum(u^3)/(6*sum(u^2)^1.5), m), "}\n", sep = "")
  t <- tapply(as.vector(outer(A$p, B$p)), as.vector(outer(n*A$v, m*B$v, "-")), sum)
  cat('{"kind":"gap2","x":', num(x), ',"y":', num(y), ',"out":', describe(as.numeric(names(t)), as.vector(t), n*sum(x) - m*sum(y),
    (sum(u^3) + sum(w^3))/(6*(sum(u^2) + sum(w^2))^1.5), m*n), "}\n", sep = "")
}
