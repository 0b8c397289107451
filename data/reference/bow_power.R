# Makes bow_power.csv: how often two kinds of bow are told apart at 95 %, by simulated tests.
#   Rscript bow_power.R > bow_power.csv                    (R with lmerTest; a quarter of an hour)
# Columns: bows of each kind, shots with each bow, SD between bows, SD of shots, true gap, tests; then the share of tests
#          with p < 0.05 by (a) the t test on bow averages and (b) a mixed model fitted by REML with Satterthwaite's
#          degrees of freedom, on the same simulated shots; and the share of fits whose variance between bows was 0.
# Readings are not rounded.
suppressPackageStartupMessages(library(lmerTest))
RNGkind("Mersenne-Twister", "Inversion", "Rejection")
set.seed(1)
study <- function(bows, shots, bow_sd, shot_sd, gap, tests) {
  kind <- factor(rep(1:2, each = bows*shots))
  bow <- factor(rep(seq_len(2*bows), each = shots))
  of_averages <- of_model <- singular <- 0
  for (i in seq_len(tests)) {
    y <- gap*(kind == "2") + rep(rnorm(2*bows, 0, bow_sd), each = shots) + rnorm(2*bows*shots, 0, shot_sd)
    average <- colMeans(matrix(y, shots))
    p <- t.test(average[seq_len(bows)], average[bows + seq_len(bows)], var.equal = TRUE)$p.value
    fit <- suppressWarnings(suppressMessages(lmer(y ~ kind + (1 | bow))))
    q <- suppressWarnings(suppressMessages(contest1D(fit, c(0, 1))[["Pr(>|t|)"]]))
    of_averages <- of_averages + (p < 0.05)
    of_model <- of_model + (!is.na(q) && q < 0.05)
    singular <- singular + isSingular(fit)
  }
  cat(paste(c(bows, shots, bow_sd, shot_sd, gap, tests, sprintf("%.6g", c(of_averages, of_model, singular)/tests)),
            collapse = ","), "\n", sep = "")
}
cat("# made by bow_power.R, R ", R.version$major, ".", R.version$minor, ", lmerTest ",
    as.character(packageVersion("lmerTest")), ", seed 1; columns stand there\n", sep = "")
for (bows in 2:4) for (shots in c(3, 5)) for (bow_sd in c(0.5, 1, 2)) study(bows, shots, bow_sd, 1.5, 3, 1000)
study(2, 5, 1, 1.5, 0, 5000)
