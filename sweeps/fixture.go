package sweeps

import (
	"io"
	"math"
	"math/cmplx"
	"slices"
	"strings"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/checks"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/internal/spectra"
	"conewright/ts/measured"
	"conewright/ts/notice"
)

// What stands in for an uncertainty of a fixture that was not given, as standard uncertainty. Common practice.
const (
	loadHenry    = 30e-9   // of the known resistor: a film resistor with wires of some centimetres has up to 50 nH
	contactOhm   = 4e-3    // of two clips that were taken off and put on again, between a part and the short
	unknownLeads = 0.06    // ohm: a pair of test leads has up to 0.1 ohm
	strayFarad   = 100e-12 // between the leads of a fixture
	strayOhm     = 50e3    // of the inputs that lie across it
)

// Terms are recordings of what is known, made with the leads and the settings with which the parts are measured.
// All three together correct everything that is linear, from the ratio of the channels alone.
type Terms struct {
	Open    *bench.Recording // nothing between the lead ends
	Short   *bench.Recording // lead ends joined
	Load    *bench.Recording // a known resistor between the lead ends
	LoadOhm float64
	LoadStd float64 // ohm, standard uncertainty
}

// mostLost is the ratio of points from which on the ones that tell a part from nothing between the lead ends are too few.
const mostLost = 10

// complete says whether no term is missing.
func (t Terms) complete() bool { return t.Open != nil && t.Short != nil && t.Load != nil }

// Missing names the terms that are not there.
func (t Terms) Missing() (roles []string) {
	for _, r := range []struct {
		rec  *bench.Recording
		role string
	}{{t.Open, "open"}, {t.Short, "short"}, {t.Load, "load"}} {
		if r.rec == nil {
			roles = append(roles, r.role)
		}
	}
	return roles
}

// Fixture is a bench with its terms worked out, ready for parts.
type Fixture struct {
	bench             bench.Bench
	terms             Terms
	open, short, load term // empty unless all three are there
}

// term is the ratio of the channels with something known between the lead ends.
type term struct {
	ratio bench.Curve
	std   bench.Curve // the noise of each part of the ratio
}

func newTerm(ratio bench.Curve) term {
	std := bench.Curve{Freq: ratio.Freq, Value: make([]complex128, len(ratio.Std))}
	for i, s := range ratio.Std {
		std.Value[i] = complex(s, 0)
	}
	return term{ratio, std}
}

// NewFixture works out the terms. Without all three of them the parts are read as the bench reads a driver, with
// those that are there as its calibration, and what the others would have told is uncertain.
func NewFixture(t Terms, b bench.Bench) (*Fixture, error) {
	if t.Load != nil && !(t.LoadOhm > 0 && t.LoadStd >= 0 && t.LoadStd < t.LoadOhm) {
		return nil, notice.New("calibration-value", nil)
	}
	f := &Fixture{bench: b, terms: t}
	if !t.complete() {
		if len(t.Missing()) < 3 {
			// A tolerance is the half-width of a rectangle.
			known := Known{Open: t.Open, Short: t.Short, Load: t.Load, LoadOhm: t.LoadOhm, LoadTolerance: min(0.99, math.Sqrt(3)*t.LoadStd/max(t.LoadOhm, 1e-9))}
			c, err := Calibrate(known, b)
			if err != nil {
				return nil, err
			}
			if b.Calibration != nil {
				c.Channels = b.Calibration.Channels
			}
			f.bench.Calibration, f.bench.Leads, f.bench.LeadsStd = c, 0, 0
		}
		if t.Short == nil && f.bench.Leads == 0 {
			f.bench.LeadsStd = unknownLeads
		}
		return f, f.bench.Check()
	}
	// What the resistor is cancels, as does all that a calibration would correct.
	f.bench.Resistor, f.bench.Calibration, f.bench.Leads, f.bench.LeadsStd = t.LoadOhm, nil, 0, 0
	if err := f.bench.Check(); err != nil {
		return nil, err
	}
	ratio := func(h complex128) complex128 { return h }
	var size [3]float64 // of the ratio, of short, load and open
	for i, part := range []struct {
		rec  *bench.Recording
		into *term
	}{{t.Short, &f.short}, {t.Load, &f.load}, {t.Open, &f.open}} {
		curve, err := read(part.rec, f.bench, ratio)
		if err != nil {
			return nil, err
		}
		*part.into = newTerm(curve)
		size[i] = dsp.Median(abs(curve.Value))
	}
	if b.Wiring != bench.ResistorFirst { // there the ratio falls as the impedance grows
		size[0], size[2] = size[2], size[0]
	}
	if !(size[0] < size[1] && size[1] < size[2]) {
		return nil, notice.New("terms-order", nil)
	}
	return f, nil
}

// Read reads the part that a file is of: a recording, or an impedance as a table.
func (f *Fixture) Read(data io.ReaderAt, size int64, source, columns string) (measured.Impedance, error) {
	head := make([]byte, 4)
	if data == nil || size < 4 {
		return measured.Impedance{}, notice.New("file-empty", nil).In(source)
	}
	if _, err := data.ReadAt(head, 0); err != nil {
		return measured.Impedance{}, notice.New("file-empty", nil).In(source).Because(err)
	}
	if !isWAV(head) {
		return Read(data, size, source, Options{Bench: f.bench, Columns: columns})
	}
	rec, err := ReadRecording(data, size, source)
	if err != nil {
		return measured.Impedance{}, err
	}
	return f.Measure(rec)
}

