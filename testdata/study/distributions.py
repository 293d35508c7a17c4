"""Prints what distributions.txt holds: quantiles and factors by scipy, most by its own functions, the
exact two-sided factor and the range by numerical integration of their definitions.
Run it in this folder: python3 distributions.py > distributions.txt; needs scipy."""
import numpy as np
from scipy import integrate, optimize, special, stats



def student(p, dof):  # stats.t.ppf of scipy 1.10 is off by 3e-9
    tail = min(p, 1 - p)
    if tail == 0.5:
        return 0.0
    near = abs(stats.t.ppf(tail, dof))
    x = optimize.brentq(lambda x: special.betainc(dof / 2, 0.5, dof / (dof + x * x)) / 2 - tail, near * 0.999, near * 1.001, xtol=1e-15, rtol=1e-14)
    return -x if p < 0.5 else x


P = (0.001, 0.025, 0.05, 0.5, 0.95, 0.975, 0.999)
for p in P:
    for dof in (0.3, 0.995235, 1, 2, 3.7, 8, 40, 300):
        print("chi2", p, dof, repr(float(stats.chi2.ppf(p, dof))))
        for dof2 in (1, 2.5, 20, 1000):
            print("f", p, dof, dof2, repr(float(stats.f.ppf(p, dof, dof2))))
for p in (0.0005, 0.0015, *P[1:-1], 0.8413, 0.9985):
    for dof in (0.7, 2.9, 3, 3.7, 8.25, 41.5, 1234.5, 9e4, 2.5e5, 8e6):
        print("t", p, dof, repr(student(p, dof)))
for dof in (1, 2, 4, 7.5, 24, 124):
    for delta in (-2, 0, 0.5, 3.7, 12, 30):
        for t in (-3, 0, 1, 4, 13, 33):
            print("nct", t, dof, delta, repr(float(stats.nct.cdf(t, dof, delta))))


def two_sided(n, dof, share, confidence):
    def half(v):
        return optimize.brentq(lambda r: stats.norm.cdf(v / n**0.5 + r) - stats.norm.cdf(v / n**0.5 - r) - share, 0, 60, xtol=1e-13)

    def held(k):
        return 2 * integrate.quad(lambda v: stats.norm.pdf(v) * stats.chi2.sf(dof * half(v) ** 2 / k**2, dof), 0, 8.5, epsabs=1e-12, epsrel=1e-11)[0]

    return optimize.brentq(lambda k: held(k) - confidence, 0.1, 200, xtol=1e-11)


for n, dof, share, confidence in ((2, 1, 0.9, 0.95), (3, 2, 0.95, 0.95), (5, 24, 0.95, 0.95), (4, 11.5, 0.99, 0.9), (50, 49, 0.95, 0.99)):
    print("tolerance", n, dof, share, confidence, repr(two_sided(n, dof, share, confidence)))


def range_of(n):
    phi, cdf = stats.norm.pdf, stats.norm.cdf
    mean = integrate.quad(lambda x: 1 - cdf(x) ** n - (1 - cdf(x)) ** n, -12, 12, epsabs=1e-13, limit=400)[0]
    # E[R^2] = Var(max) + Var(min) - 2 Cov + mean^2 by the joint density of smallest and largest.
    x, w = np.polynomial.legendre.leggauss(400)
    x, w = 10 * x, 10 * w
    # a smooth integrand on the triangle x < y, by substitution y = x + r
    r, v = np.polynomial.legendre.leggauss(400)
    r, v = 8 * (r + 1), 8 * v
    f = n * (n - 1) * phi(x)[:, None] * phi(x[:, None] + r[None, :]) * (cdf(x[:, None] + r[None, :]) - cdf(x)[:, None]) ** (n - 2)
    square = float(np.sum(w[:, None] * v[None, :] * f * r[None, :] ** 2))
    return mean, (square - mean**2) ** 0.5


for n in (2, 3, 5, 10, 25, 200):
    print("range", n, *(repr(float(x)) for x in range_of(n)))
