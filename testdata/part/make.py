#!/usr/bin/python3
"""Writes points.txt and values.txt into the directory given as argument (default: here): curves of two parts with noise, and what
scipy and numpy make of them. Source of the laws: docs/theory.md, 12."""
import os
import sys

import numpy as np
from scipy.optimize import least_squares

here = os.path.dirname(os.path.abspath(__file__))
to = sys.argv[1] if len(sys.argv) > 1 else here
W0 = 2 * np.pi * 1e3


def dielectric(w, x):
    n = 1 - 2 / np.pi * np.arctan(np.exp(x[3]))
    c = 1 / (W0 * np.exp(x[2])) * (w / W0) ** -n * np.exp(-1j * n * np.pi / 2)
    return np.exp(x[0]) + 1j * w * np.exp(x[1]) + c


def eddy(w, x):
    l, r = 1j * w * np.exp(x[2]), np.exp(x[3])
    return np.exp(x[0]) + 1j * w * np.exp(x[1]) + l * r / (l + r)


f = 5 * 2 ** (np.arange(570) / 48)
w = 2 * np.pi * f
rng = np.random.default_rng(18)
parts = {
    "capacitor": (dielectric, np.log([0.05, 3e-8, 8e-6, 0.012])),
    "coil": (eddy, np.log([0.3, 0.9e-3, 0.2e-3, 9.0])),
}
with open(os.path.join(to, "points.txt"), "w") as points, open(os.path.join(to, "values.txt"), "w") as values:
    for name, (law, truth) in parts.items():
        clean = law(w, truth)
        sigma = 3e-5 * (1 + np.abs(clean) / 10) * np.abs(clean) + 1e-6
        z = clean + sigma * (rng.standard_normal(len(f)) + 1j * rng.standard_normal(len(f)))
        for row in zip(f, z.real, z.imag, sigma):
            points.write(name + " " + " ".join("%.17g" % v for v in row) + "\n")
        s = np.hypot(2e-4 * np.abs(z), sigma)

        def residuals(x):
            d = (z - law(w, x)) / s
            return np.concatenate([d.real, d.imag])

        fit = least_squares(residuals, truth, xtol=1e-15, ftol=1e-15, gtol=1e-15, x_scale="jac")
        values.write(name + " law " + " ".join("%.17g" % v for v in fit.x) + "\n")
        # What the curve shows around 1 kHz: a weighted parabola over ln f, half an octave to either side.
        near = np.abs(np.log(f / 1e3)) <= np.log(2) / 2
        u = np.log(f[near] / 1e3)
        x = z.imag[near]
        size = np.log(-1 / (w[near] * x)) if name == "capacitor" else np.log(x / w[near])
        a = np.polyfit(u, size, 2, w=np.abs(x) / sigma[near])
        b = np.polyfit(u, z.real[near], 2, w=1 / sigma[near])
        values.write("%s at1k %.17g %.17g\n" % (name, np.exp(a[2]), b[2]))
