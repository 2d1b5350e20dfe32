# Critical bandwidths and smoothed-bootstrap p-values, for tests/outside/test_ages.py. Prints JSON; run by run_all.sh.
# Coded from the definition: the density is a plain sum of normal densities at each point of a grid, each replicate is
# drawn case by case and scaled to the variance seen; nothing is binned or transformed.

chondrite <- c(20.77, 22.56, 22.71, 22.99, 26.39, 27.08, 27.32, 27.33, 27.57, 27.81, 28.69, 29.36, 30.25, 31.89,
               32.88, 33.23, 33.28, 33.40, 33.52, 33.83, 33.95, 34.82)

modes <- function(x, h) {
  at <- seq(min(x) - 3 * h, max(x) + 3 * h, length.out = 800)
  s <- sign(diff(rowSums(outer(at, x, function(a, b) dnorm(a, b, h)))))
  s <- s[s != 0]
  sum(diff(s) < 0)
}
critical <- function(x, k) {
  low <- 1e-3; high <- diff(range(x))
  while (high - low > 1e-6) {
    h <- (low + high) / 2
    if (modes(x, h) <= k) high <- h else low <- h
  }
  high
}
p <- function(x, k, b = 2000) {
  h <- critical(x, k)
  v <- mean((x - mean(x))^2)
  mean(replicate(b, {
    y <- sample(x, replace = TRUE) + h * rnorm(length(x))
    y <- mean(x) + (y - mean(x)) / sqrt(1 + h^2 / v)
    modes(y, h) > k
  }))
}
set.seed(1981)
row <- function(name, x, k) {
  sprintf('{"name": "%s", "x": [%s], "modes": %d, "bandwidth": %.10g, "p": %.10g, "replicates": 2000}', name,
          paste(x, collapse = ", "), k, critical(x, k), p(x, k))
}
rows <- c(sapply(1:3, function(k) row("chondrite", chondrite, k)),
          row("datasets::precip", as.numeric(precip), 1),
          sapply(1:2, function(k) row("datasets::faithful$eruptions, first 100", faithful$eruptions[1:100], k)))
cat('{"made_by": "R ', paste(R.version$major, R.version$minor, sep = "."), ' (stats, datasets)",\n"rows": [\n',
    paste(rows, collapse = ",\n"), "]}\n", sep = "")