// Measure turns the recording of a part into its impedance.
func (f *Fixture) Measure(rec *bench.Recording) (measured.Impedance, error) {
	if err := rec.Check(); err != nil {
		return measured.Impedance{}, err
	}
	e, err := examine(rec, f.bench)
	if err != nil {
		return measured.Impedance{}, err
	}
	var z measured.Impedance
	if f.terms.complete() {
		z, err = f.corrected(e)
	} else if z, err = e.Impedance(f.bench); err == nil && z.Len() > 0 {
		f.addMissing(&z)
	}
	if err != nil {
		return measured.Impedance{}, err
	}
	switch {
	case f.terms.complete() && mostLost*z.Len() < len(e.Points):
		return measured.Impedance{}, notice.New("part-open", nil).In(rec.Source)
	case z.Len() == 0:
		return measured.Impedance{}, checks.Unrelated(e, f.bench.Wiring)
	}
	z.Systematic = append(z.Systematic, sameFor(z, "contacts", contactOhm))
	warnings, err := checks.Warnings(e, z, f.bench)
	if err != nil {
		return measured.Impedance{}, err
	}
	// What no driver does, a part may.
	warnings = slices.DeleteFunc(warnings, func(n notice.Notice) bool { return n.Code == "below-re" || n.Code == "noisy" })
	z.Warnings = append(slices.Clone(rec.Warnings), warnings...)
	if missing := f.terms.Missing(); missing != nil {
		z.Warnings = append(z.Warnings, *notice.New("terms-missing", notice.Facts{"terms": strings.Join(missing, " ")}))
	}
	return z, nil
}

// corrected returns the impedance from the ratios of the part and of the three terms, theory (12.4):
//
//	Z = Zload (H - Hshort)(Hload - Hopen) / ( (H - Hopen)(Hload - Hshort) )
//
// Every wiring, resistor, gain, delay, input resistance and lead makes a bilinear map of the impedance out of the
// ratio, and of such a map three values tell everything. Source: open/short/load correction of impedance meters, handbook of a
// maker of such meters, appendix C; the form in the ratio derived.
func (f *Fixture) corrected(e *spectra.Result) (measured.Impedance, error) {
	var freq, sigma []float64
	var z []complex128
	zl := complex(f.terms.LoadOhm, 0)
	for _, p := range e.Points {
		h, hs, hl, ho := p.Ratio, f.short.ratio.At(p.Freq), f.load.ratio.At(p.Freq), f.open.ratio.At(p.Freq)
		v := zl * (h - hs) * (hl - ho) / ((h - ho) * (hl - hs))
		if cmplx.IsNaN(v) || cmplx.IsInf(v) {
			continue
		}
		variance := p.Variance()/2 + converterError*converterError/2*dsp.SqAbs(h)
		variance *= dsp.SqAbs(1/(h-hs) - 1/(h-ho))
		for _, by := range []struct {
			term  term
			slope complex128
		}{{f.short, 1/(hl-hs) - 1/(h-hs)}, {f.open, 1/(h-ho) - 1/(hl-ho)}, {f.load, 1/(hl-ho) - 1/(hl-hs)}} {
			variance += dsp.SqAbs(by.term.std.At(p.Freq)) * dsp.SqAbs(by.slope)
		}
		s := math.Sqrt(variance * dsp.SqAbs(v))
		if !(s > 0 && s < spectra.WorstRelative*cmplx.Abs(v)) {
			continue
		}
		freq, z, sigma = append(freq, p.Freq), append(z, v), append(sigma, s)
	}
	if len(freq) == 0 {
		return measured.Impedance{}, nil
	}
	out, err := measured.NewImpedance(freq, z, sigma)
	if err != nil {
		return out, err
	}
	out.Source = e.Rec.Source
	value := measured.Systematic{Source: "load resistor", Effect: make([]complex128, len(z))}
	wire := measured.Systematic{Source: "load inductance", Effect: make([]complex128, len(z))}
	for i, v := range z {
		value.Effect[i] = v * complex(f.terms.LoadStd/f.terms.LoadOhm, 0)
		wire.Effect[i] = v * complex(0, 2*math.Pi*freq[i]*loadHenry/f.terms.LoadOhm)
	}
	out.Systematic = []measured.Systematic{value, wire}
	return out, nil
}

// converterError is what converters are off by, relative to the ratio: linear to about -100 dB (common practice).
const converterError = 1e-5

// addMissing adds what nobody knows as long as the reading with nothing between the lead ends is missing.
func (f *Fixture) addMissing(z *measured.Impedance) {
	if f.terms.Open != nil {
		return
	}
	stray := measured.Systematic{Source: "stray capacitance", Effect: make([]complex128, z.Len())}
	input := measured.Systematic{Source: "inputs across the part", Effect: make([]complex128, z.Len())}
	for i, v := range z.Z {
		stray.Effect[i] = v * v * complex(0, 2*math.Pi*z.Freq[i]*strayFarad)
		if f.bench.InputResistance == 0 {
			input.Effect[i] = v * v / strayOhm
		}
	}
	z.Systematic = append(z.Systematic, stray, input)
}

// sameFor is an error of the same size at all frequencies.
func sameFor(z measured.Impedance, source string, ohm float64) measured.Systematic {
	s := measured.Systematic{Source: source, Effect: make([]complex128, z.Len())}
	for i := range s.Effect {
		s.Effect[i] = complex(ohm, 0)
	}
	return s
}
