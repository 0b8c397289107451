# Makes bow_means.csv: the interval for two kinds of bow from the averages of their bows, written out a second time.
#   Rscript bow_means.R > bow_means.csv
# Columns: 1 - alpha; readings of kind a, then of kind b, in steps, blanks between shots and / between bows; then, first
#          with one spread of bows for both kinds and then with one for each: difference b - a, standard error, degrees
#          of freedom, S(0), S(T), E, p, and 1 where a floor was above the variance found (of either kind).
# p is found by halving on alpha, not by a formula. A margin follows, with the p of equivalence for both, also by halving.
RNGkind("Mersenne-Twister", "Inversion", "Rejection")
set.seed(1)
interval <- function(a, b, common) {
  bows <- c(a, b); kind <- rep(1:2, c(length(a), length(b))); k <- c(length(a), length(b)); n <- lengths(bows)
  within <- if (any(n > 1)) sum(sapply(bows, function(x) sum((x - mean(x))^2)))/sum(n - 1) else 0
  s2 <- sapply(bows, function(x) if (length(x) > 1) var(x) else within)
  V <- pmax(s2, ifelse(n == 2, 1/4, 1/12))/n
  m <- sapply(bows, mean); M <- tapply(m, kind, mean)
  ss <- tapply((m - M[kind])^2, kind, sum)
  found <- if (common) rep(sum(ss)/(sum(k) - 2), 2) else ss/(k - 1)
  floor <- if (common) rep(mean(V), 2) else tapply(V, kind, mean)
  v <- pmax(found, floor)/k; nu <- if (common) rep(sum(k) - 2, 2) else k - 1
  lo <- tapply(bows, kind, function(g) min(unlist(g))); hi <- tapply(bows, kind, function(g) max(unlist(g)))
  h <- ifelse(hi - lo <= 1, abs(M - lo - 1/2), 0); equal <- hi == lo
  df <- function(x) if (common) nu[1]*((sum(v) + x)/sum(v))^2 else (sum(v) + x)^2/sum(v^2/nu)
  S <- function(x, al) qt(al/2, df(x), lower.tail = FALSE)*sqrt(sum(v) + x)
  E <- function(al) { e <- sum(h); if (sum(equal) == 1) { o <- which(!equal); e <- max(e, 1/2 + qt(al, nu[o], lower.tail = FALSE)*sqrt(v[o])) }; e }
  H <- function(al) max(S(0, al), S(sum(h^2)/3, al), E(al))
  smallest <- function(distance) { if (distance <= sum(h) + 1e-9) return(1); l <- -600; u <- 0
    if (H(1 - 1e-15) >= distance) return(1)
    for (i in 1:200) { c <- (l + u)/2; if (H(exp(c)) < distance) u <- c else l <- c }; exp(u) }
  list(gap = M[[2]] - M[[1]], se = sqrt(sum(v)), df = df(0), S0 = function(al) S(0, al), ST = function(al) S(sum(h^2)/3, al), E = E,
       smallest = smallest, acted = any(floor > found))
}
cat("# made by bow_means.R, R ", R.version$major, ".", R.version$minor, ", seed 1; columns stand there\n", sep = "")
for (i in 1:80) {
  k <- sample(2:5, 2, TRUE); n <- if (i %% 2) rep(sample(1:6, 1), sum(k)) else sample(1:6, sum(k), TRUE)
  bow_sd <- if (runif(1) < .3) 0 else exp(runif(1, log(.1), log(4))); shot_sd <- exp(runif(1, log(.05), log(3)))
  shoot <- function(n, mu) lapply(n, function(m) round(mu + rnorm(1, 0, bow_sd) + rnorm(m, 0, shot_sd)))
  a <- shoot(n[seq_len(k[1])], runif(1, 270, 272)); b <- shoot(n[k[1] + seq_len(k[2])], runif(1, 271, 274))
  level <- sample(c(.8, .95, .99), 1); margin <- sample(c(1.5, 3, 6), 1)
  text <- function(g) paste(sapply(g, paste, collapse = " "), collapse = "/")
  both <- list(interval(a, b, TRUE), interval(a, b, FALSE))
  row <- unlist(lapply(both, function(r) c(r$gap, r$se, r$df, r$S0(1 - level), r$ST(1 - level), r$E(1 - level), r$smallest(abs(r$gap)), as.integer(r$acted))))
  same <- sapply(both, function(r) { p <- r$smallest(margin - abs(r$gap)); if (p >= 1) 1 else p/2 })
  cat(paste(c(level, text(a), text(b), sprintf("%.15g", row), margin, sprintf("%.15g", same)), collapse = ","), "\n", sep = "")
}
