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
	open, short, load term // of those that were recorded
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

// NewFixture works out the terms. For those that are missing stands what the bench would record if it were ideal; how far
// it may not be is in the uncertainty of every part. Without any, a part is read as a driver is.
func NewFixture(t Terms, b bench.Bench) (*Fixture, error) {
	if t.Load != nil && !(t.LoadOhm > 0 && t.LoadStd >= 0 && t.LoadStd < t.LoadOhm) {
		return nil, notice.New("calibration-value", nil)
	}
	f := &Fixture{bench: b, terms: t}
	missing := len(t.Missing())
	if missing == 0 {
		// What the resistor is cancels, as does all that a calibration would correct.
		f.bench.Resistor, f.bench.Calibration = t.LoadOhm, nil
	}
	if t.Short != nil {
		f.bench.Leads, f.bench.LeadsStd = 0, 0
	} else if f.bench.Leads == 0 {
		f.bench.LeadsStd = unknownLeads
	}
	if missing == 3 {
		return f, nil // a table needs no bench
	}
	if err := f.bench.Check(); err != nil {
		return nil, err
	}
	for _, part := range []struct {
		rec  *bench.Recording
		into *term
	}{{t.Short, &f.short}, {t.Load, &f.load}, {t.Open, &f.open}} {
		if part.rec == nil {
			continue
		}
		curve, err := read(part.rec, f.bench, func(h complex128) complex128 { return h })
		if err != nil {
			return nil, err
		}
		*part.into = newTerm(curve)
	}
	return f, f.checkTerms()
}

// mostTurn is the phase in degrees that a known resistor may seem to have by wires and inputs.
const mostTurn = 30

// checkTerms refuses recordings that were exchanged, and a load that is no resistor: between what open and joined lead ends
// give, (Hload - Hshort)/(Hopen - Hload) is the load over the source that it sees, in every wiring.
func (f *Fixture) checkTerms() error {
	var size [3][]float64 // of the ratio, of short, load and open
	var turn []float64
	lo, hi := f.band()
	for hz := lo; hz <= hi; hz *= math.Exp2(0.25) {
		k := f.known(hz, ideal{})
		for i, h := range []complex128{k.short, k.load, k.open} {
			size[i] = append(size[i], cmplx.Abs(h))
		}
		turn = append(turn, 180/math.Pi*math.Abs(cmplx.Phase((k.load-k.short)/(k.open-k.load))))
	}
	s, l, o := dsp.Median(size[0]), dsp.Median(size[1]), dsp.Median(size[2])
	if f.bench.Wiring != bench.ResistorFirst { // there the ratio falls as the impedance grows
		s, o = o, s
	}
	switch {
	case !(s < l && l < o):
		return notice.New("terms-order", nil)
	case dsp.Median(turn) > mostTurn:
		return notice.New("terms-load", notice.Facts{"phase": dsp.Median(turn)}).In(f.terms.Load.Source)
	}
	return nil
}

// ideal is by how much what stands for a missing term is moved: the relative difference of the channels, the leads in ohm,
// and the series resistor relative to what it is said to be.
type ideal struct {
	gain            complex128
	leads, resistor float64
}

// threeTerms are the ratios at one frequency, and the impedance in ohm that load is of.
type threeTerms struct {
	short, load, open complex128
	ohm               complex128
	leads             complex128 // ohm, that are part of what is found
}

// known returns the three terms at hz; those that are missing as an ideal bench, moved by d, would record them.
func (f *Fixture) known(hz float64, d ideal) threeTerms {
	gain := 1 + d.gain
	if c := f.bench.Calibration; c != nil && c.Channels.Given() {
		gain *= c.Channels.At(hz)
	}
	k := threeTerms{ohm: complex(f.terms.LoadOhm, 0)}
	if f.terms.Short == nil {
		k.leads = complex(f.bench.Leads+d.leads, 0)
		k.short = gain * f.ratioOf(nearlyNothing)
	} else {
		k.short = f.short.ratio.At(hz)
	}
	if f.terms.Open == nil {
		k.open = gain * f.ratioOf(nearlyOpen)
	} else {
		k.open = f.open.ratio.At(hz)
	}
	if f.terms.Load == nil {
		k.ohm = complex(f.bench.Resistor, 0)
		k.load = gain * f.ratioOf(k.ohm)
		k.ohm *= complex(1+d.resistor, 0)
	} else {
		k.load = f.load.ratio.At(hz)
		k.ohm += k.leads
	}
	return k
}

