#!/usr/bin/python3
"""From a two-channel WAV (24 bit, resistor-first) to the impedance with its noise, in numpy and scipy.

The same computation as package sweeps does for a sweep: three sample rates, segments, local polynomial
fits, pooled noise. See docs/theory.md, section 6. Prints the time in seconds to stderr when asked for
(--time N: the smallest of N), and frequency, real part, imaginary part, sigma to stdout.

The filters are numpy's convolution over the coefficients that are not zero; with --upfirdn they are scipy's
routine for filtering and thinning out in one, which takes longer and gives the same.

usage: recording.py FILE RESISTOR [--upfirdn] [--time N]
"""
import sys
import time

import numpy as np
from scipy.signal import upfirdn

LOWEST, HIGHEST, USABLE = 2.0, 20e3, 0.4
LONGEST = (1 << 15, 1 << 15, 1 << 16)
RATIO, LEAK = 2, 2
MIN_CELLS = RATIO + LEAK + 2 + 6
POINTS, WEAKEST, WORST, POOLED = 48, 1e-4, 0.1, 40
MOST_NOISE, SPLIT, CONVERTER = 0.1, 0.5, 1e-5
BAND_SHARE, BAND_TAPS, BAND_STOP = 1e-6, 257, 0.03
UPFIRDN = "--upfirdn" in sys.argv


