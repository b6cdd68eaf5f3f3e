# Writes the fixtures of this folder; with --check recomputes and compares them.
#
# usage: Rscript generate.R [--check]
#
# Only packages that come with R itself. Ratios come from glm and from counting every
# outcome, which share no code with each other; README.md says what each file holds.

here <- local({
  file <- sub("^--file=", "", grep("^--file=", commandArgs(FALSE), value = TRUE))
  if (length(file)) dirname(normalizePath(file[1])) else "."
})
checking <- "--check" %in% commandArgs(TRUE)
tolerance <- 1e-8

# ---- the strata of every case ----------------------------------------------

RNGversion("4.0.0")
set.seed(20261125)

draw <- function(strata, ratio, mean_a, hours = c(0.3, 4)) {
  t1 <- round(runif(strata, hours[1], hours[2]), 2)
  t2 <- round(runif(strata, hours[1], hours[2]), 2)
  hour <- rgamma(strata, 2, 2)
  data.frame(a = rpois(strata, hour * mean_a * t1), b = rpois(strata, hour * mean_a / ratio * t2),
             hours_a = t1, hours_b = t2)
}

cases <- list(
  one_even = data.frame(a = 14, b = 7, hours_a = 61, hours_b = 61),
  one_uneven = data.frame(a = 3, b = 9, hours_a = 17.5, hours_b = 22.25),
  two = data.frame(a = c(4, 1), b = c(1, 2), hours_a = c(3, 1.5), hours_b = c(2, 6)),
  with_empty = data.frame(a = c(2, 0, 3, 0), b = c(1, 0, 0, 1), hours_a = c(2, 5, 1, 0.5), hours_b = c(2, 1, 4, 3)),
  five = draw(5, 2, 0.6),
  eight = draw(8, 1, 0.4),
  against = draw(7, 0.4, 0.3),
  lopsided = data.frame(a = c(3, 2, 2), b = c(1, 0, 1), hours_a = c(0.2, 0.1, 0.3), hours_b = c(9, 12, 7)),
  season = draw(120, 1.6, 0.5),
  years = draw(1200, 1.25, 0.5)
)

# ---- the ratio -------------------------------------------------------------

# The chance of every total of A at a log ratio: over every outcome of every stratum
# where these are few, else stratum by stratum.
totals <- function(d, x) {
  d <- d[d$a + d$b > 0, ]
  n <- d$a + d$b
  p <- plogis(x + log(d$hours_a / d$hours_b))
  if (sum(log(n + 1)) < log(2e4)) {
    outcome <- as.matrix(expand.grid(lapply(n, function(m) 0:m)))
    chance <- rep(1, nrow(outcome))
    for (s in seq_along(n)) chance <- chance * dbinom(outcome[, s], n[s], p[s])
    sum_a <- rowSums(outcome)
    return(vapply(0:sum(n), function(k) sum(chance[sum_a == k]), 0))
  }
  out <- 1
  for (s in seq_along(n)) {
    one <- dbinom(0:n[s], n[s], p[s])
    wide <- numeric(length(out) + n[s])
    for (k in 0:n[s]) {
      at <- k + seq_along(out)
      wide[at] <- wide[at] + out * one[k + 1]
    }
    out <- wide
  }
  out
}

tails <- function(d, x, half) {
  p <- totals(d, x)
  k <- sum(d$a[d$a + d$b > 0]) + 1
  c(lower = sum(p[1:k]) - half * p[k], upper = sum(p[k:length(p)]) - half * p[k])
}

limit <- function(d, start, side, half, size) {
  f <- function(x) tails(d, x, half)[[side]] - size
  uniroot(f, start + c(-1, 1), extendInt = if (side == "upper") "upX" else "downX", tol = 1e-13)$root
}

