package truth

import (
	"math"
	"math/cmplx"
	"slices"
	"testing"
)

// rows is a table of a lumped driver without noise.
func rows(e Export, grid []float64) Table {
	return e.Rows(Rand(1), PerfectRig(), Lumped(6, 1e-3, 8, 0.02, 1e-3, 1, 0.02), grid)
}

func TestHeldAndInterpolatedRows(t *testing.T) {
	d := Lumped(6, 1e-3, 8, 0.02, 1e-3, 1, 0.02)
	grid := []float64{0.3, 2.1, 2.2, 2.9, 31.4}
	lower := rows(Export{Bin: 1, Fill: HoldLower}, grid)
	nearest := rows(Export{Bin: 1, Fill: HoldNearest}, grid)
	line := rows(Export{Bin: 1, Fill: Linear}, grid)
	for i, c := range [][2]float64{{1, 1}, {2, 2}, {2, 2}, {2, 3}, {31, 31}} {
		near(t, "lower", lower.Mag[i], cmplx.Abs(d.Z(c[0])), 1e-12)
		near(t, "nearest", nearest.Mag[i], cmplx.Abs(d.Z(c[1])), 1e-12)
	}
	low, high := d.Z(31), d.Z(32)
	near(t, "line", line.Mag[4], 0.6*cmplx.Abs(low)+0.4*cmplx.Abs(high), 1e-12)
	near(t, "phase", line.Phase[4], (0.6*cmplx.Phase(low)+0.4*cmplx.Phase(high))*180/math.Pi, 1e-9)
	half := rows(Export{Bin: 0.5, Fill: Linear}, []float64{31.1})
	near(t, "line between halves", half.Mag[0], 0.8*cmplx.Abs(low)+0.2*cmplx.Abs(d.Z(31.5)), 1e-12)
	near(t, "measured", rows(Export{}, grid).Mag[4], cmplx.Abs(d.Z(31.4)), 1e-12)
	// Noise is held with the value: the rows of a step are alike.
	noisy := Export{Bin: 1}
	noisy.Fill = HoldLower
	tb := noisy.Rows(Rand(2), DrawRig(Rand(3)), d, grid)
	if tb.Mag[1] != tb.Mag[2] || tb.Phase[2] != tb.Phase[3] || tb.Mag[3] == tb.Mag[4] {
		t.Errorf("steps: %v", tb.Mag)
	}
}

// Smoothing over a third of an octave widens and lowers the peak: the hand method, Qms = fs √r0/(f2-f1) at
// |Z| = Re √r0, finds a fifth less or so.
func TestSmoothing(t *testing.T) {
	grid := Grid(10, 200, 96)
	byHand := func(tb Table) float64 {
		top := slices.Max(tb.Mag)
		r0, level := top/6, math.Sqrt(6*top)
		var above []float64
		for i, mag := range tb.Mag {
			if mag > level {
				above = append(above, tb.F[i])
			}
		}
		low, high := above[0], above[len(above)-1]
		return math.Sqrt(low*high*r0) / (high - low)
	}
	sharp, soft := rows(Export{Bin: 0.25, Fill: HoldNearest}, grid), rows(Export{Bin: 0.25, Fill: HoldNearest, Smooth: 1. / 3}, grid)
	near(t, "sharp", byHand(sharp), 4.47, 0.04)
	if r := byHand(soft) / byHand(sharp); r < 0.65 || r > 0.88 {
		t.Errorf("smoothing leaves %.2f of Qms", r)
	}
	// Magnitude and phase are averaged apart, over the lines of the window: at 12 Hz those of 10.75 to 13.25 Hz.
	e := Export{Bin: 0.25, Fill: HoldNearest, Smooth: 1. / 3}
	d := Lumped(6, 1e-3, 8, 0.02, 1e-3, 1, 0.02)
	mag, phase, n := 0.0, 0.0, 0.0
	for f := 10.75; f <= 13.25; f += 0.25 {
		mag, phase, n = mag+cmplx.Abs(d.Z(f)), phase+cmplx.Phase(d.Z(f))*180/math.Pi, n+1
	}
	one := rows(e, []float64{12})
	near(t, "mean magnitude", one.Mag[0], mag/n, 1e-12)
	near(t, "mean phase", one.Phase[0], phase/n, 1e-12)
	fine := rows(Export{Bin: 0.25, Fill: HoldNearest, Smooth: 1. / 48}, grid)
	near(t, "a 48th of an octave", slices.Max(fine.Mag), slices.Max(sharp.Mag), 0.02)
	near(t, "far from the peak", soft.Mag[len(grid)-1], sharp.Mag[len(grid)-1], 0.02)
}

