"""Straight line through pearson-york.csv by scipy's orthogonal distance regression.

Prints slope, intercept, their standard errors (not scaled by the scatter) and
the weighted sum of squares. Run in this folder: python3 odr.py
"""
import csv

import numpy as np
from scipy import odr

rows = list(csv.DictReader(open("pearson-york.csv")))
x, y, wx, wy = (np.array([float(r[k]) for r in rows]) for k in ("x", "y", "weight_x", "weight_y"))
model = odr.Model(lambda b, x: b[0] * x + b[1])
run = odr.ODR(odr.Data(x, y, wd=wx, we=wy), model, beta0=[-0.5, 5.5], sstol=1e-15, partol=1e-15, maxit=500)
out = run.run()
se = np.sqrt(np.diag(out.cov_beta))
print("%.9f %.8f %.6f %.6f %.8f" % (out.beta[0], out.beta[1], se[0], se[1], out.sum_square))
