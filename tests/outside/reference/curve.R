# Penalised B-splines with REML smoothness by R's mgcv, for tests/outside/test_curve.py. Prints JSON:
#   Rscript curve.R > curve.json
suppressPackageStartupMessages({ library(mgcv); library(segmented) })
vector <- function(x) paste0("[", paste(format(x, digits = 15, trim = TRUE), collapse = ", "), "]")

knots_for <- function(age, size) {
  step <- (max(age) - min(age)) / (size - 3)
  k <- min(age) + step * (-3:size)
  k[4] <- min(age); k[size + 1] <- max(age)
  k
}

# Every case a row of its own, in the order of the table: direct cases first. Two neighbours are one patient.
# The likelihood part of mgcv's Bayesian covariance by summed scores of patients, from mgcv's own pieces
# (its vcov(sandwich = TRUE) takes rows for patients and forgets the weights of a grouped response).
robust_se <- function(fit, d, new) {
  x <- predict(fit, d, type = "lpmatrix")
  row <- rep(seq_len(nrow(d)), d$n)
  seen <- unlist(lapply(seq_len(nrow(d)), function(i) rep(c(1, 0), c(d$y[i], d$n[i] - d$y[i]))))
  score <- (seen - fit$fitted.values[row]) * x[row, ]
  by_patient <- rowsum(score, (seq_along(row) - 1) %/% 2)
  v <- fit$Vp %*% crossprod(by_patient) %*% fit$Vp + fit$Vp - fit$Ve
  at <- predict(fit, new, type = "lpmatrix")
  sqrt(rowSums((at %*% v) * at))
}

# One smoothness throughout: mgcv's own B-spline with the integrated squared second derivative.
one <- function(name, d, size) {
  several <- nlevels(d$hospital) > 1
  formula <- if (several) cbind(y, n - y) ~ hospital - 1 + s(age, bs = "bs", m = c(3, 2), k = size) else
    cbind(y, n - y) ~ s(age, bs = "bs", m = c(3, 2), k = size)
  fit_at <- function(sp = NULL) gam(formula, family = binomial, data = d, method = "REML", sp = sp,
    knots = list(age = knots_for(d$age, size)),
    control = gam.control(scalePenalty = FALSE, epsilon = 1e-11, newton = list(conv.tol = 1e-9)))
  fit <- fit_at()
  new <- data.frame(age = seq(min(d$age), max(d$age), length.out = 25), hospital = levels(d$hospital)[1])
  p <- predict(fit, new, se.fit = TRUE)
  fine <- data.frame(age = seq(min(d$age), max(d$age), length.out = 200), hospital = levels(d$hospital)[1])
  x <- predict(fit, fine, type = "lpmatrix")
  set.seed(2003)
  draws <- rmvn(100000, rep(0, ncol(x)), vcov(fit))
  t <- abs(draws %*% t(x)) / rep(sqrt(rowSums((x %*% vcov(fit)) * x)), each = nrow(draws))
  fixed <- c(fit$sp / 20, fit$sp, fit$sp * 50)
  at <- lapply(fixed, fit_at)
  sprintf('{"name": "%s", "size": %d, "age": %s, "y": %s, "n": %s, "hospital": %s, "smoothness": %.15g, "edf": %.15g,
 "reml": %s, "fixed": %s, "fixed_edf": %s, "new_age": %s, "link": %s, "se": %s, "robust_se": %s, "simultaneous": %.15g}',
    name, size, vector(d$age), vector(d$y), vector(d$n), vector(as.integer(d$hospital)), fit$sp,
    sum(fit$edf) - nlevels(d$hospital), vector(sapply(at, function(f) as.numeric(f$gcv.ubre))), vector(fixed),
    vector(sapply(at, function(f) sum(f$edf)) - nlevels(d$hospital)), vector(new$age),
    vector(as.numeric(p$fit)), vector(as.numeric(p$se.fit)), if (several) vector(robust_se(fit, d, new)) else "[]",
    quantile(apply(t, 1, max), 0.95))
}

# Smoothness that differs by age: the same penalty cut into hats, each with its own multiplier, by paraPen.
several <- function(name, d, size, places) {
  k <- knots_for(d$age, size)
  design <- function(a, deriv = 0) splines::splineDesign(k, a, 4, derivs = rep(deriv, length(a)))
  tops <- seq(min(d$age), max(d$age), length.out = places)
  edges <- sort(unique(c(k[4:(size + 1)], tops)))
  fine <- sort(unique(c(edges, unlist(lapply(seq_along(edges)[-1], function(i)
    seq(edges[i - 1], edges[i], length.out = 401))))))
  mid <- (fine[-1] + fine[-length(fine)]) / 2
  width <- diff(fine)
  keep <- width > 1e-9
  mid <- mid[keep]; width <- width[keep]
  second <- design(mid, 2)
  hats <- sapply(seq_len(places), function(i) approx(tops, as.numeric(seq_len(places) == i), mid)$y)
  b <- design(d$age)
  z <- qr.Q(qr(matrix(colSums(b * d$n))), complete = TRUE)[, -1]
  cost <- lapply(seq_len(places), function(i) t(z) %*% crossprod(second * sqrt(width * hats[, i])) %*% z)
  d$x <- b %*% z
  formula <- if (nlevels(d$hospital) > 1) cbind(y, n - y) ~ hospital - 1 + x else cbind(y, n - y) ~ x
  fit <- gam(formula, paraPen = list(x = cost), family = binomial, data = d,
    method = "REML", control = gam.control(scalePenalty = FALSE, epsilon = 1e-11,
    newton = list(conv.tol = 1e-9, maxNstep = 8)))
  sprintf('{"name": "%s", "size": %d, "places": %d, "age": %s, "y": %s, "n": %s, "hospital": %s, "smoothness": %s,
 "edf": %.15g, "fitted_link": %s, "reml": %.15g}', name, size, places, vector(d$age), vector(d$y), vector(d$n),
    vector(as.integer(d$hospital)), vector(fit$sp), sum(fit$edf) - nlevels(d$hospital),
    vector(as.numeric(fit$linear.predictors)), as.numeric(fit$gcv.ubre))
}

data(down)
births <- data.frame(age = down$age, y = down$cases, n = down$births, hospital = factor(1))
set.seed(1906)
made <- expand.grid(age = seq(0.5, 89.5, by = 1), hospital = factor(1:3))
logit <- approx(c(0, 14, 19, 40, 70, 90), c(-4.6, -4.0, -1.9, -1.5, -0.1, 0.4), made$age)$y
made$n <- rpois(nrow(made), 60)
made$n[made$hospital == 1 & made$age > 18] <- 0
made$n[made$hospital == 2 & made$age < 15] <- 0
made$y <- rbinom(nrow(made), made$n, plogis(logit + c(-0.2, 0, 0.2)[made$hospital]))
made <- made[made$n > 0, ]
cat('{"made_by": "R ', paste(R.version$major, R.version$minor, sep = "."), ", mgcv ",
    as.character(packageVersion("mgcv")), ", segmented ", as.character(packageVersion("segmented")), '",\n',
    '"one": [\n', one("segmented::down", births, 12), ",\n", one("made, three hospitals", made, 20), "],\n",
    '"several": [\n', several("segmented::down", births, 12, 2), ",\n", several("made, three hospitals", made, 24, 3),
    "]}\n", sep = "")
