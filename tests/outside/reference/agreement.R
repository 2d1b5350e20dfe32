# Kappas by R's vcd and by definitions coded apart, for tests/outside/test_agreement.py. Prints JSON; run by run_all.sh.
# Cohen's kappas and their errors by vcd::Kappa (psych 2.2.9 has another error for weighted ones); Fleiss' kappa coded over pairs of readers of each groin, its
# error by leaving out one groin at a time; sensitivity and specificity by prop.test.
suppressPackageStartupMessages(library(vcd))

vector <- function(x) paste0("[", paste(sprintf("%.15g", x), collapse = ", "), "]")
matrix_of <- function(m) paste0("[", paste(apply(m, 1, vector), collapse = ", "), "]")

two <- function(m) {
  a <- Kappa(m); b <- Kappa(m, weights = "Fleiss-Cohen")
  sprintf('{"table": %s, "kappa": %.15g, "se": %.15g, "quadratic": %.15g, "quadratic_se": %.15g, "linear": %.15g, "linear_se": %.15g}',
          matrix_of(m), a$Unweighted[1], a$Unweighted[2], b$Weighted[1], b$Weighted[2], a$Weighted[1], a$Weighted[2])
}
fleiss <- function(x) {
  alike <- mean(apply(x, 1, function(r) { y <- rep(seq_along(r), r); p <- combn(length(y), 2); mean(y[p[1, ]] == y[p[2, ]]) }))
  share <- colMeans(x / rowSums(x))
  (alike - sum(share^2)) / (1 - sum(share^2))
}
many <- function(x) {
  out <- sapply(1:nrow(x), function(i) fleiss(x[-i, ])); n <- nrow(x)
  each <- sapply(1:ncol(x), function(j) fleiss(cbind(x[, j], rowSums(x[, -j, drop = FALSE]))))
  sprintf('{"counts": %s, "kappa": %.15g, "jackknife_se": %.15g, "by_answer": %s}', matrix_of(x), fleiss(x),
          sqrt((n - 1) / n * sum((out - mean(out))^2)), vector(each))
}
rate <- function(x, n) {
  l <- suppressWarnings(prop.test(x, n, correct = FALSE)$conf.int)
  sprintf('{"right": %d, "of": %d, "low": %.15g, "high": %.15g}', x, n, l[1], l[2])
}
set.seed(1971)
tables <- c(list(matrix(c(40, 6, 5, 9), 2)), lapply(1:12, function(i) {
  k <- sample(2:5, 1); p <- matrix(runif(k * k), k) + diag(runif(1, 0, 5), k)
  matrix(rmultinom(1, sample(30:400, 1), p), k)
}))
diagnoses <- matrix(c(0,0,0,6,0, 0,3,0,0,3, 0,1,4,0,1, 0,0,0,0,6, 0,3,0,3,0, 2,0,4,0,0, 0,0,4,0,2, 2,0,3,1,0, 2,0,0,4,0, 0,0,0,0,6,
                      1,0,0,5,0, 1,1,0,4,0, 0,3,3,0,0, 1,0,0,5,0, 0,2,0,3,1, 0,0,5,0,1, 3,0,0,1,2, 5,1,0,0,0, 0,2,0,4,0, 1,0,2,0,3,
                      0,0,0,0,6, 0,1,0,5,0, 0,2,0,1,3, 2,0,0,4,0, 1,0,0,4,1, 0,5,0,1,0, 4,0,0,0,2, 0,2,0,4,0, 1,0,5,0,0, 0,0,0,0,6), ncol = 5, byrow = TRUE)
counts <- c(list(diagnoses), lapply(1:6, function(i) {
  k <- sample(2:4, 1); n <- sample(20:200, 1)
  t(sapply(1:n, function(j) rmultinom(1, if (i %% 2) 3 else sample(2:6, 1), rgamma(k, 0.4) + 0.02)))
}))
cat('{"made_by": "R ', paste(R.version$major, R.version$minor, sep = "."), ", vcd ", as.character(packageVersion("vcd")),
    '",\n"two": [\n', paste(sapply(tables, two), collapse = ",\n"), '],\n"many": [\n', paste(sapply(counts, many), collapse = ",\n"),
    '],\n"rates": [\n', paste(mapply(rate, c(18L, 99L, 0L, 20L), c(20L, 100L, 15L, 20L)), collapse = ",\n"), "]}\n", sep = "")
