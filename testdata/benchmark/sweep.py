#!/usr/bin/python3
"""Write sweep.txt: 400 points of a driver with a lossy coil and creep, 0.2 % noise.

usage: sweep.py > sweep.txt
"""
import numpy as np

from model import impedance

x = np.array([np.log(5.46), np.log(22.850962), np.log(3.896454), np.log(41.403077), 0.1, np.log(0.0106), np.log(0.76)])
f = 5 * 400 ** (np.arange(400) / 399)
z, _ = impedance(x, 2 * np.pi * f, np.log(2 * np.pi * f))
sigma = 0.002 * abs(z)
rng = np.random.default_rng(400)
z = z + sigma * (rng.standard_normal(f.size) + 1j * rng.standard_normal(f.size))
print("# f in Hz, real and imaginary part of Z and standard deviation of each in ohm; made by sweep.py")
for row in zip(f, z, sigma):
    print(f"{row[0]:.9g} {row[1].real:.9g} {row[1].imag:.9g} {row[2]:.9g}")
