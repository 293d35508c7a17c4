"""Steady tones through a driver with friction, a hardening suspension or an uneven force factor, integrated in time.

    python3 make.py > tones.txt

Needs numpy and scipy (Debian packages python3-numpy and python3-scipy; scipy 1.10.1 made the committed file).

    Le di/dt + (Re + Rs) i + Bl(x) v = e(t),    Mms dv/dt + Rms v + K x + k2 x^3 + F sign(v) = Bl(x) i

solve_ivp with DOP853; the integration stops wherever the speed is zero, and there the coil stays while the other forces
are below F. After the transient has died away one period of 4096 samples is transformed. A line: what differs from the
driver below (F in N, k2 in N/m^3, b1 in 1/m, b2 in 1/m^2), U in V rms of the source, f in Hz; the impedance at the
terminals in ohm; amplitudes (peak) of speed in m/s and current in A; harmonics 2 to 10 of the current over the fundamental
in percent; the part of the time at rest in percent.
"""
import sys
import numpy as np
from scipy.integrate import solve_ivp

RE, RS, LE, BL, MMS, CMS, RMS = 6.0, 10.0, 0.5e-3, 6.0, 0.015, 1.05e-3, 0.9
SAMPLES = 4096


def steady(f, volt, friction=0.0, k2=0.0, b1=0.0, b2=0.0, cycles=None):
    w, top = 2 * np.pi * f, volt * np.sqrt(2)
    # The transient of the driver alone is gone after some periods of its own resonance.
    cycles = cycles or max(12, int(np.ceil(1.0 * f)))
    state = {"slide": 0.0}

    def net(t, y):
        i, x, v = y
        return BL * (1 + b1 * x + b2 * x * x) * i - x / CMS - k2 * x**3 - RMS * v

    def rhs(t, y):
        i, x, v = y
        bl = BL * (1 + b1 * x + b2 * x * x)
        di = (top * np.sin(w * t) - (RE + RS) * i - bl * v) / LE
        if friction and state["slide"] == 0:
            return [di, 0.0, 0.0]
        return [di, v, (net(t, y) - friction * state["slide"]) / MMS]

    def stops(t, y):
        return y[2]

    def starts(t, y):
        return abs(net(t, y)) - friction

    stops.terminal = starts.terminal = True
    starts.direction = 1
    end, begin = cycles / f, (cycles - 1) / f
    grid = begin + np.arange(SAMPLES) / SAMPLES / f
    out = np.zeros((SAMPLES, 3))
    t, y, rest = 0.0, np.zeros(3), 0.0
    options = dict(method="DOP853", rtol=1e-9, atol=[1e-12, 1e-14, 1e-12], max_step=1 / f / 40)
    while t < end:
        if friction:
            events = starts if state["slide"] == 0 else stops
            # The event at the beginning itself is not one: look a little later.
            if state["slide"]:
                stops.direction = -state["slide"]
        else:
            events = None
        s = solve_ivp(rhs, [t, end], y, events=events, dense_output=True, **options)
        inside = (grid >= t) & (grid < s.t[-1] if s.t[-1] < end else grid <= end)
        if inside.any():
            out[inside] = s.sol(grid[inside]).T
            if friction and state["slide"] == 0:
                rest += inside.sum()
        t, y = s.t[-1], s.y[:, -1].copy()
        if s.status == 1:
            if state["slide"] == 0:
                state["slide"] = np.sign(net(t, y))
                y[2] = 1e-13 * state["slide"]
            else:
                g = net(t, y)
                state["slide"] = np.sign(g) if abs(g) > friction else 0.0
                y[2] = 1e-13 * state["slide"]
    c = 2 / SAMPLES * np.fft.rfft(out, axis=0)
    i, v = c[:, 0], c[:, 2]
    e = -1j * top * np.exp(1j * w * begin)
    z = (e - RS * i[1]) / i[1]
    return z, abs(v[1]), abs(i[1]), 100 * abs(i[2:11]) / abs(i[1]), 100 * rest / SAMPLES


def line(f, volt, **kw):
    z, v, i, h, rest = steady(f, volt, **kw)
    named = dict(friction=0.0, k2=0.0, b1=0.0, b2=0.0) | kw
    print(*("%g" % named[k] for k in ("friction", "k2", "b1", "b2")), "%g %g" % (volt, f),
          "%.6f %.6f %.6g %.6g" % (z.real, z.imag, v, i), *("%.6g" % x for x in h), "%.2f" % rest)
    sys.stdout.flush()


print("# F k2 b1 b2 U f Re(Z) Im(Z) V I h2 h3 h4 h5 h6 h7 h8 h9 h10 rest")
for f in (20, 30, 40, 60, 100):
    line(f, 0.3)
for friction in (0.002, 0.01, 0.03):
    for volt in (0.1, 0.3, 1):
        for f in (20, 30, 40, 60, 100):
            line(f, volt, friction=friction)
for kw in (dict(k2=1e8), dict(b2=-4e4), dict(b1=20.0)):
    for volt in (0.1, 0.3, 1, 3):
        for f in (20, 30, 40, 60, 100):
            line(f, volt, **kw)
