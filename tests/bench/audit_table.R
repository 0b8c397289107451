# What a data.table script makes of the table of audit_table_bench.cpp: read, Welch's test from the printed figures as if
# they were exact, written. `at_once` works on whole columns, `row_by_row` calls a function for each row. Nothing is said
# of the readings behind the figures, and averages without SDs have no test.
folder <- dirname(sub("^--file=", "", grep("^--file=", commandArgs(), value = TRUE)))
source(file.path(folder, "timing.R"))
suppressMessages(library(data.table))
setDTthreads(1)

i <- 0:19999
average <- 2500 + 10 * (i * 37) %% 50
gap <- (i * 101) %% 79 - 19
text <- paste(c("shots_1,average_1,sd_1,shots_2,average_2,sd_2",
                sprintf("5,%.1f,%.1f,5,%.1f,%.1f", average / 10, (5 + (i * 53) %% 21) / 10,
                        (average + 2 * gap) / 10, (5 + (i * 61) %% 23) / 10)), collapse = "\n")
written <- tempfile()

welch <- function(n, a, s, m, b, t) {
  v <- s^2 / n
  w <- t^2 / m
  nu <- (v + w)^2 / (v^2 / (n - 1) + w^2 / (m - 1))
  half <- qt(0.975, nu) * sqrt(v + w)
  list(low = b - a - half, high = b - a + half)
}

answer_from(list(
  at_once = function() {
    claims <- fread(text = text)
    claims[, c("low", "high") := welch(shots_1, average_1, sd_1, shots_2, average_2, sd_2)]
    fwrite(claims, written)
    claims[, sum(low > 0)]
  },
  row_by_row = function() {
    claims <- fread(text = text)
    found <- claims[, welch(shots_1, average_1, sd_1, shots_2, average_2, sd_2), by = seq_len(nrow(claims))]
    fwrite(found, written)
    found[, sum(low > 0)]
  }
))
