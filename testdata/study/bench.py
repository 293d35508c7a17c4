"""Writes bench.csv: an invented bench where three drivers were measured by two operators in several
sessions, unbalanced, with ln Fs and ln Qms that scatter together on every level. Run it in
this folder; needs numpy."""
import csv
import numpy as np

rng = np.random.default_rng(20261127)
std = {"operator": (0.020, 0.030), "session": (0.008, 0.020), "clamping": (0.003, 0.012), "again": (0.0005, 0.002)}
corr = {"operator": -0.3, "session": -0.7, "clamping": -0.5, "again": 0.2}


def draw(level):
    a, b = std[level]
    c = corr[level] * a * b
    return rng.multivariate_normal([0, 0], [[a * a, c], [c, b * b]])


mean = {"left": (3.434, 1.386), "right": (3.401, 1.361), "spare": (3.466, 1.435)}
with open("bench.csv", "w", newline="") as f:
    out = csv.writer(f, lineterminator="\n")
    out.writerow(["driver", "operator", "session", "clamping", "fs", "qms"])
    for operator in ("A", "B", "C"):
        o = draw("operator")
        for session in range(1, 2 + rng.integers(1, 4)):
            s = draw("session")
            for driver in mean:
                for clamping in range(1, 1 + rng.integers(0, 4)):
                    c = draw("clamping")
                    for _ in range(rng.integers(1, 4)):
                        v = np.array(mean[driver]) + o + s + c + draw("again")
                        out.writerow([driver, operator, session, f"{driver}-{clamping}", f"{v[0]:.6f}", f"{v[1]:.6f}"])
