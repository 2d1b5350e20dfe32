# Propensities, weights, weighted risks with death competing and weighted hazard ratios of an open trial of three arms
# (survival::colon; Moertel et al, N Engl J Med 1990;322:352), for tests/outside/test_contrast.py. Prints JSON with the
# patients; run by run_all.sh.
suppressPackageStartupMessages({library(survival); library(nnet)})

recurrence <- subset(colon, etype == 1); death <- subset(colon, etype == 2)
death <- death[match(recurrence$id, death$id), ]
d <- with(recurrence, data.frame(arm = as.character(rx), days = time, age = age, sex = sex, obstruct = obstruct,
                                 adhere = adhere, node4 = node4,
                                 outcome = ifelse(status == 1, 1, ifelse(death$status == 1, 2, 0))))
d$arm <- factor(d$arm, levels = c("Obs", "Lev", "Lev+5FU"))

numbers <- function(x) paste0("[", paste(format(x, digits = 15, trim = TRUE, scientific = FALSE), collapse = ", "), "]")
strings <- function(x) paste0('["', paste(x, collapse = '", "'), '"]')
horizons <- c(365, 730, 1826)

risks <- function(data, w) {
  data$w <- w; data$state <- factor(data$outcome, 0:2, c("censored", "recurred", "died"))
  sapply(levels(data$arm), function(a) {
    s <- survfit(Surv(days, state) ~ 1, data = data[data$arm == a, ], weights = w)
    summary(s, times = horizons)$pstate[, which(s$states == "recurred")]
  })
}
hazards <- function(data, w) {
  data$w <- w; data$id <- seq_len(nrow(data))
  f <- coxph(Surv(days, outcome == 1) ~ arm, data = data, weights = w, robust = TRUE, cluster = id, ties = "efron")
  sprintf('{"log": %s, "robust_se": %s}', numbers(coef(f)), numbers(sqrt(diag(f$var))))
}
told <- function(data, e, name) {
  own <- e[cbind(seq_len(nrow(data)), as.integer(data$arm))]
  shares <- as.numeric(prop.table(table(data$arm)))
  overlap <- (1 / own) / rowSums(1 / e)
  all <- shares[as.integer(data$arm)] / own
  sprintf('"%s": {"probability": [%s],\n "place": %s,\n "overlap": %s,\n "all": %s,\n "cox_overlap": %s, "cox_all": %s}', name,
          paste(apply(head(e, 25), 1, numbers), collapse = ", "), numbers(data$place),
          numbers(as.vector(risks(data, overlap))), numbers(as.vector(risks(data, all))),
          hazards(data, overlap), hazards(data, all))
}

common <- function(data) { # patients of ages at which every arm has someone at least as young and someone as old
  low <- max(tapply(data$age, data$arm, min)); high <- min(tapply(data$age, data$arm, max))
  data[data$age >= low & data$age <= high, ]
}

form <- arm ~ age + sex + obstruct + adhere + node4
d$place <- seq_len(nrow(d)) - 1
kept <- common(d)
three <- multinom(form, data = kept, maxit = 10000, abstol = 1e-15, reltol = 1e-16, trace = FALSE)
two <- common(droplevels(subset(d, arm != "Lev")))
logistic <- glm(form, data = two, family = binomial(), control = list(epsilon = 1e-14, maxit = 100))
e2 <- cbind(1 - fitted(logistic), fitted(logistic))
made <- paste0("R ", R.version$major, ".", R.version$minor, "; survival ", packageVersion("survival"),
               "; nnet ", packageVersion("nnet"))
cat(sprintf('{"made_by": "%s",\n"horizons_days": %s,\n"arms": %s,\n"patients": {\n', made, numbers(horizons),
            strings(levels(d$arm))))
cat(paste(c(sprintf('"arm": %s', strings(as.character(d$arm))),
            sapply(c("days", "outcome", "age", "sex", "obstruct", "adhere", "node4"),
                   function(v) sprintf('"%s": %s', v, numbers(d[[v]])))), collapse = ",\n"))
cat("},\n", sprintf('"loglik": %.12g,\n', as.numeric(logLik(three))), told(kept, fitted(three), "three"), ",\n",
    told(two, e2, "two"), "}\n", sep = "")
