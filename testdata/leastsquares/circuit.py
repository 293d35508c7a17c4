#!/usr/bin/python3
"""Write circuit.txt: a noisy impedance of a resonance behind a lossy coil.

usage: circuit.py > circuit.txt
"""
import numpy as np

Re, K, n, fs, Qms, Res = 5.46, 0.0106, 0.76, 22.850962, 3.896454, 41.403077
f = 5 * 2 ** (np.arange(208) / 24)
u = 1j * f / fs
z = Re + K * (2j * np.pi * f) ** n + Res * (u / Qms) / (u * u + u / Qms + 1)
rng = np.random.default_rng(20)
z += 0.002 * abs(z) * (rng.standard_normal(f.size) + 1j * rng.standard_normal(f.size))
print("# f in Hz, real and imaginary part of Z in ohm; made by circuit.py")
for row in zip(f, z):
    print(f"{row[0]:.9g} {row[1].real:.9g} {row[1].imag:.9g}")
