# Makes rounding_aware.csv: the interval for rounded readings worked out in R, apart from the library.
#   Rscript rounding_aware.R > rounding_aware.csv
# Lines: pair, level, a, b, gap, S0, ST, E, H, p          two set-ups
#        family, level, k, a, b, gap, S0, ST, E, H, p     one pair out of k set-ups
#        mean, level, y, mean, S0, ST, h, H               one set-up
# All in display steps. p is found by bisection on the interval, not from tail areas: the smallest alpha whose
# half-width is below |gap|; where |gap| <= h_a + h_b it is 1. NA: below 1e-4 in a family, 1e-12 in a pair.
RNGkind("Mersenne-Twister", "Inversion", "Rejection")
set.seed(20)

# Upper tail of the studentised range (stats::ptukey is off by up to 5e-5 at 2 or 3 degrees of freedom):
# outer integral over s = sqrt(chi2/df), inner over one of the k normals, both by Gauss-Legendre panels.
rule <- function(m) {
  k <- seq_len(m - 1); b <- k/sqrt(4*k^2 - 1); J <- matrix(0, m, m)
  J[cbind(k, k + 1)] <- b; J[cbind(k + 1, k)] <- b
  e <- eigen(J, symmetric = TRUE); list(x = e$values, w = 2*e$vectors[1, ]^2)
}
r24 <- rule(24)
panels <- function(edges) {
  h <- diff(edges)/2; m <- (edges[-1] + edges[-length(edges)])/2
  list(x = as.vector(outer(r24$x, h) + rep(m, each = 24)), w = as.vector(outer(r24$w, h)))
}
range_tail <- function(q, k, df) {
  z <- panels(seq(-9, 9, length.out = 10)); P <- pnorm(z$x); fz <- dnorm(z$x)*z$w
  inner <- function(x) vapply(x, function(v) k*sum(fz*(P^(k - 1) - (P - pnorm(z$x - v))^(k - 1))), 0)
  ends <- sqrt(c(qchisq(1e-18, df), qchisq(1e-18, df, lower.tail = FALSE))/df)
  small <- 10^-(7:1)  # far out the inner tail changes where s is small
  s <- panels(sort(c(seq(ends[1], ends[2], length.out = 9), small[small > ends[1]])))
  f <- exp(log(2) + df/2*log(df/2) - lgamma(df/2) + (df - 1)*log(s$x) - df*s$x^2/2)
  sum(s$w*f*inner(q*s$x))
}
range_quantile <- function(p, k, df) uniroot(function(q) range_tail(q, k, df) - p, c(1e-6, 1e6), tol = 1e-12)$root

parts <- function(y) {
  n <- length(y); v <- var(y - y[1]); tight <- diff(range(y)) <= 1
  list(n = n, v = v, h = if (tight) abs(sum(y == max(y))/n*(v > 0) - 1/2) else 0,
       V = max(v, if (n == 2) 1/4 else 1/12)/n)
}
terms <- function(a, b, alpha, k = 2) {
  g <- parts(a); o <- parts(b); V <- c(g$V, o$V); n <- c(g$n, o$n); m <- k*(k - 1)/2
  S <- function(x) {
    u2 <- sum(V) + x; nu <- u2^2/sum(V^2/(n - 1))
    (if (k == 2) qt(alpha/2, nu, lower.tail = FALSE) else range_quantile(alpha, k, nu)/sqrt(2))*sqrt(u2)
  }
  E <- g$h + o$h
  if ((g$v == 0) != (o$v == 0)) {
    i <- if (g$v == 0) 2 else 1
    E <- max(E, 1/2 + qt(alpha/m, n[i] - 1, lower.tail = FALSE)*sqrt(V[i]))
  }
  c(S(0), S((g$h^2 + o$h^2)/3), E)
}
gap_of <- function(a, b) (sum(b - a[1])*length(a) - sum(a - a[1])*length(b))/(length(a)*length(b))
p_of <- function(a, b, k = 2) {
  gap <- abs(gap_of(a, b)); g <- parts(a); o <- parts(b)
  if (gap <= g$h + o$h + 1e-12) return(1)
  f <- function(x) max(terms(a, b, exp(x), k)) - gap
  top <- log(1 - 1e-9)
  if (f(top) > 0) return(1)
  least <- log(if (k == 2) 1e-12 else 1e-4)  # range_tail is not made for q far out at few degrees of freedom
  if (f(least) <= 0) NA else exp(uniroot(f, c(least, top), tol = 1e-13)$root)
}
line <- function(...) cat(paste(c(...), collapse = ","), "\n", sep = "")
num <- function(x) sprintf("%.15g", x)
text <- function(y) paste(y, collapse = " ")
lattice <- function(n) {
  y <- 271L + as.integer(round(rnorm(n, runif(1), sample(c(.05, .3, .6, 1, 2), 1))))
  if (runif(1) < .15) rep(y[1], n) else y
}
pair <- function(a, b, level) {
  t <- terms(a, b, 1 - level)
  line("pair", level, text(a), text(b), num(gap_of(a, b)), num(t), num(max(t)), num(p_of(a, b)))
}

cat("# made by rounding_aware.R, R ", R.version$major, ".", R.version$minor, "; columns stand there\n", sep = "")
e <- function(...) as.integer(c(...))
pair(e(271, 271, 271), e(274, 274, 274), .95)
pair(e(271, 271, 271), e(272, 272, 273), .95)
pair(e(271, 273, 274, 270, 272), e(276, 274, 277, 275, 279), .95)
pair(e(271, 272, 271), e(273, 275, 274, 276, 272), .95)
pair(e(271, 273), e(274, 274, 275), .95)
pair(e(271, 271, 271), e(272, 272, 272), .95)
pair(e(271, 271), e(274, 274), .95)
pair(e(271, 271), e(274, 275), .95)
for (i in 1:90) {
  a <- lattice(sample(2:10, 1)); b <- lattice(sample(2:10, 1)) + sample(0:4, 1)
  pair(a, b, sample(c(.8, .9, .95, .99), 1))
}
for (i in 1:14) {
  a <- lattice(sample(2:6, 1)); b <- lattice(sample(2:6, 1)) + sample(0:6, 1)
  k <- sample(3:5, 1); level <- sample(c(.9, .95, .99), 1)
  t <- terms(a, b, 1 - level, k)
  line("family", level, k, text(a), text(b), num(gap_of(a, b)), num(t), num(max(t)), num(p_of(a, b, k)))
}
for (i in 1:40) {
  y <- lattice(sample(2:10, 1)); level <- sample(c(.8, .9, .95, .99), 1)
  g <- parts(y); V <- max(g$v, 1/12)/g$n
  S <- function(x) qt((1 - level)/2, (g$n - 1)*(V + x)^2/V^2, lower.tail = FALSE)*sqrt(V + x)
  t <- c(S(0), S(g$h^2/3), g$h)
  line("mean", level, text(y), num(mean(y)), num(t), num(max(t)))
}
