#!/usr/bin/python3
"""The long digits of the handbook tests: what the printed examples give when they are
worked out once more with more digits. Needs nothing but Python; the equations are written
down here from the circuit, Z = Re + ZL + BL^2/(Rms + jw Mms + 1/(jw Cms)), and not
from the Go code. Prints derived.txt.
"""
from cmath import phase
from math import log10, pi, sqrt

RHO, C = 1.2, 344.0  # of the course; other examples say theirs


def driver(re, bl, mms, cms, rms, coil=lambda s: 0):
    return dict(re=re, bl=bl, mms=mms, cms=cms, rms=rms, coil=coil)


def z(d, f):
    s = 2j * pi * f
    return d["re"] + d["coil"](s) + d["bl"] ** 2 / (d["rms"] + s * d["mms"] + 1 / (s * d["cms"]))


def fs(d):
    return 1 / (2 * pi * sqrt(d["mms"] * d["cms"]))


def qms(d):
    return sqrt(d["mms"] / d["cms"]) / d["rms"]


def qes(d):
    return sqrt(d["mms"] / d["cms"]) * d["re"] / d["bl"] ** 2


def qts(d):
    return 1 / (1 / qms(d) + 1 / qes(d))


def crossing(d, level, side):
    """Where |Z| falls to level, below (side -1) or above (+1) the resonance."""
    inside, outside = fs(d), fs(d) * 50.0 ** side
    for _ in range(200):
        mid = sqrt(inside * outside)
        if abs(z(d, mid)) > level:
            inside = mid
        else:
            outside = mid
    return inside


def hand(d):
    """The three-point method with the true Re: Fs, Qms, Qes, f1, f2."""
    peak = fs(d)
    lo, hi = 0.7 * peak, 1.4 * peak
    for _ in range(300):  # the highest point, by thirds
        a, b = lo + (hi - lo) / 3, hi - (hi - lo) / 3
        if abs(z(d, a)) < abs(z(d, b)):
            lo = a
        else:
            hi = b
    r0 = abs(z(d, lo)) / d["re"]
    level = d["re"] * sqrt(r0)
    f1, f2 = crossing(d, level, -1), crossing(d, level, +1)
    f = sqrt(f1 * f2)
    q = f * sqrt(r0) / (f2 - f1)
    return f, q, q / (r0 - 1), f1, f2


def efficiency(d, sd, rho=RHO, c=C):
    return rho / (2 * pi * c) * (d["bl"] * sd / d["mms"]) ** 2 / d["re"]


def level(eta, rho=RHO, c=C):
    return 10 * log10(eta * rho * c / (2 * pi) / 4e-10)


def say(name, **values):
    print(name + ": " + ", ".join(f"{k} {v:.7g}" for k, v in values.items()))


# Problem 1 of the course.
d, sd = driver(6, 5, 38e-3, 0.9e-3, 1.5), pi / 4 * 0.20 ** 2
e = efficiency(d, sd)
say("problem 1", fs=fs(d), Qms=qms(d), Qes=qes(d), Qts=qts(d), Vas_L=1e3 * RHO * C ** 2 * sd ** 2 * d["cms"],
    Cmes_uF=1e6 * d["mms"] / d["bl"] ** 2, Lces_mH=1e3 * d["cms"] * d["bl"] ** 2, Zmax=abs(z(d, fs(d))),
    eta0_percent=100 * e, dB_1W=level(e), dB_2V83=level(e) + 20 * log10(2.83 / sqrt(6)))

# The 12-inch woofer of the course.
woofer, sd = dict(re=5.46, bl=11.6, mms=0.0882, cms=0.55e-3, rms=3.25), 0.0519
d = driver(**woofer)
e, r0 = efficiency(d, sd), abs(z(d, fs(d))) / 5.46
say("woofer", fs=fs(d), Qms=qms(d), Qes=qes(d), Qts=qts(d), Zmax=r0 * 5.46, r0=r0, f1=hand(d)[3], f2=hand(d)[4],
    Vas_L=1e3 * RHO * C ** 2 * sd ** 2 * d["cms"], eta0_percent=100 * e, dB_1W=level(e),
    dB_2V83=level(e) + 20 * log10(2.83 / sqrt(5.46)))
