# Rscript distributions.R FILE...: R's values; lines as those of distributions.cpp. What R has no function for is left out.
upper <- function(f) function(...) f(..., lower.tail = FALSE)
functions <- list(
  normal_upper_tail = function(x, a, b) upper(pnorm)(x),
  normal_upper_quantile = function(x, a, b) upper(qnorm)(x),
  t_upper_tail = function(x, a, b) upper(pt)(x, a),
  t_upper_quantile = function(x, a, b) upper(qt)(x, a),
  chi_square_lower_tail = function(x, a, b) pchisq(x, a),
  chi_square_upper_tail = function(x, a, b) upper(pchisq)(x, a),
  chi_square_quantile = function(x, a, b) qchisq(x, a),
  chi_square_upper_quantile = function(x, a, b) upper(qchisq)(x, a),
  f_upper_tail = function(x, a, b) upper(pf)(x, a, b),
  f_upper_quantile = function(x, a, b) upper(qf)(x, a, b),
  f_lower_quantile = function(x, a, b) qf(x, a, b),
  range_upper_tail = function(x, a, b) upper(ptukey)(x, a, b),
  range_upper_quantile = function(x, a, b) upper(qtukey)(x, a, b),
  digamma = function(x, a, b) digamma(x),
  trigamma = function(x, a, b) trigamma(x),
  two_sided_t_power = function(x, a, b) {
    critical <- qt(b / 2, a, lower.tail = FALSE)
    pt(critical, a, x, lower.tail = FALSE) + pt(-critical, a, x)
  })
functions$noncentral_t_outside <- functions$two_sided_t_power
number <- function(text) if (is.na(text) || text == "") NA else as.numeric(text)
for (file in commandArgs(trailingOnly = TRUE))
  for (line in grep("^#", readLines(file), value = TRUE, invert = TRUE)) {
    fields <- strsplit(line, ",", fixed = TRUE)[[1]]
    arguments <- fields[-c(1, length(fields))]
    f <- functions[[fields[1]]]
    if (is.null(f)) next
    value <- suppressWarnings(f(number(arguments[1]), number(arguments[2]), number(arguments[3])))
    cat(paste(c("R", fields[1], arguments, sprintf("%.17g", value)), collapse = "\t"), "\n", sep = "")
  }
