package part

import (
	"errors"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"conewright/ts/measured"
	"conewright/ts/network"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// curve is the impedance z from 5 Hz to 20 kHz with noise of a part of it.
func curve(seed uint64, noise float64, z func(f float64) complex128) measured.Impedance {
	rng := rand.New(rand.NewPCG(seed, 1))
	var out measured.Impedance
	for f := 5.0; f < 20e3; f *= math.Exp2(1. / 48) {
		v := z(f)
		s := noise * math.Hypot(real(v), imag(v))
		out.Freq, out.Z, out.Sigma = append(out.Freq, f), append(out.Z, v+complex(s*rng.NormFloat64(), s*rng.NormFloat64())), append(out.Sigma, s)
	}
	return out
}

func capacitor(c, esr float64) func(f float64) complex128 {
	return network.Part{Kind: network.Capacitor, Value: c, Series: esr}.Impedance
}

func coil(l, rdc float64) func(f float64) complex128 {
	return network.Part{Kind: network.Coil, Value: l, Series: rdc}.Impedance
}

func sum(a, b func(f float64) complex128) func(f float64) complex128 {
	return func(f float64) complex128 { return a(f) + b(f) }
}

func side(a, b func(f float64) complex128) func(f float64) complex128 {
	return func(f float64) complex128 { return 1 / (1/a(f) + 1/b(f)) }
}

func resistor(r float64) func(f float64) complex128 {
	return network.Part{Kind: network.Resistor, Value: r}.Impedance
}

// What a part is follows from its curve; what it may be is asked, what is no single part is refused.
func TestIdentify(t *testing.T) {
	driver := network.Moving{Re: 6, Le: 0.5e-3, Fs: 50, Qms: 5, Qes: 0.5}.Impedance
	for name, c := range map[string]struct {
		z    func(f float64) complex128
		kind network.Kind
		code string // of the refusal
	}{
		"film":              {capacitor(8e-6, 0.02), network.Capacitor, ""},
		"small":             {capacitor(0.1e-6, 0.02), network.Capacitor, ""},
		"dried out":         {capacitor(4.7e-6, 8), network.Capacitor, ""},
		"coil":              {coil(0.5e-3, 0.3), network.Coil, ""},
		"thin wire":         {coil(0.05e-3, 0.6), network.Coil, ""},
		"resistor":          {resistor(3.3), network.Resistor, ""},
		"of wire":           {coil(2e-6, 10), network.Resistor, ""},
		"a lot of wire":     {coil(20e-6, 1.5), 0, "part-doubtful"},
		"resistor and C":    {sum(resistor(30), capacitor(200e-6, 0)), 0, "part-doubtful"},
		"joined":            {resistor(0.004), 0, "part-joined"},
		"a driver":          {driver, 0, "part-several"},
		"C beside a driver": {side(capacitor(10e-6, 0.05), driver), 0, "part-several"},
		"series resonance":  {sum(capacitor(10e-6, 0.05), coil(1e-3, 0.5)), 0, "part-several"},
	} {
		kind, err := identify(curve(1, 1e-4, c.z))
		var n *notice.Notice
		if c.code == "" && (err != nil || kind != c.kind) || c.code != "" && (!errors.As(err, &n) || n.Code != c.code) {
			t.Errorf("%s: %v, %v; want %v %s", name, kind, err, c.kind, c.code)
		}
	}
}

// What lies beside a coil or capacitor is noticed, and nothing is where nothing lies.
func TestBeside(t *testing.T) {
	for name, c := range map[string]struct {
		z      func(f float64) complex128
		beside bool // noticed, or refused for it
	}{
		"capacitor":                    {capacitor(10e-6, 0.1), false},
		"capacitor beside 200 ohm":     {side(capacitor(10e-6, 0.1), resistor(200)), true},
		"coil":                         {coil(1e-3, 0.3), false},
		"coil beside 6 ohm":            {side(coil(1e-3, 0.3), resistor(6)), true},
		"coil with iron, root of f":    {func(f float64) complex128 { s := complex(0, 2*math.Pi*f); return 0.3 + s*0.8e-3 + s*0.4e-3/(1+s*2e-5) }, false},
		"capacitor with much loss":     {sum(capacitor(10e-6, 5), resistor(1)), false},
		"capacitor with a leak, 1Mohm": {side(capacitor(1e-6, 0.1), resistor(1e6)), false},
	} {
		f, err := Fit(curve(2, 1e-4, c.z), Options{})
		var n *notice.Notice
		if err != nil && (!errors.As(err, &n) || n.Code != "part-beside") {
			t.Errorf("%s: %v", name, err)
			continue
		}
		found := err != nil
		if err != nil {
			f = &Found{}
		}
		for _, w := range f.Warnings {
			found = found || w.Code == "part-beside"
		}
		if found != c.beside {
			t.Errorf("%s: something beside it: %v", name, found)
		}
	}
}

// An error of the bench moves a value as it moves the curve, however much the points scatter: a load that is off by 0.1 % moves a resistance by
// that, and contacts of 4 milliohm the loss factor by 4 milliohm times w C.
func TestEffectsDoNotScatter(t *testing.T) {
	z := curve(5, 1e-3, func(f float64) complex128 { return 3 })
	c := curve(6, 1e-3, capacitor(6.8e-6, 0.1))
	for name, sigma := range map[string]float64{"noise not known": 0, "more scatter than noise": 1e-4} {
		for _, z := range []*measured.Impedance{&z, &c} {
			z.Sigma = nil
			z.Systematic = []measured.Systematic{{Source: "load resistor", Effect: make([]complex128, z.Len())}, {Source: "contacts", Effect: make([]complex128, z.Len())}}
			for i, v := range z.Z {
				z.Systematic[0].Effect[i], z.Systematic[1].Effect[i] = 1e-3*v, 4e-3
				if sigma > 0 {
					z.Sigma = append(z.Sigma, sigma*cmplx.Abs(v))
				}
			}
		}
		r, err := Fit(z, Options{})
		if err != nil {
			t.Fatal(err)
		}
		i := r.Parameters.Index(param.R)
		if got := r.Parameters.Components[0].Effect[i]; math.Abs(got/1e-3-1) > 2e-3 {
			t.Errorf("%s: the load moves R by %v, want 0.001", name, got)
		}
		f, err := Fit(c, Options{Frequency: 1e3})
		if err != nil {
			t.Fatal(err)
		}
		i = f.Parameters.Index(param.TanDelta)
		want := 4e-3 * 2 * math.Pi * 1e3 * 6.8e-6
		if got := f.Parameters.Components[1].Effect[i]; math.Abs(got/want-1) > 5e-3 {
			t.Errorf("%s: contacts move the loss factor by %v, want %v", name, got, want)
		}
	}
}

// A value that cannot be told from none is a bound that holds; one that can is a value.
func TestBounds(t *testing.T) {
	const esr = 3e-3
	z := curve(3, 1e-5, capacitor(6.8e-6, esr))
	contacts := measured.Systematic{Source: "contacts", Effect: make([]complex128, z.Len())}
	for i := range contacts.Effect {
		contacts.Effect[i] = 4e-3
	}
	sharp, err := Fit(z, Options{Frequency: 1e4})
	if err != nil {
		t.Fatal(err)
	}
	if _, bound := sharp.Bounds[param.ESR]; bound {
		t.Errorf("%v ohm is told from none without contacts", esr)
	}
	z.Systematic = []measured.Systematic{contacts}
	blurred, err := Fit(z, Options{Frequency: 1e4})
	if err != nil {
		t.Fatal(err)
	}
	most, bound := blurred.Bounds[param.ESR]
	if !bound || most < esr || most > esr+1.645*4e-3+1e-3 {
		t.Errorf("with contacts of 4 mohm the bound is %v, %v", most, bound)
	}
	if e, ok := blurred.Parameters.Get(param.ESR); !ok || math.Abs(e.Std-4e-3) > 2e-4 {
		t.Errorf("for a decision the value must stay: %v, %v", e, ok)
	}
}

// Direct current is what remains of a resistance that rises with frequency, whether by its square or by its root.
func TestDirectCurrent(t *testing.T) {
	for name, loss := range map[string]func(f float64) float64{
		"square": func(f float64) float64 { return 0.02 * f * f / 1e4 / (1 + f*f/1e7) },
		"linear": func(f float64) float64 { return 0.05 * f / 100 },
		"root":   func(f float64) float64 { return 0.01 * math.Sqrt(f/100) },
	} {
		z := curve(4, 2e-5, func(f float64) complex128 { return complex(0.3+loss(f), 2*math.Pi*f*1e-3) })
		r, spread, ok := directCurrent(z)
		u := math.Hypot(spread, math.Sqrt(covariance(z, r, r)))
		if !ok || math.Abs(r.value-0.3) > 3*u || u > 2e-3 {
			t.Errorf("%s: %v with %v, want 0.3", name, r.value, u)
		}
	}
}

// A table without noise takes its uncertainty from the scatter of its points.
func TestNoNoise(t *testing.T) {
	of := func(noise float64) param.Estimate {
		z := curve(5, noise, capacitor(8e-6, 0.5))
		z.Sigma = nil
		f, err := Fit(z, Options{Frequency: 1e3})
		if err != nil {
			t.Fatal(err)
		}
		e, _ := f.Parameters.Get(param.C)
		return e
	}
	small, large := of(1e-5), of(1e-3)
	if r := large.Std / small.Std; r < 50 || r > 200 {
		t.Errorf("a hundred times the noise makes %v times the uncertainty", r)
	}
	if math.Abs(large.Value-8e-6) > 4*large.Std {
		t.Errorf("%v with %v", large.Value, large.Std)
	}
}

// What cannot be read is refused.
func TestFitRefuses(t *testing.T) {
	sound := curve(6, 1e-4, capacitor(8e-6, 0.1))
	magnitude := measured.Impedance{Freq: sound.Freq, MagnitudeOnly: true}
	for _, v := range sound.Z {
		magnitude.Z = append(magnitude.Z, complex(math.Hypot(real(v), imag(v)), 0))
	}
	for code, c := range map[string]struct {
		z   measured.Impedance
		opt Options
	}{
		"part-magnitude":  {magnitude, Options{}},
		"part-few-points": {sound.Band(1e3, 1.1e3), Options{}},
		"part-outside":    {sound, Options{Frequency: 1}},
		"part-unreadable": {sound, Options{Kind: network.Coil, Stated: true, Frequency: 1e3}},
	} {
		var n *notice.Notice
		if _, err := Fit(c.z, c.opt); !errors.As(err, &n) || n.Code != code {
			t.Errorf("%v, want %s", err, code)
		}
	}
}

// tweeterBranch is a capacitor in series with a tweeter as a resistor: all of it can be computed by hand.
var tweeterBranch = network.Network{
	{Name: "C1", Kind: network.Capacitor, Value: 6.8e-6, From: "in", To: "a"},
	{Name: "tweeter", Kind: network.Driver, Value: 5.2, From: "a", To: "ground"},
}

// An old capacitor with 0.5 ohm more in series: the new one lets the tweeter have 20 lg((5.2+0.52)/(5.2+0.02)) dB more far above the crossover.
func TestExchange(t *testing.T) {
	part := func(seed uint64, c, esr float64) *Found {
		f, err := Fit(curve(seed, 1e-5, capacitor(c, esr)), Options{Frequency: 1e3})
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	old, now := part(1, 6.8e-6, 0.52), part(2, 6.8e-6, 0.02)
	x, err := Exchanged(old, now, tweeterBranch, "")
	if err != nil {
		t.Fatal(err)
	}
	if x.In != "C1" || x.Drivers[0].Name != "tweeter" || math.Abs(x.Loss.Value+0.5) > 1e-3 || math.Abs(x.Restoring-0.5) > 1e-3 {
		t.Errorf("%s, %v ohm, restored by %v ohm", x.In, x.Loss.Value, x.Restoring)
	}
	xc := 1 / (2 * math.Pi * x.ByLoss.At * 6.8e-6)
	want := 20 * math.Log10(math.Hypot(5.72, xc)/math.Hypot(5.22, xc))
	if x.ByLoss.At < 15e3 || math.Abs(x.ByLoss.Largest-want) > 0.005 || !x.ByLoss.ToTheEnd || math.Abs(x.BySize.Largest) > 0.005 {
		t.Errorf("by the loss %.4f dB, want %.4f; by the size %.4f dB", x.ByLoss.Largest, want, x.BySize.Largest)
	}
	back, err := Exchanged(now, old, tweeterBranch, "C1")
	if err != nil || back.Restoring != 0 || math.Abs(back.ByLoss.Largest+want) > 0.005 {
		t.Errorf("the other way round: %v ohm, %v dB, %v", back.Restoring, back.ByLoss.Largest, err)
	}
	smaller, err := Exchanged(old, part(3, 5.44e-6, 0.52), tweeterBranch, "")
	if err != nil || math.Abs(smaller.Size.Value-0.8) > 1e-3 || smaller.Restoring > 0 || smaller.BySize.Largest > -1 || math.Abs(smaller.ByLoss.Largest) > 0.01 {
		t.Errorf("a smaller one: %v ohm, %v dB, %v dB, %v", smaller.Restoring, smaller.BySize.Largest, smaller.ByLoss.Largest, err)
	}
}

func TestExchangeRefuses(t *testing.T) {
	c, l := curve(1, 1e-4, capacitor(6.8e-6, 0.1)), curve(1, 1e-4, coil(1e-3, 0.3))
	fit := func(z measured.Impedance) *Found {
		f, err := Fit(z, Options{})
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	two := append(network.Network{{Name: "C2", Kind: network.Capacitor, Value: 7e-6, From: "in", To: "ground"}}, tweeterBranch...)
	for code, c := range map[string]struct {
		old, now *Found
		n        network.Network
		name     string
	}{
		"exchange-kinds":     {fit(c), fit(l), nil, ""},
		"exchange-unknown":   {fit(c), fit(c), tweeterBranch, "C9"},
		"exchange-other":     {fit(l), fit(l), tweeterBranch, "C1"},
		"exchange-none":      {fit(l), fit(l), tweeterBranch, ""},
		"exchange-which":     {fit(c), fit(c), two, ""},
		"exchange-no-driver": {fit(c), fit(c), network.Network{{Name: "C1", Kind: network.Capacitor, Value: 6.8e-6, From: "in", To: "ground"}}, ""},
	} {
		var n *notice.Notice
		if _, err := Exchanged(c.old, c.now, c.n, c.name); !errors.As(err, &n) || n.Code != code {
			t.Errorf("%v, want %s", err, code)
		}
	}
}
