# Pooled shares, rates and effects, control limits and Fisher's P by R, for tests/outside/test_pooling.py and
# test_fragility.py. Prints JSON; run by run_all.sh. metafor's own example data; metafor's rma.glmm and lme4's glmer stop
# when their optimisers are content (about 1e-5), so the same likelihood is also maximised over R's adaptive
# integrate(), which is the referee to six digits.
suppressPackageStartupMessages({library(metafor); library(lme4); library(jsonlite)})

adaptive <- function(x, n, family) {
  one <- function(mu, tau, x, n) {
    f <- function(z) {
      th <- mu + tau * z
      if (family == "binomial") dbinom(x, n, plogis(th), log = TRUE) + dnorm(z, log = TRUE)
      else dpois(x, n * exp(th), log = TRUE) + dnorm(z, log = TRUE)
    }
    top <- optimize(f, c(-12, 12), maximum = TRUE, tol = 1e-10)
    sd <- 1 / sqrt(max(1, -(f(top$maximum + 1e-3) - 2 * f(top$maximum) + f(top$maximum - 1e-3)) / 1e-6))
    edges <- top$maximum + sd * c(-12, -6, -3, 0, 3, 6, 12)
    parts <- sapply(1:6, function(i) integrate(function(z) exp(f(z) - top$objective), edges[i], edges[i + 1],
                                               rel.tol = 1e-12, abs.tol = 0, subdivisions = 500)$value)
    top$objective + log(sum(parts))
  }
  loglik <- function(mu, tau) sum(mapply(function(a, b) one(mu, tau, a, b), x, n))
  start <- if (family == "binomial") qlogis(sum(x) / sum(n)) else log(sum(x) / sum(n))
  fit <- optim(c(start, 0.5), function(p) -loglik(p[1], abs(p[2])), control = list(reltol = 1e-15, maxit = 2000))
  fit <- optim(c(fit$par[1], abs(fit$par[2])), function(p) -loglik(p[1], abs(p[2])), control = list(reltol = 1e-16, maxit = 2000))
  best <- -fit$value; mu <- fit$par[1]; tau <- abs(fit$par[2])
  over_tau <- function(m) optimize(function(t) loglik(m, t), c(0, 4), maximum = TRUE, tol = 1e-9)$objective
  over_mu <- function(t) optimize(function(m) loglik(m, t), c(mu - 3, mu + 3), maximum = TRUE, tol = 1e-9)$objective
  cut <- best - qchisq(0.95, 1) / 2
  root <- function(f, a, b) uniroot(function(v) f(v) - cut, c(a, b), tol = 1e-9)$root
  out <- list(level = mu, tau2 = tau^2, loglik = best, low = root(over_tau, mu - 4, mu), high = root(over_tau, mu, mu + 4))
  out$tau2_low <- if (over_mu(0) >= cut) 0 else root(over_mu, 0, tau)^2
  out$tau2_high <- root(over_mu, tau, 4)^2
  out
}

d <- metadat::dat.pritz1997
g <- rma.glmm(measure = "PLO", xi = xi, ni = ni, data = d, nAGQ = 51)
d$id <- seq_len(nrow(d))
l <- glmer(cbind(xi, ni - xi) ~ 1 + (1 | id), data = d, family = binomial, nAGQ = 25)
p <- predict(g, transf = transf.ilogit)
tight <- list(threshold = 1e-12, maxiter = 1000)
z <- rma(measure = "PLO", xi = xi, ni = ni, data = d, control = tight)
t <- rma(measure = "PLO", xi = xi, ni = ni, data = d, test = "knha", control = tight)
effects <- function(m, t) {
  q <- confint(m, control = list(tol = 1e-12))$random
  pz <- predict(m); pt <- predict(t); o <- leave1out(m)
  list(effect = as.numeric(m$beta), se = m$se, tau2 = m$tau2, i2 = m$I2 / 100, q = m$QE, q_p = m$QEp, z = c(m$ci.lb, m$ci.ub),
       hk = c(t$ci.lb, t$ci.ub), tau2_limits = as.numeric(q["tau^2", 2:3]), prediction_z = c(pz$pi.lb, pz$pi.ub),
       prediction_hk = c(pt$pi.lb, pt$pi.ub), left_out = list(effect = o$estimate, low = o$ci.lb, high = o$ci.ub, tau2 = o$tau2),
       estimates = as.numeric(m$yi), ses = sqrt(m$vi), weights = as.numeric(weights(m)) / 100)
}
# a rare event in twelve made-up hospitals, two of them without one
rare <- list(x = c(3, 0, 5, 1, 9, 2, 0, 4, 1, 14, 2, 6), n = c(210, 96, 388, 150, 402, 61, 120, 515, 88, 450, 300, 260))
years <- list(x = rare$x, n = c(800.5, 310, 1500, 420, 1333, 250, 410, 2100, 300.25, 1700, 950, 870))
b <- escalc(measure = "RR", ai = tpos, bi = tneg, ci = cpos, di = cneg, data = metadat::dat.bcg)
bz <- rma(yi, vi, data = b, control = tight); bt <- rma(yi, vi, data = b, test = "knha", control = tight)

bounds <- function(n, theta) {
  one <- function(prob) { r <- qbinom(prob, n, theta)
    max(0, (r - (pbinom(r, n, theta) - prob) / dbinom(r, n, theta)) / n) }
  list(n = n, centre = theta, limits = sapply(c(0.025, 0.975, 0.001, 0.999), one))
}
funnel <- unlist(lapply(c(0.005, 0.02, 0.3), function(th) lapply(c(5, 30, 100, 347, 2500), bounds, theta = th)), recursive = FALSE)
tables <- list(c(1, 100, 9, 100), c(200, 4000, 250, 4000), c(0, 30, 4, 29), c(18, 947, 84, 9856), c(7, 7, 2, 9), c(5, 50, 5, 50))
fisher <- lapply(tables, function(v) list(table = v, p = fisher.test(matrix(c(v[1], v[2] - v[1], v[3], v[4] - v[3]), 2))$p.value))

cat(toJSON(list(
  made_by = sprintf("R %s.%s, metafor %s, metadat %s, lme4 %s", R.version$major, R.version$minor, packageVersion("metafor"),
                    packageVersion("metadat"), packageVersion("lme4")),
  pritz = list(x = d$xi, n = d$ni, integrate = adaptive(d$xi, d$ni, "binomial"),
    rma_glmm = list(level = as.numeric(g$beta), se = g$se, tau2 = g$tau2, low = g$ci.lb, high = g$ci.ub, lrt = g$QE.LRT,
                    lrt_p = g$QEp.LRT, share = c(p$pred, p$ci.lb, p$ci.ub), prediction = c(p$pi.lb, p$pi.ub)),
    glmer = list(level = as.numeric(fixef(l)), se = sqrt(as.numeric(vcov(l))), tau2 = as.numeric(VarCorr(l)$id)),
    reml = effects(z, t)),
  rare = c(rare, list(integrate = adaptive(rare$x, rare$n, "binomial"))),
  rates = c(years, list(integrate = adaptive(years$x, years$n, "poisson"), rma_glmm = (function() {
    r <- rma.glmm(measure = "IRLN", xi = years$x, ti = years$n, nAGQ = 51); list(level = as.numeric(r$beta), se = r$se, tau2 = r$tau2) })())),
  bcg = effects(bz, bt), funnel = funnel, fisher = fisher), digits = 15, auto_unbox = TRUE), "\n")