func TestClippedAtTheTop(t *testing.T) {
	tb := rows(Export{Top: 30}, Grid(10, 200, 48))
	if m := slices.Max(tb.Mag); m != 30 {
		t.Errorf("highest magnitude %g", m)
	}
}

// The gate, by quadrature: the ringing after the window is removed from the spectrum.
func TestGateAgainstQuadrature(t *testing.T) {
	d := Lumped(6, 1e-3, 8, 0.02, 1e-3, 0.5, 0.02)
	g := Gate{From: 0.15, To: 0.25}
	m, k, r := 0.02, 1000., 0.5
	decay := r / (2 * m)
	ring := math.Sqrt(k/m - decay*decay)
	for _, f := range []float64{20, 34, 36, 60, 150} {
		var removed complex128
		const dt = 1e-5
		for at := g.From + dt/2; at < 3; at += dt {
			// h(t) = BL²/M e^{-δt}(cos Ωt - δ/Ω sin Ωt), the inverse of BL² s/(Ms² + Rs + K)
			h := 64 / m * math.Exp(-decay*at) * (math.Cos(ring*at) - decay/ring*math.Sin(ring*at))
			window := 0.0
			if at < g.To {
				window = (1 + math.Cos(math.Pi*(at-g.From)/(g.To-g.From))) / 2
			}
			removed += complex((1-window)*h*dt, 0) * cmplx.Rect(1, -2*math.Pi*f*at)
		}
		nearC(t, "removed", d.Z(f)-g.Of(d).Z(f), removed, 1e-5)
	}
}

// A band is as high as it says at its centre, and falls to 1/√2 half its width away.
func TestBandOfARipple(t *testing.T) {
	r := DrawRipple(Rand(1), 0.03, 0.5, 5, 20000, 150)
	r.Bands = []Band{{1000, 0.02}}
	nearC(t, "centre", r.Factor(1000), 1.02, 1e-12)
	near(t, "edge", cmplx.Abs(r.Factor(1000*math.Exp2(0.25))-1), 0.02/math.Sqrt2, 1e-9)
}

// A ripple has the size it is said to have, follows no sign, leaves DC alone, and is smooth.
func TestRipple(t *testing.T) {
	for seed := range seeds(20) {
		r := DrawRipple(Rand(seed, 109), 0.03, 0.5, 5, 20000, 150)
		sum, quiet, n, m := 0.0, 0.0, 0.0, 0.0
		for _, f := range Grid(5, 20000, 24) {
			e := cmplx.Abs(r.Factor(f) - 1)
			sum, n = sum+e*e/2, n+1
			if f < 75 {
				quiet, m = quiet+e*e/2, m+1
			}
			if step := cmplx.Abs(r.Factor(f*1.02) - r.Factor(f)); step > 0.03 {
				t.Errorf("seed %d: jumps by %.3f at %.0f Hz", seed, step, f)
			}
		}
		near(t, "size", math.Sqrt(sum/n), 0.03, 1e-6)
		if q := math.Sqrt(quiet / m); q > 0.02 {
			t.Errorf("seed %d: %.4f at low frequencies", seed, q)
		}
		nearC(t, "DC", r.Factor(1e-3), 1, 1e-4)
		d := Draw(Rand(seed, 110))
		for _, f := range Grid(1, 20000, 24) {
			if real(r.Of(d).Z(f)) < 0 {
				t.Errorf("seed %d: active at %g Hz", seed, f)
			}
		}
	}
}