lossy, plain = lambda s: 0.0106 * s ** 0.76, lambda s: 2.8e-3 * s
say("woofer at 1 kHz", lossy=abs(z(driver(**woofer, coil=lossy), 1000)), plain=abs(z(driver(**woofer, coil=plain), 1000)))
for grams in (20, 40, 88.2):
    print(f"woofer with {grams} g: fs {fs(dict(d, mms=d['mms'] + grams / 1e3)):.6f}")
for litres in (20, 50, 100):
    box = RHO * C ** 2 * sd ** 2 / (litres / 1e3)
    print(f"woofer in {litres} L: fc {fs(dict(d, cms=1 / (1 / d['cms'] + box))):.6f}")

# The small full-range driver of the course: the parts and the air of both sides.
a = 3.05e-2
d = driver(6, 3.4, 2.3e-3 + 16 / 3 * RHO * a ** 3, 0.98e-3, 0.35)
say("small driver", Mms_g=1e3 * d["mms"], fs=fs(d), Qms=qms(d), Qes=qes(d), Qts=qts(d), Vas_L=1e3 * RHO * C ** 2 * (pi * a * a) ** 2 * d["cms"])

# The driver of the preparatory class: its minimum.
stiff = driver(5, 24, 0.15, 0.11e-3, 6, lambda s: 1.5e-3 * s)
lo, hi = 200.0, 350.0
for _ in range(300):
    p, q = lo + (hi - lo) / 3, hi - (hi - lo) / 3
    if abs(z(stiff, p)) > abs(z(stiff, q)):
        lo = p
    else:
        hi = q
say("preparatory class", least=abs(z(stiff, lo)), at=lo, phase=phase(z(stiff, 1000)) * 180 / pi)

# The closed box of the paper.
say("paper", Qts=3.7 * 0.35 / (3.7 + 0.35), eta0_percent=100 * 4 * pi ** 2 / 345 ** 3 * 19 ** 3 * 0.540 / 0.35)

# What inductance does to the three-point method.
for name, d in (("no inductance", driver(**woofer)), ("plain coil", driver(**woofer, coil=plain)), ("lossy coil", driver(**woofer, coil=lossy)),
                ("stiff woofer", stiff), ("low Q", driver(6, 8, 0.04, 0.5e-3, 6, lambda s: 0.03 * s ** 0.65))):
    f, qm, qe, f1, f2 = hand(d)
    print(f"by hand, {name}: Fs {f:.6f}, Qms {qm:.6f}, Qes {qe:.6f}, f1 {f1:.6f}, f2 {f2:.6f}")

# The moving mass from two frequencies: its gain of errors, and its bias with creep.
for fall in (0.10, 0.20, 0.25, 0.30, 0.40, 0.50):
    r = 1 / (1 - fall) ** 2
    print(f"fall {fall:.2f}: r {r:.4f}, dM/Mms {r - 1:.4f}, 2r/(r-1) {2 * r / (r - 1):.3f}, 2/(r-1) {2 / (r - 1):.3f}")
for lam, mass in ((0.05, 1), (0.10, 1), (0.15, 1), (0.20, 1), (0.10, 2.6), (0.15, 2.6)):
    lo, hi = 0.1, 1.0  # f/fs with the mass on the cone: w^2 C(w) (1 + mass) = 1
    for _ in range(100):
        mid = (lo + hi) / 2
        if mid ** 2 * (1 - lam * log10(mid)) * (1 + mass) < 1:
            lo = mid
        else:
            hi = mid
    print(f"creep {lam:.2f}, dM/Mms {mass}: Mms/true {mass / (1 / lo ** 2 - 1):.4f}")
