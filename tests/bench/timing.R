# Sourced by the R side of a topic: answer_from(list of functions) runs the one whose name is the first word of the
# command line and prints the CPU time of one run in nanoseconds and what came out. Second word: seconds to measure for.
answer_from <- function(questions) {
  words <- commandArgs(trailingOnly = TRUE)
  question <- questions[[words[1]]]
  if (is.null(question)) stop("no such question: ", words[1])
  wanted <- as.numeric(words[2])
  begun <- proc.time()[1]
  for (i in 1:20) {  # R compiles a function when it has run twice
    answer <- question()
    if (i >= 2 && proc.time()[1] - begun > 3 * wanted) break
  }
  runs <- 1
  repeat {
    before <- proc.time()
    for (i in seq_len(runs)) question()
    spent <- sum((proc.time() - before)[1:2])  # user and system
    if (spent >= wanted) break
    runs <- runs * 2
  }
  cat(sprintf("%.1f %.10g\n", 1e9 * spent / runs, answer))
}
