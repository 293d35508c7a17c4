"""How far measured drivers and drawn ones are from a lumped model, by frequency.

Arguments: files written by `go run ./ts/internal/truth/sample -sweeps N`.

Fitted by scipy's least_squares to relative errors of real and imaginary part, all rows that differ from the row
before, from 1.3 Hz on: Re + coil + one resonance with constant Qms. The coil is K (jw)^n over the whole band, and
L1 + (L2 || R2) up to five times Fs.
"""
import os
import sys

import numpy as np
from scipy.optimize import least_squares

here = os.path.dirname(os.path.abspath(__file__))
names = ['whole band', 'below Fs/2', 'Fs/2 to 2Fs', '2Fs to 400', '400 to 2k', '2k to 20k', 'Re/low %', 'to 5 Fs, LR2',
         'Re/low %', 'length oct', 'n']


def model(p, f, coil):
    s = 2j * np.pi * f
    re, fs, qms, res = np.exp(p[:4])
    if coil == 'power':
        zl = np.exp(p[4]) * s ** (1 / (1 + np.exp(-p[5])))
    else:
        zl = s * np.exp(p[4]) + 1 / (1 / (s * np.exp(p[5])) + 1 / np.exp(p[6]))
    ws = 2 * np.pi * fs
    return re + zl + res / (1 + (s + ws ** 2 / s) * qms / ws)


def fit(f, z, coil):
    i = np.argmax(abs(z) * ((f > 15) & (f < 300)))
    best = None
    for q in (2, 5, 12):
        start = [np.log(z.real[:5].mean()), np.log(f[i]), np.log(q), np.log(max(abs(z[i]) - z.real[0], 1))]
        start += [np.log(.02), .7] if coil == 'power' else [np.log(2e-4), np.log(1e-3), np.log(10)]

        def residual(p):
            with np.errstate(all='ignore'):
                e = (model(p, f, coil) - z) / abs(z)
            e = np.nan_to_num(e, nan=1e3, posinf=1e3, neginf=-1e3)
            return np.r_[e.real, e.imag]
        found = least_squares(residual, start, method='lm', max_nfev=4000)
        if best is None or found.cost < best.cost:
            best = found
    return best.x, (z - model(best.x, f, coil)) / abs(z)


def percent(e):
    return 100 * np.sqrt(np.mean(abs(e) ** 2) / 2) if len(e) else np.nan


def figures(f, z):
    keep = [0] + [i for i in range(1, len(f)) if z[i] != z[i - 1]]
    f, z = f[keep], z[keep]
    f, z = f[f > 1.3], z[f > 1.3]
    p, e = fit(f, z, 'power')
    fs, low = np.exp(p[1]), z.real[f < 8].min()
    edges = [1.3, fs / 2, 2 * fs, 400, 2000, 2e4]
    out = [percent(e)] + [percent(e[(f >= a) & (f < b)]) for a, b in zip(edges, edges[1:])]
    out.append(100 * (np.exp(p[0]) / low - 1))
    m = f < max(5 * fs, 200)
    p2, e2 = fit(f[m], z[m], 'LR2')
    out += [percent(e2), 100 * (np.exp(p2[0]) / low - 1)]
    # octaves in which the correlation of the residual above 2 Fs falls to a half
    octave = np.linspace(np.log2(2 * fs), np.log2(2e4), 400)
    r = np.interp(octave, np.log2(f), e.real)
    r = r - r.mean()
    correlation = np.correlate(r, r, 'full')[399:]
    out.append(np.argmax(correlation < correlation[0] / 2) * (octave[1] - octave[0]))
    out.append(1 / (1 + np.exp(-p[5])))
    return out


def drawn(path):
    head, rows = None, []
    for line in open(path):
        if line[0] == '#':
            if rows:
                yield head, np.array(rows)
            head, rows = line.split(), []
        else:
            rows.append([float(x) for x in line.split(',')])
    yield head, np.array(rows)


def show(name, values):
    print('%-12s' % name, ' '.join('%12.2f' % v for v in values))


print(' ' * 12, ' '.join('%12s' % n for n in names))
for name in ('f144ob', 'f144w'):
    d = np.loadtxt(os.path.join(here, name + '.csv'), delimiter=',', skiprows=3)
    show(name, figures(d[:, 0], d[:, 1] * np.exp(1j * np.deg2rad(d[:, 2]))))
for path in sys.argv[1:]:
    all_ = np.array([figures(d[:, 0], d[:, 1] + 1j * d[:, 2]) for head, d in drawn(path) if float(head[2]) >= 5])
    for q in (5, 25, 50, 75, 95):
        show('drawn %d %%' % q, np.nanpercentile(all_, q, axis=0))
