# Follow-up by R's survival and cmprsk, for tests/outside/test_followup.py. Prints JSON; run by run_all.sh.
# The 6-MP remissions (Freireich 1963, weeks) are typed from memory. Data are printed beside the values made of them.
suppressPackageStartupMessages({ library(survival); library(cmprsk) })

num <- function(v) {
  v <- as.numeric(v)
  text <- format(v, digits = 15, trim = TRUE)
  paste0("[", paste(ifelse(is.finite(v), text, "null"), collapse = ", "), "]")
}
obj <- function(...) { a <- list(...); paste0("{", paste0('"', names(a), '": ', unlist(a), collapse = ",\n "), "}") }
mat <- function(m) paste0("[", paste(apply(as.matrix(m), 1, num), collapse = ", "), "]")

curve <- function(fit, at) {
  s <- summary(fit, times = at)
  obj(at = num(at), survival = num(s$surv), se = num(s$std.err), low = num(s$lower), high = num(s$upper),
      at_risk = num(s$n.risk))
}
km <- function(time, status, at, cluster = NULL) {
  d <- data.frame(time, status)
  fit <- if (is.null(cluster)) survfit(Surv(time, status) ~ 1, d, conf.type = "log-log") else
    survfit(Surv(time, status) ~ 1, d, cluster = cluster, conf.type = "log-log")
  curve(fit, at)
}
cox_of <- function(fit, zph = TRUE) {
  z <- if (zph) lapply(c("km", "identity"), function(g) cox.zph(fit, transform = g)$table[, 1]) else list(0, 0)
  naive <- if (is.null(fit$naive.var)) fit$var else fit$naive.var
  obj(coefficients = num(coef(fit)), se = num(sqrt(diag(naive))), robust_se = num(sqrt(diag(fit$var))),
      loglik = num(fit$loglik), zph_km = num(z[[1]]), zph_identity = num(z[[2]]))
}

six <- c(6, 6, 6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 32, 34, 35)
six_status <- c(1, 1, 1, 0, 1, 0, 1, 0, 0, 1, 1, 0, 0, 0, 1, 1, 0, 0, 0, 0, 0)
placebo <- c(1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23)
mp <- data.frame(time = c(six, placebo), status = c(six_status, rep(1, 21)), arm = rep(0:1, each = 21))

eyes <- diabetic
robust_score <- coxph(Surv(time, status) ~ trt, eyes, ties = "breslow", cluster = id)$rscore

bone <- mgus2
bone$days <- ifelse(bone$pstat == 0, bone$futime, bone$ptime)
bone$what <- ifelse(bone$pstat == 0, 2 * bone$death, 1)
both <- survfit(Surv(days, factor(what, 0:2)) ~ 1, bone)
pairs <- bone$id %/% 2
at <- c(60, 120, 240)
# survival 3.5-3 ignores cluster = here (it returns the naive errors) and its influence array does not sum to its own
# errors, so the infinitesimal jackknife over patients is taken by its definition: R's estimate, its weights moved.
moved <- function(pair, by) {
  w <- ifelse(pairs == pair, 1 + by, 1)
  summary(survfit(Surv(days, factor(what, 0:2)) ~ 1, bone, weights = w, se.fit = FALSE), times = at)$pstate[, 2:3]
}
over_pairs <- sqrt(Reduce(`+`, lapply(unique(pairs), function(p) ((moved(p, 1e-3) - moved(p, -1e-3)) / 2e-3)^2)))
gray <- timepoints(cuminc(bone$days, bone$what), at)
b <- summary(both, times = at)

l <- na.omit(lung[, c("time", "status", "age", "sex", "ph.ecog", "inst")])
l$w <- 0.5 + (l$age %% 7) / 5
weighted <- coxph(Surv(time, status) ~ age + sex + ph.ecog, l, weights = w, cluster = inst)
stratified <- coxph(Surv(time, status) ~ age + ph.ecog + strata(sex), l)
stratified_breslow <- coxph(Surv(time, status) ~ age + ph.ecog + strata(sex), l, ties = "breslow")
weighted_km <- survfit(Surv(time, status) ~ 1, l, weights = w, cluster = inst, conf.type = "log-log")
test <- function(formula, d) { s <- survdiff(formula, d); obj(chi2 = num(s$chisq), expected = num(rowSums(as.matrix(s$exp)))) }

found <- data.frame(left = c(0, 15, 17, 0, 12.5, 4, 0, 21, 9, 30), right = c(7, Inf, 25, 5, 20, 11, 8, Inf, 12, Inf))
t_fit <- survfit(Surv(found$left, found$right, type = "interval2") ~ 1)

cat(obj(
  made_by = paste0('"R ', R.version$major, ".", R.version$minor, ", survival ", packageVersion("survival"),
                   ", cmprsk ", packageVersion("cmprsk"), '"'),
  aml = obj(time = num(aml$time), status = num(aml$status), km = km(aml$time, aml$status, c(9, 23, 48))),
  six_mp = obj(time = num(mp$time), status = num(mp$status), arm = num(mp$arm),
               km = km(six, six_status, c(6, 10, 22, 23)), log_rank = test(Surv(time, status) ~ arm, mp),
               efron = cox_of(coxph(Surv(time, status) ~ arm, mp)),
               breslow = cox_of(coxph(Surv(time, status) ~ arm, mp, ties = "breslow"))),
  diabetic = obj(id = num(eyes$id), time = num(eyes$time), status = num(eyes$status), trt = num(eyes$trt),
                 age = num(eyes$age), alone = km(eyes$time, eyes$status, c(12, 48, 60)),
                 robust = km(eyes$time, eyes$status, c(12, 48, 60), eyes$id),
                 log_rank = test(Surv(time, status) ~ trt, eyes), robust_score = num(robust_score),
                 cox = cox_of(coxph(Surv(time, status) ~ trt, eyes, cluster = id)),
                 cox_age = cox_of(coxph(Surv(time, status) ~ trt + age, eyes, cluster = id)),
                 ended = num(quantile(survfit(Surv(time, 1 - status) ~ 1, eyes, conf.type = "log-log"),
                                      c(0.25, 0.5, 0.75))$quantile),
                 ended_limits = num(unlist(quantile(survfit(Surv(time, 1 - status) ~ 1, eyes, conf.type = "log-log"),
                                                    0.5)[c("lower", "upper")]))),
  mgus2 = obj(id = num(bone$id), time = num(bone$days), what = num(bone$what), at = num(at),
              share = mat(b$pstate[, 2:3]), se = mat(b$std.err[, 2:3]), robust_se = mat(over_pairs),
              cmprsk = mat(t(gray$est))),
  lung = obj(time = num(l$time), status = num(l$status - 1), age = num(l$age), sex = num(l$sex),
             ecog = num(l$ph.ecog), inst = num(l$inst), w = num(l$w), weighted = cox_of(weighted, FALSE),
             stratified = cox_of(stratified), stratified_breslow = cox_of(stratified_breslow),
             three = test(Surv(time, status) ~ pmin(ph.ecog, 2), l),
             by_sex = test(Surv(time, status) ~ pmin(ph.ecog, 2) + strata(sex), l),
             weighted_km = curve(weighted_km, c(100, 300, 700))),
  found = obj(left = num(found$left), right = num(found$right), time = num(t_fit$time), survival = num(t_fit$surv))
), "\n", sep = "")
