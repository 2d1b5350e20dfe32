# Random hospital intercepts by lme4 (glmer, adaptive Gauss-Hermite) for tests/outside/test_hinge_random.py: an age part
# at given turns on invented hospitals, and the pooled share of metadat::dat.pritz1997 (Zhou, Brizendine & Pritz,
# Stat Med 1999;18:557). The log-likelihood is R's own integrate() over each hospital at glmer's estimates, binomial
# coefficients included. Prints JSON; needs lme4 and metadat (Debian: r-cran-lme4, r-cran-metadat).
suppressPackageStartupMessages({ library(lme4); library(metadat) })
hinge <- function(x, t) pmax(x - t, 0)
tight <- glmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-9, maxfun = 1e5), tolPwrss = 1e-12)
exact <- function(eta, y, n, g, tau) {
  sum(sapply(split(seq_along(y), g), function(i) {
    logf <- function(b) sapply(b, function(v) sum(dbinom(y[i], n[i], plogis(eta[i] + v), log = TRUE)) + dnorm(v, 0, tau, log = TRUE))
    top <- optimize(logf, c(-10, 10), maximum = TRUE, tol = 1e-10)
    at <- top$maximum + 6 * (-8:8) * tau / 8
    whole <- sum(sapply(1:16, function(k) integrate(function(b) exp(logf(b) - top$objective), at[k], at[k + 1],
                                                    rel.tol = 1e-11)$value))
    log(whole) + top$objective
  }))
}
averaged <- function(eta, tau) sapply(eta, function(e) {
  integrate(function(b) plogis(e + b) * dnorm(b, 0, tau), -9 * tau, 9 * tau, rel.tol = 1e-11)$value
})
told <- function(f, y, n, g, at) {
  eta <- as.vector(model.matrix(f) %*% fixef(f)); tau <- sqrt(VarCorr(f)[[1]][1])
  c(list(coefficients = unname(fixef(f)), se = unname(sqrt(diag(as.matrix(vcov(f))))), tau = tau,
         modes = unname(ranef(f)[[1]][, 1]), loglik = exact(eta, y, n, g, tau)), at(fixef(f), tau))
}
set.seed(11)
d <- data.frame(hospital = rep(LETTERS[1:8], each = 40), age = rep(seq(1, 79, by = 2), 8))
d$total <- rpois(320, 5)
d <- d[d$total > 0, ]
bias <- setNames(rnorm(8, 0, 0.7), LETTERS[1:8])
d$direct <- rbinom(nrow(d), d$total, plogis(-3 + 0.03 * d$age + 0.05 * hinge(d$age, 15) - 0.05 * hinge(d$age, 45) + bias[d$hospital]))
d$direct[d$hospital == "H"] <- 0
fit <- glmer(cbind(direct, total - direct) ~ age + hinge(age, 15) + hinge(age, 45) + (1 | hospital), d, binomial,
             nAGQ = 25, control = tight)
at <- c(5, 15, 30, 60)
shares <- function(b, tau) {
  eta <- b[1] + b[2] * at + b[3] * hinge(at, 15) + b[4] * hinge(at, 45)
  list(at = at, averaged = averaged(eta, tau), median = unname(plogis(eta)))
}
p <- data.frame(xi = dat.pritz1997$xi, ni = dat.pritz1997$ni, study = factor(seq_len(nrow(dat.pritz1997))))
pool <- glmer(cbind(xi, ni - xi) ~ 1 + (1 | study), p, binomial, nAGQ = 25, control = tight)
out <- list(
  made_with = list(R = R.version.string, lme4 = as.character(packageVersion("lme4")),
                   metadat = as.character(packageVersion("metadat"))),
  hospitals = as.list(d),
  turns = c(15, 45),
  fit = told(fit, d$direct, d$total, d$hospital, shares),
  pritz = as.list(p[, c("xi", "ni")]),
  pool = told(pool, p$xi, p$ni, p$study, function(b, tau) list(averaged = averaged(unname(b), tau)))
)
json <- function(x) {
  if (is.list(x)) {
    paste0("{", paste0('"', names(x), '": ', sapply(x, json), collapse = ",\n"), "}")
  } else {
    v <- if (is.character(x)) paste0('"', x, '"') else format(x, digits = 12, trim = TRUE, scientific = NA)
    if (length(v) == 1) v else paste0("[", paste(v, collapse = ", "), "]")
  }
}
cat(json(out), "\n")
