# What R's packages make of the questions of methods_bench.cpp: boot with 10 000 resamples, coin's exact test.
folder <- dirname(sub("^--file=", "", grep("^--file=", commandArgs(), value = TRUE)))
source(file.path(folder, "timing.R"))
suppressMessages({
  library(boot)
  library(coin)
  library(data.table)
})
setDTthreads(1)
set.seed(1)

a <- function(n) 190 + (7 * (0:(n - 1))) %% 5
b <- function(n) 188 + (3 * (0:(n - 1))) %% 4

resampled <- function(n, type) {
  speed <- c(a(n), b(n))
  setup <- rep(1:2, each = n)
  gap <- function(x, i) {
    p <- x[i[1:n]]
    q <- x[i[(n + 1):(2 * n)]]
    c(mean(q) - mean(p), (var(p) + var(q)) / n)
  }
  function() {
    found <- boot(speed, if (type == "bca") function(x, i) gap(x, i)[1] else gap, R = 10000, strata = setup)
    interval <- boot.ci(found, type = type)
    interval[[if (type == "bca") "bca" else "student"]][4]
  }
}

dealt <- function(n) {
  speed <- c(a(n), b(n))
  setup <- factor(rep(c("a", "b"), each = n))
  function() as.numeric(pvalue(oneway_test(speed ~ setup, distribution = exact())))
}

i <- 0:49999
text <- paste(c("setup,speed_fps", rbind(sprintf("A,%d", 190L + (7L * i) %% 5L), sprintf("B,%d", 188L + (3L * i) %% 4L))),
              collapse = "\n")

answer_from(list(
  welch_5 = function() t.test(b(5), a(5))$p.value,
  bca_5 = resampled(5, "bca"),
  bca_10 = resampled(10, "bca"),
  bca_30 = resampled(30, "bca"),
  studentised_5 = resampled(5, "stud"),
  studentised_10 = resampled(10, "stud"),
  permutation_8 = dealt(8),
  permutation_12 = dealt(12),
  permutation_20 = dealt(20),
  sheet = function() {
    shots <- fread(text = text)
    t.test(shots[setup == "B", speed_fps], shots[setup == "A", speed_fps])$statistic
  }
))
