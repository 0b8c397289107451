# Makes moderated.csv: the moderated interval with its rounding terms, in base R, from the formula alone.
#   Rscript moderated.R > moderated.csv
# Columns: set-ups' readings in display steps (blanks between readings, / between set-ups), the two compared (from 0),
#          level, prior variance in steps^2, d0, D; then gap, s, s-tilde, nu, S(0), S(T), E, H, p, P(F >= s^2/s0^2).
# p of a pair is found by root search for the level at which the interval ends at 0. A family of three or more uses R's
# qtukey and ptukey.
RNGkind("Mersenne-Twister", "Inversion", "Rejection")
set.seed(1)
moderated <- function(y, i, j, level, v0, d0, D) {
  n <- lengths(y); v <- sapply(y, var); k <- length(y); d <- sum(n) - k
  v1 <- pmax(v, ifelse(n == 2, 1/4, 1/12))
  s2 <- sum((n - 1)*v1)/d
  w <- min(d0, D)
  pF <- if (w > 0) pf(s2/v0, d, w, lower.tail = FALSE) else 1
  if (pF < 0.1) w <- 0
  st2 <- max(if (is.finite(w)) (w*v0 + d*s2)/(w + d) else v0, 1/12); nu <- d + w
  g <- c(i, j); V <- st2/n[g]
  tight <- sapply(y[g], function(x) diff(range(x))) <= 1
  h <- ifelse(tight, sqrt(pmax(0, 1/4 - v[g]*(n[g] - 1)/n[g])), 0)
  quant <- function(al, nu) if (k == 2) qt(al/2, nu, lower.tail = FALSE) else qtukey(al, k, nu, lower.tail = FALSE)/sqrt(2)
  S <- function(al, x) quant(al, nu*((sum(V) + x)/sum(V))^2)*sqrt(sum(V) + x)
  E <- function(al) {
    e <- sum(h)
    if (sum(v[g] == 0) == 1) {
      o <- g[v[g] > 0]
      e <- max(e, 1/2 + qt(al/choose(k, 2), nu, lower.tail = FALSE)*sqrt(max(v1[o], st2)/n[o]))
    }
    e
  }
  H <- function(al) max(S(al, 0), S(al, sum(h^2)/3), E(al))
  al <- 1 - level; gap <- mean(y[[j]]) - mean(y[[i]])
  p <- if (abs(gap) <= sum(h) + 1e-9 || H(1 - 1e-12) > abs(gap)) 1 else if (k == 2) {
    exp(uniroot(function(la) H(exp(la)) - abs(gap), c(-60, log1p(-1e-12)), tol = 1e-13)$root)
  } else {
    x <- c(0, sum(h^2)/3)
    q <- ptukey(abs(gap)*sqrt(2)/sqrt(sum(V) + x), k, nu*((sum(V) + x)/sum(V))^2, lower.tail = FALSE)
    o <- g[v[g] > 0]
    b <- if (sum(v[g] == 0) == 1) choose(k, 2)*pt((abs(gap) - 1/2)/sqrt(max(v1[o], st2)/n[o]), nu, lower.tail = FALSE)
    min(1, max(q, b))
  }
  c(gap, sqrt(s2), sqrt(st2), nu, S(al, 0), S(al, sum(h^2)/3), E(al), H(al), p, pF)
}
num <- function(x) sprintf("%.15g", x)
cat("# made by moderated.R, R ", R.version$major, ".", R.version$minor, ", seed 1; columns stand there\n", sep = "")
for (c0 in 1:300) {
  k <- if (c0 <= 240) 2 else sample(3:4, 1)
  sd <- sample(c(.1, .3, .6, 1, 3), 1)
  y <- lapply(seq_len(k), function(g) round(rnorm(sample(2:6, 1), runif(1, 270, 273), sd)))
  if (k > 2) while (sum(lengths(y)) - k < 6) y[[1]] <- c(y[[1]], round(rnorm(1, 271, sd)))  # qtukey errs at few df
  ij <- sample(k, 2); level <- sample(c(.8, .95, .99), 1)
  v0 <- (sd^2 + 1/12)*sample(c(1, 1, 1, .2, 4), 1)
  d0 <- sample(c(0, 2.5, 12, Inf), 1); D <- sample(c(8, 40), 1)
  cat(paste(c(paste(sapply(y, paste, collapse = " "), collapse = "/"), ij - 1, level, num(v0), d0, D,
              num(moderated(y, ij[1], ij[2], level, v0, d0, D))), collapse = ","), "\n", sep = "")
}
