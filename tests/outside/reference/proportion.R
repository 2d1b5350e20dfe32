# Limits of shares and of their differences, for tests/outside/test_proportion.py. Prints JSON; run by run_all.sh.
# Wilson's and Clopper and Pearson's are R's own; Miettinen and Nurminen's are coded here from the definition, with
# the maximum under a given difference found by optimize(), not by the closed form.

score <- function(d, a, n, b, m) {
  low <- max(0, -d); high <- min(1, 1 - d)
  loglik <- function(q) {
    p <- pmin(pmax(q + d, 0), 1)
    f <- function(x, y) ifelse(x == 0, 0, x * log(y))
    f(a, p) + f(n - a, 1 - p) + f(b, q) + f(m - b, 1 - q)
  }
  q <- optimize(loglik, c(low, high), maximum = TRUE, tol = 1e-13)$maximum
  for (end in c(low, high)) if (loglik(end) > loglik(q)) q <- end
  p <- q + d
  v <- (p * (1 - p) / n + q * (1 - q) / m) * (n + m) / (n + m - 1)
  (a / n - b / m - d) / sqrt(v)
}
miettinen <- function(a, n, b, m, z = qnorm(0.975)) {
  d <- a / n - b / m
  edge <- 1e-9
  c(uniroot(function(x) score(x, a, n, b, m) - z, c(-1 + edge, d - edge), tol = 1e-12)$root,
    uniroot(function(x) score(x, a, n, b, m) + z, c(d + edge, 1 - edge), tol = 1e-12)$root)
}
one <- function(x, n) {
  w <- prop.test(x, n, correct = FALSE)$conf.int
  e <- binom.test(x, n)$conf.int
  sprintf('{"events": %d, "total": %d, "wilson": [%.12g, %.12g], "clopper_pearson": [%.12g, %.12g]}',
          x, n, w[1], w[2], e[1], e[2])
}
two <- function(a, n, b, m) {
  l <- miettinen(a, n, b, m)
  sprintf('{"events": %d, "total": %d, "other_events": %d, "other_total": %d, "miettinen_nurminen": [%.12g, %.12g]}',
          a, n, b, m, l[1], l[2])
}

set.seed(1927)
n <- sample(1:2000, 60, TRUE); x <- sapply(n, function(k) rbinom(1, k, runif(1)^3))
shares <- suppressWarnings(mapply(one, c(81L, 15L, 0L, 1L, 0L, 7L, 16L, as.integer(x)),
                                  c(263L, 148L, 20L, 29L, 347L, 596L, 267L, as.integer(n))))
n <- sample(5:900, 40, TRUE); m <- sample(5:900, 40, TRUE)
a <- mapply(function(k) rbinom(1, k, runif(1)^2), n); b <- mapply(function(k) rbinom(1, k, runif(1)^2), m)
a[1:4] <- 0L; b[3:6] <- 0L
differences <- mapply(two, c(56L, 9L, 5L, 0L, a), c(70L, 10L, 56L, 10L, n), c(48L, 3L, 0L, 0L, b), c(80L, 10L, 29L, 10L, m))
cat('{"made_by": "R ', paste(R.version$major, R.version$minor, sep = "."), ' (stats)",\n"shares": [\n',
    paste(shares, collapse = ",\n"), '],\n"differences": [\n', paste(differences, collapse = ",\n"), "]}\n", sep = "")