ratio <- function(name) {
  d <- cases[[name]]
  kept <- d[d$a + d$b > 0, ]
  fit <- glm(cbind(a, b) ~ 1 + offset(log(hours_a / hours_b)), binomial, kept,
             control = glm.control(epsilon = 1e-13, maxit = 100))
  at <- unname(coef(fit))
  exact <- tails(d, 0, 0)
  mid <- tails(d, 0, 0.5)
  data.frame(
    case = name, events = sum(kept$a + kept$b), log_ratio = at, log_se = unname(sqrt(vcov(fit)[1, 1])),
    p = min(1, 2 * min(exact)), p_mid = min(1, 2 * min(mid)),
    exact_lo = exp(limit(d, at, "upper", 0, 0.1)), exact_hi = exp(limit(d, at, "lower", 0, 0.1)),
    mid_lo = exp(limit(d, at, "upper", 0.5, 0.1)), mid_hi = exp(limit(d, at, "lower", 0.5, 0.1)))
}

# ---- one rate --------------------------------------------------------------

one_rate <- function(x, confidence) {
  exact <- poisson.test(x, conf.level = confidence)$conf.int
  tail <- (1 - confidence) / 2
  below <- function(m) ppois(x, m) - dpois(x, m) / 2
  solve <- function(want) uniroot(function(m) below(m) - want, c(1e-9, x + 20 + 10 * sqrt(x)), tol = 1e-13)$root
  data.frame(events = x, confidence = confidence, exact_lo = exact[1], exact_hi = exact[2],
             mid_lo = if (x == 0) 0 else solve(1 - tail), mid_hi = solve(tail))
}

# ---- rates drawn together --------------------------------------------------

pools <- list(
  colors = data.frame(events = c(14, 7, 9, 1, 0), exposure = c(61, 58, 40, 2.5, 6)),
  alike = data.frame(events = c(10, 11, 9, 10), exposure = c(50, 52, 47, 51)),
  apart = data.frame(events = c(60, 5, 22), exposure = c(50, 50, 50)),
  quiet = data.frame(events = c(0, 0, 1), exposure = c(12, 30, 9))
)

# The posterior on a fine grid: Simpson's rule over the spread, the trapezoid over the log
# of the mean, whose integrand dies away at both ends. One mean is found once more by
# adaptive quadrature and must agree.
posterior <- function(d) {
  log_post <- function(u, spread) {
    -spread^2 / (2 * 0.5^2) +
      sum(dnbinom(d$events, size = 1 / spread^2, mu = exp(u) * d$exposure, log = TRUE))
  }
  steps <- 200
  spread <- 1e-7 + (0:steps) * (1.5 - 1e-7) / steps
  simpson <- c(1, rep(c(4, 2), steps / 2 - 1), 4, 1)
  middle <- log(sum(d$events) / sum(d$exposure))
  u <- middle + seq(-40, 20, by = 0.025)
  coarse <- vapply(spread[seq(1, steps + 1, by = 40)], function(s) vapply(u, log_post, 0, spread = s), u)
  u <- u[apply(coarse, 1, max) > max(coarse) - 34]
  log_mass <- outer(spread, u, Vectorize(function(s, v) log_post(v, s)))
  weight <- exp(log_mass - max(log_mass)) * simpson
  keep <- weight > 1e-14 * max(weight)
  shape <- 1 / spread[row(weight)[keep]]^2
  list(weight = weight[keep] / sum(weight[keep]), shape = shape, rate = shape * exp(-u[col(weight)[keep]]),
       spread = spread[row(weight)[keep]], log_post = log_post, top = max(log_mass), from = min(u), to = max(u))
}

adaptive_mean <- function(d, post, i) {
  both <- function(f) {
    sum(vapply(list(c(1e-7, 0.3), c(0.3, 1), c(1, 1.5)), function(r) integrate(Vectorize(function(s) {
      g <- function(u) exp(vapply(u, post$log_post, 0, spread = s) - post$top) * f(1 / s^2, exp(-u) / s^2)
      integrate(g, post$from, post$to, rel.tol = 1e-9, subdivisions = 1000)$value
    }), r[1], r[2], rel.tol = 1e-8)$value, 0))
  }
  both(function(shape, rate) (shape + d$events[i]) / (rate + d$exposure[i])) / both(function(shape, rate) rep(1, length(rate)))
}

