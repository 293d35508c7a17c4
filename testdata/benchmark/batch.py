#!/usr/bin/python3
"""Time `conewright batch` on many tables, with one core and with two.

usage: batch.py COMMAND [TABLES [SWEEP ...]]

Each table is sweep.txt with noise of 0.2 % of its own; with names of SWEEPs (frequency, magnitude, phase in degrees) one
of these in turn, with noise of 0.1 %. Prints sweeps a second, the gain of the second core and the largest memory of the
process.
"""
import os
import pathlib
import subprocess
import sys
import tempfile
import time

import numpy as np

command, tables = sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 10000
f, re, im, sigma = np.loadtxt(pathlib.Path(__file__).parent / "sweep.txt").T
sweeps, level = [(f, re + 1j * im)], 0.002
if len(sys.argv) > 3:
    level = 0.001
    sweeps = [(f, size * np.exp(1j * np.radians(phase)))
              for f, size, phase in (np.genfromtxt(name, delimiter=",", skip_header=3).T for name in sys.argv[3:])]
rng = np.random.default_rng(1)


def run(folder, cores):
    """Return seconds, seconds of processor time, and the largest resident memory in megabytes."""
    start = time.perf_counter()
    with open(os.devnull, "w") as null:
        p = subprocess.Popen([command, "batch", folder, "--csv", "--jobs", str(cores)], stdout=null, stderr=null,
                             env={**os.environ, "GOMAXPROCS": str(cores)})
        _, status, usage = os.wait4(p.pid, 0)
    if status != 0:
        sys.exit(f"batch ended with status {status}")
    return time.perf_counter() - start, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024


with tempfile.TemporaryDirectory() as folder:
    for i in range(tables):
        f, z = sweeps[i % len(sweeps)]
        noise = level * abs(z) * rng.standard_normal((2, f.size))
        np.savetxt(f"{folder}/{i:05}.txt", np.column_stack([f, z.real + noise[0], z.imag + noise[1]]), fmt="%.6g",
                   header="Hz re_ohm im_ohm")
    times = {}
    for cores in (1, 2):
        times[cores], cpu, memory = run(folder, cores)
        print(f"batch of {tables} tables, cores {cores}: {tables / times[cores]:.0f} sweeps/s, "
              f"{1000 * cpu / tables:.2f} ms of processor time each, {memory:.0f} MB")
    print(f"two cores over one: {times[1] / times[2]:.2f}")
