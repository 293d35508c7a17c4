"""Impedance of a driver with a lossy coil and logarithmic creep, and its Jacobian.

Unknowns: ln Re, ln Fs, ln Qms, ln Res, lambda, ln K, ln n. The mechanical impedance over Rms is
D = (1 - k lambda Q) + jQx - j(Q/x) law,  x = f/Fs,  law = (1 + (k lambda)^2) / (1 - lambda log10(x) - j k lambda),
k = pi/(2 ln 10), and Z = Re + K (jw)^n + Res/D.
"""
import numpy as np

LN10 = np.log(10)
KAPPA = np.pi / (2 * LN10)
START = np.array([np.log(6), np.log(20), np.log(5), np.log(30), 0.02, np.log(0.02), np.log(0.7)])


def impedance(x, w, lnw, jacobian=False):
    re, fs, q, res, _, _, n = np.exp(x)
    lam = x[4]
    lnx = lnw - np.log(2 * np.pi) - x[1]
    u = w / (2 * np.pi * fs)
    kl = KAPPA * lam
    num = 1 + kl * kl
    den = 1 - lam / LN10 * lnx - 1j * kl
    law = num / den
    coil = np.exp(x[5] + n * (lnw + 0.5j * np.pi))
    spring = -1j * (q / u)  # times a change of the law
    inertia = 1j * q * u
    d = (1 - kl * q) + inertia + spring * law
    mot = res / d
    z = re + coil + mot
    if not jacobian:
        return z, None
    g = -mot / d
    jac = np.empty((7, w.size), dtype=complex)
    jac[0] = re
    jac[1] = -g * (inertia - spring * law + spring * (law / den) * (lam / LN10))
    jac[2] = g * (inertia + spring * law - kl * q)
    jac[3] = mot
    jac[4] = g * (spring * (2 * KAPPA * kl / den + law / den * (lnx / LN10 + 1j * KAPPA)) - KAPPA * q)
    jac[5] = coil
    jac[6] = coil * (n * (lnw + 0.5j * np.pi))
    return z, jac


class Sweep:
    def __init__(self, path):
        f, re, im, sigma = np.loadtxt(path).T
        self.w = 2 * np.pi * f
        self.lnw = np.log(self.w)
        self.z = re + 1j * im
        self.weight = 1 / sigma

    def residuals(self, x):
        z, _ = impedance(x, self.w, self.lnw)
        return ((z - self.z) * self.weight).view(float)

    def jacobian(self, x):
        _, jac = impedance(x, self.w, self.lnw, True)
        return (jac * self.weight).view(float).T
