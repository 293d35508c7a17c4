#!/usr/bin/python3
"""Time scipy and lmfit on sweep.txt; print name, best seconds a fit, sum of squares, evaluations."""
import os

os.environ["OPENBLAS_NUM_THREADS"] = "1"

import pathlib
import time

import lmfit
import numpy as np
from scipy.optimize import least_squares

from model import START, Sweep

sweep = Sweep(pathlib.Path(__file__).parent / "sweep.txt")


def scipy(method, **more):
    s = least_squares(sweep.residuals, START, jac=sweep.jacobian, method=method, x_scale="jac", **more)
    return 2 * s.cost, s.nfev


def lmfit_leastsq(**more):
    names = ["lnRe", "lnFs", "lnQms", "lnRes", "creep", "lnK", "lnn"]
    params = lmfit.Parameters()
    for name, value in zip(names, START):
        params.add(name, value=value)

    def residuals(p):
        return sweep.residuals(np.array([p[n].value for n in names]))

    def jacobian(p):
        return sweep.jacobian(np.array([p[n].value for n in names]))

    if more.pop("analytic", False):
        more["Dfun"] = jacobian
    m = lmfit.minimize(residuals, params, method="leastsq", **more)
    return m.chisqr, m.nfev


def best(fit, seconds=1.0):
    result, times = fit(), []
    end = time.perf_counter() + seconds
    while time.perf_counter() < end or len(times) < 3:
        t = time.process_time()  # without the time that other processes take
        fit()
        times.append(time.process_time() - t)
    return min(times), *result


if __name__ == "__main__":
    check = sweep.jacobian(START)
    for j in range(7):
        h = np.zeros(7)
        h[j] = 1e-5
        d = (sweep.residuals(START + h) - sweep.residuals(START - h)) / 2e-5
        assert np.allclose(check[:, j], d, rtol=1e-6, atol=1e-6 * abs(d).max()), j
    for name, fit in {
        "scipy-lm": lambda: scipy("lm"),
        "scipy-trf": lambda: scipy("trf"),
        "lmfit-leastsq": lambda: lmfit_leastsq(),
        "lmfit-leastsq-analytic": lambda: lmfit_leastsq(analytic=True),
    }.items():
        t, chi2, nfev = best(fit)
        print(f"{name} {t:.6e} {chi2:.12e} {nfev}")
