#!/usr/bin/python3
"""Impedance of a few drivers with 40-digit decimal arithmetic.

Writes one table for each driver into the directory given as argument.
Needs nothing but Python. The equations are written down here a second time,
from the circuit and not from the Go code:

    Z = Re + ZL + BL^2 / Zm,   Zm = Rv + jw M + 1/(jw C)
    C = C0 (1 - lambda log10(w/ws) - j kappa lambda),   kappa = pi/(2 ln 10)
    C0 and Rv such that 1/Re(1/C) = Cms and Rv + Im(1/C)/ws = Rms at w = ws
"""
import sys
from decimal import Decimal as D, getcontext

getcontext().prec = 60  # 40 digits survive


def arctan_inverse(n):
    total, term, k = D(0), D(1) / n, 1
    while abs(term) > D(10) ** -58:
        total += term / k if k % 4 == 1 else -term / k
        term /= n * n
        k += 2
    return total


PI = 4 * (4 * arctan_inverse(5) - arctan_inverse(239))  # Machin
LN10 = D(10).ln()


def cos_sin(x):
    c, s, term, k = D(0), D(0), D(1), 0
    while abs(term) > D(10) ** -58:
        if k % 2 == 0:
            c += term if k % 4 == 0 else -term
        else:
            s += term if k % 4 == 1 else -term
        k += 1
        term = term * x / k
    return c, s


class C:
    """A complex number of two decimals."""

    def __init__(self, re, im=0):
        self.re, self.im = D(re), D(im)

    def __add__(self, o):
        return C(self.re + o.re, self.im + o.im)

    def __mul__(self, o):
        return C(self.re * o.re - self.im * o.im, self.re * o.im + self.im * o.re)

    def inverse(self):
        n = self.re * self.re + self.im * self.im
        return C(self.re / n, -self.im / n)


def coil(kind, p, w):
    if kind == "plain":
        return C(0, w * D(p["L"]))
    if kind == "two-part":
        parallel = (C(0, w * D(p["L2"])).inverse() + C(p["R2"]).inverse()).inverse()
        return C(0, w * D(p["L1"])) + parallel
    if kind == "semi":  # s Leb + (s Le parallel Ke sqrt(s) parallel Rss), sqrt(j) = (1 + j)/sqrt(2)
        root = D(p["Ke"]) * (w / 2).sqrt()
        branches = C(0, w * D(p["Le"])).inverse() + C(root, root).inverse() + C(p["Rss"]).inverse()
        return C(0, w * D(p["Leb"])) + branches.inverse()
    if kind == "power":  # Kr w^Xr + j Ki w^Xi
        return C(D(p["Kr"]) * (D(p["Xr"]) * w.ln()).exp(), D(p["Ki"]) * (D(p["Xi"]) * w.ln()).exp())
    n = D(p["n"])  # lossy
    c, s = cos_sin(n * PI / 2)
    m = D(p["K"]) * (n * w.ln()).exp()
    return C(m * c, m * s)


def impedance(d, f):
    w = 2 * PI * D(f)
    mms, cms, rms, bl = D(d["Mms"]), D(d["Cms"]), D(d["Rms"]), D(d["BL"])
    lam = D(d.get("creep", "0"))
    ws = 1 / (mms * cms).sqrt()
    loss = PI / (2 * LN10) * lam  # C(ws) = C0 (1 - j loss)
    c0 = cms / (1 + loss * loss)
    viscous = rms - loss / (ws * cms)
    c = C(c0 * (1 - lam * (w / ws).ln() / LN10), -c0 * loss)
    zm = C(viscous, w * mms) + (C(0, w) * c).inverse()
    return C(d["Re"]) + coil(d["coil"], d, w) + C(bl * bl) * zm.inverse()


DRIVERS = {
    "plain": dict(coil="plain", Re="5", BL="24", Mms="0.15", Cms="0.11e-3", Rms="6", L="1.5e-3"),
    "lossy": dict(coil="lossy", Re="5.46", BL="11.6", Mms="0.0882", Cms="0.55e-3", Rms="3.25", K="0.0106", n="0.76"),
    "two-part": dict(coil="two-part", Re="5.6", BL="8", Mms="0.03", Cms="0.75e-3", Rms="1.5", L1="0.4e-3", L2="0.8e-3", R2="6"),
    "semi": dict(coil="semi", Re="5.6", BL="8", Mms="0.03", Cms="0.75e-3", Rms="1.5", Leb="0.2e-3", Le="1.1e-3", Ke="0.09", Rss="40"),
    "power": dict(coil="power", Re="5.6", BL="8", Mms="0.03", Cms="0.75e-3", Rms="1.5", Kr="0.0021", Xr="0.78", Ki="0.0086", Xi="0.7"),
    "creep": dict(coil="lossy", Re="5.6", BL="8", Mms="0.03", Cms="0.75e-3", Rms="1.5", K="0.008", n="0.7", creep="0.12"),
}
FREQUENCIES = "1 5 10 16 20 22.5 25 33 50 100 200 500 1000 5000 10000 20000".split()


def digits(x):
    """Fifteen significant digits."""
    with_15 = x.normalize().__round__(14 - x.adjusted())
    return format(with_15.normalize(), "f")


def table(name):
    d = DRIVERS[name]
    yield "# source: exact model values computed with 40-digit arithmetic"
    yield "# driver, SI units: " + ", ".join(f"{k} {v}" for k, v in d.items())
    yield "# frequency [Hz], real part [ohm], imaginary part [ohm]"
    for f in FREQUENCIES:
        z = impedance(d, f)
        yield f"{f:>6} {digits(z.re):>18} {digits(z.im):>20}"


if __name__ == "__main__":
    for name in DRIVERS:
        text = "\n".join(table(name)) + "\n"
        with open(f"{sys.argv[1]}/{name}.txt", "w") as out:
            out.write(text)
