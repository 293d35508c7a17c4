package truth

import "math/rand/v2"

// File is a table as a program leaves it, with what is true of the driver.
type File struct {
	Table  Table
	Driver Driver // in the state in which it was swept
	Truth  Values
}

// ExportGrid are the frequencies of exported tables, Hz: 24 an octave.
var ExportGrid = Grid(1.029, 20000, 24)

// RealFile is one driver measured in free air and exported as real files are: coarse lines on a grid from 1 Hz
// to 20 kHz, some smoothing, and a misfit that follows no law. want says which driver.
func RealFile(seed uint64, want Choice) File { return RealFiles(seed, want, Bench{}, 1)[0] }

// RealFiles are n files of one driver, re-clamped on a bench within one session. Program and misfit are the
// driver's and the rig's, the same in all of them; noise and state are not.
func RealFiles(seed uint64, want Choice, bench Bench, n int) []File {
	rng := Rand(seed, 31)
	d := DrawWith(rng, want)
	ripple := DrawRipple(rng, betweenLog(rng, 0.01, 0.025), between(rng, 0.25, 0.7), 3, 20000, 3*d.Values().Fs)
	export, rig := DrawExport(rng), DrawRig(rng)
	session := bench.Take(rng, Session, State{})
	var all []File
	for range n {
		swept := d.In(bench.Take(rng, Again, bench.Take(rng, Reclamped, session)))
		all = append(all, File{Table: export.Rows(rng, rig, ripple.Of(swept), ExportGrid), Driver: swept, Truth: swept.Values()})
	}
	return all
}

// Healthy is a woofer with a second resonance of a size between 5 and 30 % of |Z|, exported by a program.
func Healthy(seed uint64, size float64) File {
	rng := Rand(seed, 32)
	return RealFile(seed, Choice{Inch: woofers[rng.IntN(len(woofers))].inch, Resonance: size})
}

// Windowed is a driver whose ringing was cut by a time window, at a point where it has fallen to 3 to 15 %.
func Windowed(seed uint64) File {
	rng := Rand(seed, 33)
	d := Draw(rng)
	v := d.Values()
	fall := v.Qms / (3.14159 * v.Fs) // s in which it falls by e
	from := fall * between(rng, 1.9, 3.5)
	gate := Gate{From: from, To: from * between(rng, 1.2, 2)}
	return File{Table: DrawExport(rng).Rows(rng, DrawRig(rng), gate.Of(d), ExportGrid), Driver: d, Truth: v}
}

// Clipped is a magnitude that ends at the top of a meter's range, between 40 and 90 % of the peak's height.
func Clipped(seed uint64) File {
	rng := Rand(seed, 34)
	d := Draw(rng)
	v := d.Values()
	e := Export{Top: roundTo((v.Re+v.BL*v.BL/v.Rms)*between(rng, 0.4, 0.9), 1)}
	return File{Table: e.Rows(rng, DrawRig(rng), d, Grid(5, 20000, 24)), Driver: d, Truth: v}
}

// Smoothed is a curve smoothed over a fraction of an octave: 1/3 widens the peak by far.
func Smoothed(seed uint64, octaves float64) File {
	rng := Rand(seed, 35)
	d := Draw(rng)
	e := Export{Bin: 0.25, Fill: HoldNearest, Smooth: octaves}
	return File{Table: e.Rows(rng, DrawRig(rng), d, Grid(5, 20000, 24)), Driver: d, Truth: d.Values()}
}

// Slipped is a file that says another thing than it holds, from 20 Hz to 20 kHz with a header.
func Slipped(seed uint64, slip Slip) ([]byte, File) {
	rng := Rand(seed, 36)
	d := Draw(rng)
	f := File{Table: Export{}.Rows(rng, DrawRig(rng), d, Grid(10, 20000, 24)), Driver: d, Truth: d.Values()}
	layout := Layout{Slip: slip}
	if slip == RatioAsOhm || slip == DecibelsAsOhm {
		layout.Form = []Form{Polar, Magnitude}[rng.IntN(2)]
	}
	return layout.Bytes(rng, f.Table), f
}

// Readable is a file that a reader must read, laid out in one of many ways.
func Readable(seed uint64) ([]byte, Layout, File) {
	rng := Rand(seed, 37)
	d := Draw(rng)
	f := File{Table: Export{}.Rows(rng, DrawRig(rng), d, readableGrid(rng)), Driver: d, Truth: d.Values()}
	layout := DrawLayout(rng)
	return layout.Bytes(rng, f.Table), layout, f
}

// readableGrid starts where programs start.
func readableGrid(rng *rand.Rand) []float64 {
	return Grid([]float64{5, 10, 20}[rng.IntN(3)], 20000, []int{12, 24, 48}[rng.IntN(3)])
}