const (
	nearlyNothing = 1e-9 // ohm, joined lead ends
	nearlyOpen    = 1e15 // ohm
)

// ratioOf returns the ratio of channel 2 to channel 1 of an ideal bench with z (ohm) between the lead ends, theory (6.12).
func (f *Fixture) ratioOf(z complex128) complex128 {
	side := func(a complex128) complex128 {
		if f.bench.InputResistance == 0 {
			return a
		}
		in := complex(f.bench.InputResistance, 0)
		return a * in / (a + in)
	}
	r := complex(f.bench.Resistor, 0)
	switch f.bench.Wiring {
	case bench.DriverFirst:
		return side(r) / (side(r) + z)
	case bench.Probes:
		return side(r) / side(z)
	}
	return side(z) / (r + side(z))
}

// impedance returns what has the ratio h, theory (12.4):
//
//	Z = Zload (H - Hshort)(Hload - Hopen) / ( (H - Hopen)(Hload - Hshort) )
//
// Every wiring, resistor, gain, delay, input resistance and lead makes a bilinear map of the impedance out of the
// ratio, and of such a map three values tell everything. Source: open/short/load correction of impedance meters, handbook of a
// maker of such meters, appendix C; the form in the ratio derived.
func (k threeTerms) impedance(h complex128) complex128 {
	return k.ohm*(h-k.short)*(k.load-k.open)/((h-k.open)*(k.load-k.short)) - k.leads
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
	if err := f.bench.Check(); err != nil {
		return measured.Impedance{}, err
	}
	e, err := examine(rec, f.bench)
	if err != nil {
		return measured.Impedance{}, err
	}
	var z measured.Impedance
	missing := f.terms.Missing()
	if len(missing) == 3 {
		z, err = e.Impedance(f.bench)
	} else {
		z, err = f.corrected(e)
	}
	switch {
	case err != nil:
		return measured.Impedance{}, err
	case missing == nil && mostLost*z.Len() < len(e.Points):
		return measured.Impedance{}, notice.New("part-open", nil).In(rec.Source)
	case z.Len() == 0:
		return measured.Impedance{}, checks.Unrelated(e, f.bench.Wiring)
	}
	if f.terms.Open == nil {
		z.Systematic = append(z.Systematic, f.across(z)...)
	}
	z.Systematic = append(z.Systematic, moved(z, "contacts", func(int) complex128 { return contactOhm }))
	warnings, err := checks.Warnings(e, z, f.bench)
	if err != nil {
		return measured.Impedance{}, err
	}
	// What no driver does, a part may.
	warnings = slices.DeleteFunc(warnings, func(n notice.Notice) bool { return n.Code == "below-re" || n.Code == "noisy" })
	z.Warnings = append(slices.Clone(rec.Warnings), warnings...)
	if missing != nil {
		z.Warnings = append(z.Warnings, *notice.New("terms-missing", notice.Facts{"terms": strings.Join(missing, " ")}))
	}
	return z, nil
}

