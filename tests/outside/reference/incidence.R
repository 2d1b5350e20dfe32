# Exact Poisson limits and directly standardised rates by R, for tests/outside/test_incidence.py. Prints JSON; run by
# run_all.sh. The first example is that of epitools' help page (Fay and Feuer's limits).
suppressPackageStartupMessages(library(epitools))

list_of <- function(x) paste0("[", paste(format(x, digits = 15, trim = TRUE, scientific = FALSE), collapse = ", "), "]")
adjusted <- function(cases, pop, standard) {
  r <- ageadjust.direct(cases, pop, stdpop = standard)
  sprintf('{"cases": %s, "person_years": %s, "standard": %s, "crude": %.15g, "rate": %.15g, "low": %.15g, "high": %.15g}',
          list_of(cases), list_of(pop), list_of(standard), r[1], r[2], r[3], r[4])
}
set.seed(1997)
made <- adjusted(c(107, 141, 60, 40, 39, 25), c(230061, 329449, 114920, 39487, 14208, 3052),
                 c(319933, 931318, 786511, 488235, 237863, 61313))
for (i in 1:15) {
  k <- sample(2:20, 1)
  pop <- round(exp(runif(k, 4, 12)))
  made <- c(made, adjusted(rpois(k, pop * exp(runif(k, -9, -5))) + (seq_len(k) == 1), pop, round(exp(runif(k, 4, 9)))))
}
counts <- c(0, 1, 2, 5, 17, 120, 3000)
poisson <- sapply(counts, function(x) {
  l <- poisson.test(x, 1)$conf.int
  sprintf('{"cases": %d, "low": %.15g, "high": %.15g}', x, l[1], l[2])
})
cat('{"made_by": "R ', paste(R.version$major, R.version$minor, sep = "."), ", epitools ",
    as.character(packageVersion("epitools")), '",\n"adjusted": [\n', paste(made, collapse = ",\n"),
    '],\n"poisson": [', paste(poisson, collapse = ", "), "]}\n", sep = "")
