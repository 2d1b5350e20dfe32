# Bandwidth and humps of a kernel density by R, for tests/outside/test_ages.py. Prints JSON; run by run_all.sh.
# The density is the plain sum of normal densities; its humps and troughs are found by optimize().

density_of <- function(x, h) function(at) sapply(at, function(a) mean(dnorm(a, x, h)))
row <- function(name, x) {
  h <- bw.nrd0(x)
  f <- density_of(x, h)
  at <- seq(min(x) - 3 * h, max(x) + 3 * h, length.out = 4000)
  y <- f(at)
  turn <- diff(sign(diff(y)))
  refine <- function(i, top) optimize(f, at[i + 1] + c(-1, 1) * (at[2] - at[1]), maximum = top, tol = 1e-9)[[1]]
  humps <- sapply(which(turn < 0), refine, TRUE); troughs <- sapply(which(turn > 0), refine, FALSE)
  list_of <- function(v) paste0("[", paste(sprintf("%.9g", v), collapse = ", "), "]")
  sprintf('{"name": "%s", "x": %s, "bandwidth": %.12g, "humps": %s, "heights": %s, "troughs": %s}', name,
          list_of(x), h, list_of(humps), list_of(f(humps)), list_of(troughs))
}
rows <- c(row("datasets::faithful$eruptions", faithful$eruptions), row("datasets::faithful$waiting", faithful$waiting))
cat('{"made_by": "R ', paste(R.version$major, R.version$minor, sep = "."), ' (stats, datasets)",\n"rows": [\n',
    paste(rows, collapse = ",\n"), "]}\n", sep = "")
