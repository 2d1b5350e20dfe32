# Dips and their p-values by R's diptest, for tests/outside/test_ages.py. Prints JSON; run by run_all.sh.
suppressPackageStartupMessages(library(diptest))

vector <- function(x) paste0("[", paste(format(x, digits = 15, trim = TRUE), collapse = ", "), "]")
case <- function(name, x) {
  p <- suppressWarnings(dip.test(x)$p.value)
  sprintf('{"name": "%s", "x": %s, "dip": %.15g, "p": %.15g}', name, vector(x), dip(x), p)
}

data(statfaculty)
set.seed(1985)
made <- list(
  case("datasets::faithful$eruptions", faithful$eruptions),
  case("diptest::statfaculty", statfaculty)
)
for (i in 1:20) {
  n <- sample(5:120, 1)
  x <- signif(switch(1 + i %% 4, runif(n), rnorm(n), c(rnorm(n), rnorm(n, 4)), rexp(n)), 9)
  made <- c(made, list(case(paste("untied", i), x)))
}
for (i in 1:20) {
  n <- sample(5:120, 1)
  x <- round(switch(1 + i %% 4, 40 * runif(n), 8 * rnorm(n), c(5 * rnorm(n), 30 + 9 * rnorm(n)), 10 * rexp(n)))
  made <- c(made, list(case(paste("tied", i), x)))
}
data(qDiptab)
upper <- sprintf('{"n": %s, "q": %.15g}', rownames(qDiptab), qDiptab[, "0.95"])
cat('{"made_by": "R ', paste(R.version$major, R.version$minor, sep = "."), ", diptest ",
    as.character(packageVersion("diptest")), '",\n"cases": [\n', paste(made, collapse = ",\n"),
    '],\n"quantile_95_of_uniform": [', paste(upper, collapse = ", "), "]}\n", sep = "")
