# One and two turns by brute force with glm on segmented::down (mothers' age and Down's syndrome; Davison & Hinkley,
# Bootstrap Methods and their Application, 1997), beside segmented's own answer; a Poisson and a two-hospital fit at
# given turns with naive errors. Prints JSON; needs segmented.
suppressPackageStartupMessages(library(segmented))
data(down)
d <- data.frame(age = down$age, cases = down$cases, births = down$births)
d$share <- d$cases / d$births
hinge <- function(x, t) pmax(x - t, 0)
fit1 <- function(t) glm(cbind(cases, births - cases) ~ age + hinge(age, t), binomial, d)
fit2 <- function(t) glm(cbind(cases, births - cases) ~ age + hinge(age, t[1]) + hinge(age, t[2]), binomial, d,
                        control = glm.control(epsilon = 1e-14, maxit = 100))
ll <- function(f) as.numeric(logLik(f))
low <- min(d$age) + 2; high <- max(d$age) - 2
grid <- seq(low, high, by = 0.02)
one <- sapply(grid, function(t) ll(fit1(t)))
best1 <- optimize(function(t) ll(fit1(t)), grid[which.max(one)] + c(-0.02, 0.02), maximum = TRUE, tol = 1e-8)
cut <- qchisq(0.95, 1) / 2
inside <- grid[one >= best1$objective - cut]
edge <- function(a, b) uniroot(function(t) ll(fit1(t)) - best1$objective + cut, c(a, b), tol = 1e-8)$root
profile <- c(edge(min(inside) - 0.02, min(inside)), edge(max(inside), max(inside) + 0.02))
coarse <- seq(low, high, by = 0.25)
pairs <- expand.grid(a = coarse, b = coarse); pairs <- pairs[pairs$b - pairs$a >= 2, ]
two <- apply(pairs, 1, function(p) ll(fit2(as.numeric(p))))
top <- as.numeric(pairs[which.max(two), ])
for (step in c(0.05, 0.01, 0.002, 0.0005)) {
  near <- expand.grid(a = top[1] + step * (-8:8), b = top[2] + step * (-8:8))
  near <- near[near$b - near$a >= 2, ]
  values <- apply(near, 1, function(p) ll(fit2(as.numeric(p))))
  top <- as.numeric(near[which.max(values), ])
}
seg <- segmented(glm(share ~ age, binomial, d, weights = births), seg.Z = ~age, psi = 30)
at <- fit1(31)
pois <- glm(cases ~ age + hinge(age, 31) + offset(log(births)), poisson, d)
set.seed(7)
h <- data.frame(hospital = rep(c("A", "B"), each = 40), age = rep(seq(1, 79, by = 2), 2))
h$total <- rpois(80, 30)
h$direct <- rbinom(80, h$total, plogis(-3 + 0.02 * h$age + 0.06 * hinge(h$age, 20) + 0.5 * (h$hospital == "B")))
hosp <- glm(cbind(direct, total - direct) ~ 0 + hospital + age + hinge(age, 20), binomial, h)
summaryof <- function(f) list(coefficients = unname(coef(f)), se = unname(sqrt(diag(vcov(f)))), loglik = ll(f))
n <- sum(d$births)
out <- list(
  made_with = list(R = R.version.string, segmented = as.character(packageVersion("segmented"))),
  source = "segmented::down; Davison & Hinkley 1997, Bootstrap Methods and their Application",
  down = as.list(d[, c("age", "births", "cases")]),
  none = list(loglik = ll(glm(cbind(cases, births - cases) ~ age, binomial, d))),
  one = list(turn = best1$maximum, loglik = best1$objective, profile = profile,
             slopes = unname(cumsum(coef(fit1(best1$maximum))[2:3]))),
  two = list(turns = top, loglik = ll(fit2(top))),
  births = n,
  segmented = list(turn = seg$psi[2], se = seg$psi[3], loglik = ll(seg), slopes = unname(slope(seg)$age[, 1])),
  at_31 = summaryof(at),
  poisson_31 = summaryof(pois),
  hospitals = as.list(h),
  hospitals_20 = summaryof(hosp)
)
json <- function(x) {
  if (is.list(x)) {
    paste0("{", paste0('"', names(x), '": ', sapply(x, json), collapse = ", "), "}")
  } else {
    v <- if (is.character(x)) paste0('"', x, '"') else format(x, digits = 12, trim = TRUE, scientific = NA)
    if (length(v) == 1) v else paste0("[", paste(v, collapse = ", "), "]")
  }
}
cat(json(out), "\n")