def read_wav(path):
    """Both channels as float64 and the rate; 24-bit PCM with a plain header or an extensible one."""
    raw = np.fromfile(path, dtype=np.uint8)
    pos = 12
    while True:
        name, size = bytes(raw[pos:pos + 4]), int(raw[pos + 4:pos + 8].view("<u4")[0])
        body = raw[pos + 8:pos + 8 + size]
        if name == b"fmt ":
            rate = int(body[4:8].view("<u4")[0])
            assert int(body[2:4].view("<u2")[0]) == 2 and int(body[14:16].view("<u2")[0]) == 24
        if name == b"data":
            break
        pos += 8 + size + size % 2
    b = body[:len(body) // 6 * 6].reshape(-1, 3)
    wide = np.zeros((len(b), 4), dtype=np.uint8)
    wide[:, 1:] = b
    x = wide.view("<i4").reshape(-1, 2)
    return x[:, 0] / 2.0 ** 31, x[:, 1] / 2.0 ** 31, rate


def halfband(passband):
    """The middle coefficient and those at odd distances from it; the others are zero."""
    n = int(np.ceil(((100 - 7.95) / (14.36 * (0.5 - 2 * passband)) + 1) / 4))
    d = np.arange(-(2 * n - 1), 2 * n, 2)
    beta = 0.1102 * (100 - 8.7)
    taps = 0.5 * np.sinc(d / 2) * np.kaiser(4 * n + 1, beta)[1:-1:2]
    return 0.5 / (0.5 + taps.sum()), taps / (0.5 + taps.sum())


def halve(x, passband):
    middle, taps = halfband(passband)
    n = len(taps) // 2
    count = max(0, (len(x) - 2 * n) // 2 + 1)
    # As a stream does it: silence before the start, and only outputs whose whole window has come.
    if UPFIRDN:
        h = np.zeros(4 * n - 1)
        h[::2], h[2 * n - 1] = taps, middle
        return upfirdn(h, np.concatenate(([0.0], x)), 1, 2)[n:n + count]
    side = np.concatenate((np.zeros(n), x[1::2]))
    return middle * x[::2][:count] + np.convolve(side, taps, "valid")[:count]


def smooth_below(n):
    best, p5 = 2, 1
    while 2 * p5 <= n:
        p3 = p5
        while 2 * p3 <= n:
            m = 2 * p3
            while 2 * m <= n:
                m *= 2
            best, p3 = max(best, m), p3 * 3
        p5 *= 5
    return best


def hum_bins(f, hz, bin_hz):
    h = np.round(f / hz)
    return (h >= 1) & (h * hz <= 1000) & (np.abs(f - h * hz) <= np.maximum(0.5 + 0.1 * h, 8 * bin_hz))


class Band:
    def __init__(self, x, y, j, n, bin_hz, rate):
        self.rate = rate
        self.centre, self.half = (j + (n - 1) / 2) * bin_hz, (n - 1) / 2 * bin_hz
        f = np.arange(j, j + n) * bin_hz
        cut = slice(j, j + n)
        self.fits = [self.solve([(a[:, cut], b[:, cut]) for a, b in zip(x, y)], np.ones(n, bool))]
        for hz in (50, 60):
            bad = hum_bins(f, hz, bin_hz)
            self.fits.append(self.solve([(a[:, cut], b[:, cut]) for a, b in zip(x, y)], ~bad) if bad.any() else None)

    @staticmethod
    def solve(cuts, use):
        best = None
        for x, y in cuts:
            if len(x) and use.sum() >= MIN_CELLS:
                fit = local_fit(x[:, use], y[:, use], np.linspace(-1, 1, len(use))[use])
                if fit and (best is None or fit["gain"] < best["gain"]):
                    best = fit
        return best


def local_fit(x, y, d):
    q, _ = np.linalg.qr(np.vander(d, LEAK + 1, increasing=True))
    cols = np.stack([x, d * x, d * d * x, y], axis=1)  # segment, column, bin
    cols = (cols - (cols @ q) @ q.T).transpose(1, 0, 2).reshape(RATIO + 2, -1)
    gram = cols.conj() @ cols.T
    rhs = RATIO + 1
    cells = len(x) * (len(d) - LEAK - 1)
    power = gram[0, 0].real / cells
    if not power * cells > 1e-12 * (np.abs(x) ** 2).sum():
        return None
    at = min(max(gram[0, 1].real / gram[0, 0].real, -1), 1)
    n = RATIO + 1 if gram[1, 1].real / gram[0, 0].real - at * at >= 0.05 else 1
    dof = cells - n
    if dof < 1:
        return None
    there = np.array([1, at, at * at])[:n]
    moment = np.array([[0 if (i + k) % 2 else 1 / (i + k + 1) for k in range(n)] for i in range(n)])
    noise_x = 0.0
    for _ in range(3):
        a = gram[:n, :n] - noise_x * moment * cells
        try:
            inverse = np.linalg.inv(a)
        except np.linalg.LinAlgError:
            return None
        g = inverse @ gram[:n, rhs]
        rss = gram[rhs, rhs].real - 2 * (g.conj() @ gram[:n, rhs]).real + (g.conj() @ gram[:n, :n] @ g).real
        noise = max(rss, 1e-15 * gram[rhs, rhs].real) / dof
        noise_x = noise / (1 + abs(g @ there) ** 2)
    if noise_x > MOST_NOISE * power:
        return None
    return dict(at=at, ratio=g @ there, gain=(there @ inverse @ there).real, noise=noise, dof=dof, total=power * len(x),
                split=abs(g @ there) ** 2 * (SPLIT * noise_x / power) ** 2)


def above_band():
    """High-pass from the lower end of a level's band."""
    d = np.arange(BAND_TAPS) - BAND_TAPS // 2
    middle = (BAND_STOP + USABLE / 8) / 2
    taps = -2 * middle * np.sinc(2 * middle * d) * np.kaiser(BAND_TAPS + 2, 0.1102 * (80 - 8.7))[1:-1]
    taps[BAND_TAPS // 2] += 1
    return taps


def has_signal(segments):
    """Which segments have signal in the band of their level: the others are not transformed."""
    looks = segments.shape[1] // BAND_TAPS
    heard = segments[:, :looks * BAND_TAPS].reshape(len(segments), looks, BAND_TAPS) @ above_band()
    return (heard ** 2).mean(axis=1) >= BAND_SHARE * segments.var(axis=1)


def changes(spectra, heard, lo, hi):
    """Which segments differ much from the one before; spectra are those of the segments with signal."""
    step = np.log(hi / lo) / 16
    edges = [lo] + [int(lo * np.exp(step * (g + 1))) for g in range(16)]
    p = np.zeros((len(heard), 16))
    p[heard] = np.stack([(np.abs(spectra[:, a:b]) ** 2).sum(axis=1) for a, b in zip(edges, edges[1:])], axis=1)
    return ((p[1:] < 0.1 * p[:-1]) | (p[:-1] < 0.1 * p[1:])).any(axis=1)


def levels(x, y, rate):
    frames = len(x)
    top = 0.46
    while rate / 2 * 0.42 >= HIGHEST:
        x, y, frames, rate = halve(x, HIGHEST / rate), halve(y, HIGHEST / rate), frames // 2, rate / 2
        top = 0.42
    hi = min(HIGHEST, top * rate)
    for i, longest in enumerate(LONGEST):
        if i:
            passband = hi
            for _ in range(3):
                x, y, frames, rate = halve(x, passband / rate), halve(y, passband / rate), frames // 2, rate / 2
        n = frames - 64
        count = (n + longest - 1) // longest
        size = smooth_below(n // count)
        lo = USABLE * rate / 8 if i < 2 else LOWEST
        cx, cy = (v[:count * size].reshape(count, size) for v in (x, y))
        heard = has_signal(cx) if i < 2 else np.ones(count, bool)
        sx, sy = (np.fft.rfft(c if heard.all() else c[heard]) for c in (cx, cy))
        bin_hz = rate / size
        bx, by = sx[:0], sy[:0]
        if count > 1:
            need = np.nonzero(changes(sx, heard, max(1, int(lo / bin_hz)), min(size // 2, int(hi / bin_hz))))[0]
            starts = (need + 1) * size - size // 2
            bx, by = (np.fft.rfft(np.stack([v[s:s + size] for s in starts])) if len(starts) else sx[:0] for v in (x, y))
        yield bin_hz, size, lo, hi, (sx, bx), (sy, by)
        hi = lo


def bands(bin_hz, size, lo, hi, x, y):
    j, last = max(1, int(np.ceil(lo / bin_hz))), min(int(hi / bin_hz), size // 2 - 1)
    while True:
        n = max(MIN_CELLS, int(np.floor(j * (2 ** (1 / POINTS) - 1) + 0.5)))
        if j + n - 1 > last:
            return
        yield Band(x, y, j, n, bin_hz, size * bin_hz)
        j += n


def quiet(fit):
    return fit["noise"] / (1 + abs(fit["ratio"]) ** 2)


def find_hum(all_bands):
    best, share = 0, 0.0
    for m in (1, 2):
        excess, expected = 0.0, 0
        for i, b in enumerate(all_bands):
            if b.fits[m] is None or b.fits[0] is None:
                continue
            near = []
            for d in range(1, 60):
                if len(near) >= 4:
                    break
                for k in (i - d, i + d):
                    if 0 <= k < len(all_bands) and not hum_family(all_bands[k], m) and all_bands[k].fits[0]:
                        near.append(quiet(all_bands[k].fits[0]))
            if near:
                excess += quiet(b.fits[0]) / np.mean(near)
                expected += 1
        if expected and excess / expected > 3 and excess / expected > share:
            best, share = m, excess / expected
    return best


def hum_family(band, m):
    return band.fits[m] is not None


def pool(points):
    scaled = np.array([quiet(p) for p in points])
    dofs = np.array([p["dof"] for p in points])
    out = scaled.copy()
    for i in range(len(points)):
        dof, total, d = dofs[i], scaled[i] * dofs[i], 1
        while dof < POOLED and d <= POOLED // 2:
            for k in (i - d, i + d):
                if 0 <= k < len(points):
                    total, dof = total + scaled[k] * dofs[k], dof + dofs[k]
            d += 1
        if scaled[i] <= (1 + 3.1 / np.sqrt(dofs[i]) + 3 / dofs[i]) * total / dof:
            out[i] = total / dof
    return out * np.array([1 + abs(p["ratio"]) ** 2 for p in points])


def impedance(path, resistor):
    x, y, rate = read_wav(path)
    found = []
    for level in levels(x, y, rate):
        found = list(bands(*level)) + found
    hum = find_hum(found)
    points = []
    for b in found:
        fit = b.fits[hum] if hum and hum_family(b, hum) else b.fits[0]
        if fit:
            points.append(dict(fit, freq=b.centre + fit["at"] * b.half, centre=b.centre, rate=b.rate))
    energy = [p["total"] / p["rate"] ** 2 * p["centre"] for p in points]
    beside = [0] + energy + [0]
    points = [p for i, p in enumerate(points) if energy[i] > WEAKEST * max(energy)
              and energy[i] > 0.1 * max(beside[i], beside[i + 2])]
    noise = pool(points)
    rows = []
    for p, n in zip(points, noise):
        h = p["ratio"]
        z = resistor * h / (1 - h)
        sigma = np.sqrt((n * p["gain"] + p["split"] + (CONVERTER * abs(h)) ** 2) / 2) * abs(resistor / (1 - h) ** 2)
        if sigma < WORST * abs(z):
            rows.append((p["freq"], z.real, z.imag, sigma))
    return rows


def main():
    path, resistor = sys.argv[1], float(sys.argv[2])
    if "--time" in sys.argv:
        best = np.inf
        for _ in range(int(sys.argv[sys.argv.index("--time") + 1])):
            start = time.perf_counter()
            rows = impedance(path, resistor)
            best = min(best, time.perf_counter() - start)
        print(f"{best:.4f}", file=sys.stderr)
    else:
        rows = impedance(path, resistor)
    for r in rows:
        print(*("%.12g" % v for v in r))


main()
