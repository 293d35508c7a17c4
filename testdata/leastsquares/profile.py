#!/usr/bin/python3
"""Profile the circuit of the solver's tests with lmfit and print profile.txt.

usage: profile.py > profile.txt     (run in testdata/leastsquares)

A line reads: unknown (a logarithm), value at the minimum, lower and upper end of
the 95 % interval by its profile: the unknown is held, all others are fitted
again, and the F test says where the sum of squares has become too large.
"""
import lmfit
import numpy as np

freq, re, im = np.loadtxt("circuit.txt").T
sigma = 0.002 * abs(re + 1j * im)
NAMES = ["Re", "K", "n", "fs", "Qms", "Res"]


def residuals(p):
    Re, K, n, fs, Qms, Res = np.exp([p[k].value for k in NAMES])
    u = freq / fs
    z = Re + K * (2j * np.pi * freq) ** n + Res * (1j * u / Qms) / (1 - u * u + 1j * u / Qms)
    return np.concatenate([(z.real - re) / sigma, (z.imag - im) / sigma])


p = lmfit.Parameters()
for name, start in zip(NAMES, [6, 0.02, 0.7, 20, 5, 30]):
    p.add(name, value=np.log(start))
m = lmfit.Minimizer(residuals, p)
best = m.minimize(method="leastsq", ftol=1e-14, xtol=1e-14, gtol=1e-14)
limits = lmfit.conf_interval(m, best, sigmas=[0.95])
for name in NAMES:
    low, at, high = (v for _, v in limits[name])
    print(name, f"{at:.10e} {low:.10e} {high:.10e}")
