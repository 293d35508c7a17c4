#!/usr/bin/python3
"""Solve the least-squares problems of the solver's tests with scipy and print scipy.txt.

usage: solve.py > scipy.txt     (run in testdata/leastsquares)

A line reads: problem, sum of squares, unknowns, then inv(J'J) row by row.
"""
import pathlib

import numpy as np
from scipy.optimize import least_squares

exp = np.exp
MODEL = {
    "Misra1a": lambda b, x: b[0] * (1 - exp(-b[1] * x)),
    "Thurber": lambda b, x: (b[0] + b[1] * x + b[2] * x**2 + b[3] * x**3) / (1 + b[4] * x + b[5] * x**2 + b[6] * x**3),
    "Gauss3": lambda b, x: b[0] * exp(-b[1] * x) + b[2] * exp(-((x - b[3]) / b[4]) ** 2) + b[5] * exp(-((x - b[6]) / b[7]) ** 2),
    "MGH09": lambda b, x: b[0] * (x**2 + x * b[1]) / (x**2 + x * b[2] + b[3]),
    "Rat43": lambda b, x: b[0] / (1 + exp(b[1] - b[2] * x)) ** (1 / b[3]),
    "Kirby2": lambda b, x: (b[0] + b[1] * x + b[2] * x**2) / (1 + b[3] * x + b[4] * x**2),
}


def complex_step(f):
    """Jacobian of a real function by an imaginary step: exact to rounding."""

    def jac(x):
        cols = []
        for j in range(len(x)):
            z = np.array(x, dtype=complex)
            z[j] += 1e-30j
            cols.append(f(z).imag / 1e-30)
        return np.array(cols).T

    return jac


def report(name, f, x0, jac):
    s = least_squares(f, x0, jac=jac, method="trf", x_scale="jac", ftol=3e-16, xtol=3e-16, gtol=3e-16, max_nfev=5000)
    s = least_squares(f, s.x, jac=jac, method="lm", x_scale="jac", ftol=3e-16, xtol=3e-16, gtol=3e-16)
    r = np.linalg.qr(jac(s.x), mode="r")
    ri = np.linalg.inv(r)
    values = [2 * s.cost, *s.x, *(ri @ ri.T).ravel()]
    print(name, *(f"{v:.12e}" for v in values))


for name, model in MODEL.items():
    lines = [s.split() for s in pathlib.Path(f"../nist/{name}.txt").read_text().splitlines()]
    start = np.array([float(s[2]) for s in lines if s[0] == "unknown"])
    y, x = np.array([[float(v) for v in s[1:]] for s in lines if s[0] == "point"]).T
    f = lambda b: model(b, x) - y
    report(name, f, start, complex_step(f))

freq, re, im = np.loadtxt("circuit.txt").T
z = re + 1j * im
sigma = 0.002 * abs(z)


def parts(x):
    """Model over sigma as two complex functions of complex unknowns: real and imaginary part kept apart."""
    Re, K, n, fs, Qms, Res = np.exp(x)
    w = 2 * np.pi * freq
    coil = K * np.exp(n * np.log(w))
    v = freq / fs
    d = (1 - v * v) ** 2 + (v / Qms) ** 2
    real = Re + coil * np.cos(n * np.pi / 2) + Res * (v / Qms) ** 2 / d
    imag = coil * np.sin(n * np.pi / 2) + Res * (v / Qms) * (1 - v * v) / d
    return np.concatenate([(real - re) / sigma, (imag - im) / sigma])


report("circuit", parts, np.log([6, 0.02, 0.7, 20, 5, 30]), complex_step(parts))