// corrected returns the impedance from the ratios of the part and of the three terms, with its noise and its errors.
func (f *Fixture) corrected(e *spectra.Result) (measured.Impedance, error) {
	var freq, sigma []float64
	var z, ratio []complex128
	lo, hi := f.band()
	for _, p := range e.Points {
		if p.Freq < lo || p.Freq > hi {
			continue
		}
		h, k := p.Ratio, f.known(p.Freq, ideal{})
		v := k.impedance(h)
		if cmplx.IsNaN(v) || cmplx.IsInf(v) {
			continue
		}
		variance := p.Variance()/2 + converterError*converterError/2*dsp.SqAbs(h)
		variance *= dsp.SqAbs(1/(h-k.short) - 1/(h-k.open))
		for _, by := range []struct {
			term  term
			slope complex128
		}{{f.short, 1/(k.load-k.short) - 1/(h-k.short)}, {f.open, 1/(h-k.open) - 1/(k.load-k.open)}, {f.load, 1/(k.load-k.open) - 1/(k.load-k.short)}} {
			if by.term.std.Given() {
				variance += dsp.SqAbs(by.term.std.At(p.Freq)) * dsp.SqAbs(by.slope)
			}
		}
		s := math.Sqrt(variance * dsp.SqAbs(v+k.leads))
		if !(s > 0 && s < spectra.WorstRelative*cmplx.Abs(v)) {
			continue
		}
		freq, z, sigma, ratio = append(freq, p.Freq), append(z, v), append(sigma, s), append(ratio, h)
	}
	if len(freq) == 0 {
		return measured.Impedance{}, nil
	}
	out, err := measured.NewImpedance(freq, z, sigma)
	if err != nil {
		return out, err
	}
	out.Source = e.Rec.Source
	out.Systematic = f.systematic(out, ratio)
	return out, nil
}

// systematic are the errors of the terms, and of what stands for those that are missing.
func (f *Fixture) systematic(z measured.Impedance, ratio []complex128) (all []measured.Systematic) {
	by := func(source string, d func(hz float64) ideal) {
		all = append(all, moved(z, source, func(i int) complex128 { return f.known(z.Freq[i], d(z.Freq[i])).impedance(ratio[i]) - z.Z[i] }))
	}
	if f.terms.Load != nil {
		all = append(all,
			moved(z, "load resistor", func(i int) complex128 { return z.Z[i] * complex(f.terms.LoadStd/f.terms.LoadOhm, 0) }),
			moved(z, "load inductance", func(i int) complex128 {
				return z.Z[i] * complex(0, 2*math.Pi*z.Freq[i]*loadHenry/f.terms.LoadOhm)
			}))
	} else {
		by("resistor", func(float64) ideal { return ideal{resistor: f.bench.ResistorTolerance / math.Sqrt(3)} })
	}
	if f.terms.Short == nil {
		by("leads", func(float64) ideal { return ideal{leads: f.bench.LeadsDoubt()} })
	}
	if f.terms.Missing() != nil {
		for _, c := range f.bench.ChannelDoubts() {
			by(c.Source, func(hz float64) ideal { return ideal{gain: c.Ratio(hz)} })
		}
	}
	return all
}

// moved is an error with what it does to each point.
func moved(z measured.Impedance, source string, by func(i int) complex128) measured.Systematic {
	s := measured.Systematic{Source: source, Effect: make([]complex128, z.Len())}
	for i := range s.Effect {
		s.Effect[i] = by(i)
	}
	return s
}

// converterError is what converters are off by, relative to the ratio: linear to about -100 dB (common practice).
const converterError = 1e-5

// band is where all terms are known: a little beyond their first and last points, where they go on as they end.
func (f *Fixture) band() (lo, hi float64) {
	const beyond = 1.05
	hi = math.Inf(1)
	for _, t := range []term{f.open, f.short, f.load} {
		if t.ratio.Given() {
			lo = max(lo, t.ratio.Freq[0]/beyond)
			hi = min(hi, t.ratio.Freq[len(t.ratio.Freq)-1]*beyond)
		}
	}
	return lo, hi
}

// across is what nobody knows as long as the recording with nothing between the lead ends is missing.
func (f *Fixture) across(z measured.Impedance) []measured.Systematic {
	all := []measured.Systematic{moved(z, "stray capacitance", func(i int) complex128 { return z.Z[i] * z.Z[i] * complex(0, 2*math.Pi*z.Freq[i]*strayFarad) })}
	if f.bench.InputResistance == 0 {
		all = append(all, moved(z, "inputs across the part", func(i int) complex128 { return z.Z[i] * z.Z[i] / strayOhm }))
	}
	return all
}
