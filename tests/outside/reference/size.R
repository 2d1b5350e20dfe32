# Sizes by R's power.prop.test and by closed forms coded from the publications, for tests/outside/test_size.py.
# Prints JSON; run by run_all.sh. Farrington & Manning 1990 by numerical maximisation of the restricted likelihood,
# not by the cubic; Schoenfeld's chance of an event by numerical integration over uniform entry.

superiority <- function(p1, p2, power, level) {
  power.prop.test(p1 = p1, p2 = p2, power = power, sig.level = 1 - level, tol = 1e-12)$n
}
unequal <- function(p1, p2, power, level, k, pooled) {
  za <- qnorm((1 + level) / 2); zb <- qnorm(power); b <- (p1 + k * p2) / (1 + k)
  some <- p1 * (1 - p1) + p2 * (1 - p2) / k
  none <- if (pooled) b * (1 - b) * (1 + 1 / k) else some
  (za * sqrt(none) + zb * sqrt(some))^2 / (p1 - p2)^2
}
corrected <- function(p1, p2, power, level, k) {
  # the size at which the corrected statistic has the power, by root finding and not by the published formula
  za <- qnorm((1 + level) / 2); b <- (p1 + k * p2) / (1 + k)
  none <- b * (1 - b) * (1 + 1 / k); some <- p1 * (1 - p1) + p2 * (1 - p2) / k
  f <- function(n) pnorm(((abs(p1 - p2) - (1 + 1 / k) / (2 * n)) * sqrt(n) - za * sqrt(none)) / sqrt(some)) - power
  uniroot(f, c(5, 1e7), tol = 1e-9)$root
}
margin <- function(new, standard, d, power, level, k) {
  za <- qnorm((1 + level) / 2); zb <- qnorm(power)
  minus <- function(q) {
    p <- q + d
    -(new * log(p) + (1 - new) * log(1 - p) + k * (standard * log(q) + (1 - standard) * log(1 - q)))
  }
  q <- optimize(minus, c(1e-12, 1 - d - 1e-12), tol = 1e-14)$minimum
  q <- optimize(minus, pmin(pmax(q + c(-1, 1) * 1e-3, 1e-12), 1 - d - 1e-12), tol = 1e-15)$minimum
  none <- (q + d) * (1 - q - d) + q * (1 - q) / k
  some <- new * (1 - new) + standard * (1 - standard) / k
  (za * sqrt(none) + zb * sqrt(some))^2 / (d - new + standard)^2
}
event <- function(h, a, f, lost) {
  seen <- function(t) h / (h + lost) * (1 - exp(-(h + lost) * t))
  if (a == 0) seen(f) else integrate(function(u) seen(f + u), 0, a, rel.tol = 1e-12)$value / a
}
logrank <- function(hr, risk, years, a, f, loss, power, level, k) {
  za <- qnorm((1 + level) / 2); zb <- qnorm(power); w <- 1 / (1 + k)
  events <- (za + zb)^2 / (w * (1 - w) * log(hr)^2)
  h <- -log(1 - risk) / years; g <- -log(1 - loss)
  c(events, events / (event(h * hr, a, f, g) + k * event(h, a, f, g)))
}
row <- function(...) { x <- list(...); paste0("{", paste(sprintf('"%s": %.15g', names(x), unlist(x)), collapse = ", "), "}") }

set.seed(1990)
shares <- c(row(first = 0.02, second = 0.01, power = 0.8, level = 0.95, ratio = 1, pooled = superiority(0.02, 0.01, 0.8, 0.95),
                unpooled = unequal(0.02, 0.01, 0.8, 0.95, 1, FALSE), corrected = corrected(0.02, 0.01, 0.8, 0.95, 1)),
            sapply(1:20, function(i) {
              p <- runif(2, 0.01, 0.6); k <- if (i %% 2) 1 else runif(1, 0.3, 3); w <- runif(1, 0.6, 0.95)
              pooled <- if (k == 1) superiority(p[1], p[2], w, 0.95) else unequal(p[1], p[2], w, 0.95, k, TRUE)
              row(first = p[1], second = p[2], power = w, level = 0.95, ratio = k, pooled = pooled,
                  unpooled = unequal(p[1], p[2], w, 0.95, k, FALSE), corrected = corrected(p[1], p[2], w, 0.95, k))
            }))
margins <- c(row(new = 0.02, standard = 0.02, margin = 0.02, power = 0.8, level = 0.95, ratio = 1, first = margin(0.02, 0.02, 0.02, 0.8, 0.95, 1)),
             row(new = 0.02, standard = 0.02, margin = 0.02, power = 0.9, level = 0.95, ratio = 1, first = margin(0.02, 0.02, 0.02, 0.9, 0.95, 1)),
             sapply(1:15, function(i) {
               s <- runif(1, 0.01, 0.3); d <- runif(1, 0.01, 0.1); n <- s + runif(1, -0.5, 0.5) * min(d, s); k <- if (i %% 2) 1 else runif(1, 0.4, 2.5)
               row(new = n, standard = s, margin = d, power = 0.8, level = 0.95, ratio = k, first = margin(n, s, d, 0.8, 0.95, k))
             }))
over_time <- c(
  { x <- logrank(0.5, 0.04, 5, 3, 5, 0.05, 0.8, 0.95, 1); row(hr = 0.5, risk = 0.04, years = 5, accrual = 3, follow_up = 5, lost = 0.05, power = 0.8, level = 0.95, ratio = 1, events = x[1], first = x[2]) },
  sapply(1:10, function(i) {
    hr <- exp(runif(1, -1, 1)); r <- runif(1, 0.01, 0.4); y <- runif(1, 1, 6); a <- if (i == 1) 0 else runif(1, 0.5, 5); f <- runif(1, 0.5, 6); l <- if (i %% 3) runif(1, 0, 0.1) else 0; k <- runif(1, 0.5, 2)
    x <- logrank(hr, r, y, a, f, l, 0.9, 0.95, k)
    row(hr = hr, risk = r, years = y, accrual = a, follow_up = f, lost = l, power = 0.9, level = 0.95, ratio = k, events = x[1], first = x[2])
  }))
known <- sapply(1:12, function(i) {
  p <- c(0, 0.02, 0.1, 0.5, 0.98, runif(7))[i]; h <- c(0.01, 0.02, 0.05, 0.1)[1 + i %% 4]
  width <- function(n) diff(suppressWarnings(prop.test(p * n, n, correct = FALSE)$conf.int)) / 2
  n <- 2; while (width(n) > h) n <- n + 1
  row(share = p, half_width = h, groins = n)
})
two <- function(a, n, b, m) {
  x <- matrix(c(a, n - a, b, m - b), 2)
  row(a = a, n = n, b = b, m = m, fisher = fisher.test(x)$p.value, chi2 = suppressWarnings(chisq.test(x, correct = FALSE)$p.value),
      yates = suppressWarnings(chisq.test(x)$p.value))
}
tables <- c(two(11, 122, 2, 121), two(11, 121, 2, 122), two(18, 947, 84, 9856), two(3, 10, 0, 12), two(0, 347, 6, 406))
list_of <- function(x) paste0("[\n", paste(x, collapse = ",\n"), "]")
cat('{"made_by": "R ', paste(R.version$major, R.version$minor, sep = "."), ' (stats)",\n"shares": ', list_of(shares),
    ',\n"margins": ', list_of(margins), ',\n"over_time": ', list_of(over_time), ',\n"known": ', list_of(known),
    ',\n"two_by_two": ', list_of(tables), "}\n", sep = "")
