# Makes mixed.csv: two kinds of bow, several bows of each, REML fits with Satterthwaite's degrees of freedom.
#   Rscript mixed.R > mixed.csv                    (R with lmerTest; a minute)
# Columns: readings of kind a, then of kind b, in tenths, blanks between shots and / between bows; then difference b - a,
#          its standard error, degrees of freedom, t and p, SD between bows, SD of shots, REML criterion (readings in
#          whole units), and 1 where the SD between bows was estimated as 0.
# Every second design has equal numbers of shots; numbers of bows are drawn for each kind. lmer's search stops at 1e-10 of
# the ratio of the SDs; derivatives for the degrees of freedom are numerical.
suppressPackageStartupMessages(library(lmerTest))
RNGkind("Mersenne-Twister", "Inversion", "Rejection")
set.seed(1)
precise <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-10, maxfun = 1e5), check.conv.singular = "ignore")
cat("# made by mixed.R, R ", R.version$major, ".", R.version$minor, ", lme4 ", as.character(packageVersion("lme4")),
    ", lmerTest ", as.character(packageVersion("lmerTest")), ", seed 1; columns stand there\n", sep = "")
for (i in 1:60) {
  bows <- sample(2:6, 2, TRUE)
  shots <- if (i %% 2) rep(sample(2:6, 1), sum(bows)) else sample(c(1:7, 12), sum(bows), TRUE)
  if (all(shots == 1)) shots[1] <- 4
  bow <- factor(rep(seq_along(shots), shots))
  kind <- factor(rep(rep(0:1, bows), shots))
  bow_sd <- exp(runif(1, log(0.4), log(4)))
  shot_sd <- exp(runif(1, log(0.6), log(2.5)))
  y <- round(280 + rnorm(1, 1.5, 1.5)*(kind == 1) + rnorm(length(shots), 0, bow_sd)[bow] + rnorm(length(bow), 0, shot_sd), 1)
  fit <- suppressMessages(lmer(y ~ kind + (1 | bow), control = precise))
  effect <- suppressMessages(coef(summary(fit)))["kind1", ]
  sd <- as.data.frame(VarCorr(fit))$sdcor
  readings <- tapply(round(10*y), bow, paste, collapse = " ")
  of <- function(b) paste(readings[b], collapse = "/")
  cat(paste(c(of(seq_len(bows[1])), of(bows[1] + seq_len(bows[2])),
              sprintf("%.12g", c(effect, sd, REMLcrit(fit))), as.integer(isSingular(fit, tol = 1e-5))), collapse = ","),
      "\n", sep = "")
}