pool <- function(name) {
  d <- pools[[name]]
  post <- posterior(d)
  mean <- vapply(seq_len(nrow(d)), function(i) {
    sum(post$weight * (post$shape + d$events[i]) / (post$rate + d$exposure[i]))
  }, 0)
  again <- adaptive_mean(d, post, 1)
  if (abs(again / mean[1] - 1) > 1e-7) stop(name, ": ", again, " by quadrature, ", mean[1], " by the grid")
  quantile <- function(i, p) {
    below <- function(x) sum(post$weight * pgamma(x, post$shape + d$events[i], rate = post$rate + d$exposure[i]))
    uniroot(function(x) below(x) - p, mean[i] * c(0.05, 4), tol = 1e-10)$root
  }
  data.frame(pool = name, events = d$events, exposure = d$exposure, mean = mean,
             lo = vapply(seq_len(nrow(d)), quantile, 0, 0.1), hi = vapply(seq_len(nrow(d)), quantile, 0, 0.9),
             spread = sum(post$weight * post$spread))
}

# ---- the power of a fair test ----------------------------------------------

# Both levels fish side by side for the same hours; the total is Poisson, A's part of it
# binomial. A claim is an exact two-sided p of at most size with A ahead.
power <- function(rate, ratio, hours, size) {
  n <- 0:ceiling(qpois(1 - 1e-13, rate * (1 + ratio) * hours))
  claim <- vapply(n, function(m) {
    a <- 0:m
    upper <- pbinom(a - 1, m, 0.5, lower.tail = FALSE)
    hit <- 2 * upper <= size
    sum(dbinom(a[hit], m, ratio / (1 + ratio)))
  }, 0)
  data.frame(rate = rate, ratio = ratio, hours = hours, size = size,
             power = sum(dpois(n, rate * (1 + ratio) * hours) * claim))
}

# ---- all of it -------------------------------------------------------------

stack <- function(parts) do.call(rbind, parts)
grid <- expand.grid(rate = c(0.05, 0.2), ratio = c(1, 1.5, 2, 3), hours = c(20, 80, 300), size = c(0.05, 0.2))
files <- list(
  strata = stack(lapply(names(cases), function(n) cbind(case = n, cases[[n]]))),
  ratios = stack(lapply(names(cases), ratio)),
  rates = stack(c(lapply(c(0, 1, 2, 3, 5, 10, 20, 57, 400), one_rate, 0.8), lapply(c(0, 3, 10), one_rate, 0.95))),
  pools = stack(lapply(names(pools), pool)),
  power = stack(Map(power, grid$rate, grid$ratio, grid$hours, grid$size))
)

text <- function(d) {
  d[] <- lapply(d, function(col) if (is.numeric(col)) vapply(col, function(v) format(v, digits = 15, scientific = NA), "") else as.character(col))
  c(paste(names(d), collapse = ","), do.call(paste, c(unname(as.list(d)), sep = ",")))
}

bad <- 0
for (name in names(files)) {
  path <- file.path(here, paste0(name, ".csv"))
  if (!checking) {
    writeLines(text(files[[name]]), path)
    next
  }
  kept <- read.csv(path)
  now <- read.csv(text = text(files[[name]]))
  same <- identical(dim(kept), dim(now)) && all(mapply(function(x, y) {
    if (is.numeric(x)) all(abs(x - y) <= tolerance * pmax(1, abs(y))) else identical(x, y)
  }, kept, now))
  cat(sprintf("%-8s %s\n", name, if (same) "same" else "DIFFERS"))
  bad <- bad + !same
}
if (bad > 0) quit(status = 1)
