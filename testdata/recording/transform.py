#!/usr/bin/python3
"""Prints 60 numbers and their discrete Fourier transform as numpy computes it: index, sample, re, im."""
import numpy as np

n = 60
x = np.array([((7 * i * i + 3 * i + 5) % 101) / 101 - 0.5 for i in range(n)])
s = np.fft.rfft(x)
for i in range(n):
    z = s[i] if i < len(s) else 0
    print(i, "%.17g %.17g %.17g" % (x[i], z.real, z.imag))
