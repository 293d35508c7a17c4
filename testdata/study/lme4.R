# Restricted maximum likelihood of the data in this folder by lme4, printed to lme4.txt:
#   DATA reml CRITERION | DATA variance LEVEL VALUE | DATA mean DRIVER VALUE STANDARD-ERROR
# Run in this folder: Rscript lme4.R > lme4.txt
suppressMessages(library(lme4))
control <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhobeg = 0.2, rhoend = 1e-10, maxfun = 1e6),
                       check.conv.singular = "ignore", check.conv.grad = "ignore", check.conv.hess = "ignore")
say <- function(name, formula, data) {
  # Its search may end beside the largest likelihood, not always at the same place: the best of several starts.
  m <- lmer(formula, data, REML = TRUE, control = control)
  for (from in c(0.1, 0.3, 3, 10)) {
    other <- lmer(formula, data, REML = TRUE, control = control, start = rep(from, length(getME(m, "theta"))))
    if (REMLcrit(other) < REMLcrit(m)) m <- other
  }
  cat(sprintf("%s reml %.8f\n", name, REMLcrit(m)))
  v <- as.data.frame(VarCorr(m))
  for (i in seq_len(nrow(v))) cat(sprintf("%s variance %s %.9g\n", name, v$grp[i], v$vcov[i]))
  b <- fixef(m)
  se <- sqrt(diag(as.matrix(vcov(m))))
  for (i in seq_along(b)) cat(sprintf("%s mean %s %.9g %.9g\n", name, sub("driver", "", names(b)[i]), b[i], se[i]))
}
read <- function(name) {
  d <- read.csv(paste0(name, ".csv"))
  for (n in setdiff(names(d), c("value", "fs", "qms"))) d[[n]] <- factor(d[[n]])
  d
}
for (n in c("dyestuff", "dyestuff-unbalanced", "dyestuff2")) say(n, value ~ 1 + (1 | batch), read(n))
for (n in c("pastes", "pastes-unbalanced")) say(n, value ~ 1 + (1 | batch) + (1 | batch:cask), read(n))
say("days", value ~ 1 + (1 | day) + (1 | day:run), read("days"))
say("furnace", value ~ 1 + (1 | run) + (1 | run:zone), read("furnace"))
bench <- read("bench")
bench$both <- bench$fs + bench$qms
nested <- ~ 0 + driver + (1 | operator) + (1 | operator:session) + (1 | operator:session:clamping)
for (r in c("fs", "qms", "both")) say(paste0("bench-", r), update(nested, as.formula(paste(r, "~ ."))), bench)
# The same sessions told apart by driver.
own <- ~ 0 + driver + (1 | driver:operator:session) + (1 | driver:operator:session:clamping)
say("bench-own-fs", update(own, fs ~ .), bench)
