package part

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/network"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// Exchange is a new part in the place of an old one.
type Exchange struct {
	Kind      network.Kind
	Frequency float64        // Hz at which both were read
	Size      Change         // of C, L or R, as a ratio
	Loss      Change         // of the resistance in series, in ohm: new less old
	In        string         // the part of the network that it is; empty: there is no network
	Drivers   []DriverChange // what each driver gets, the one that changes most first
	// ByLoss is the change at the driver where it is largest by the resistance in series alone, and BySize by all else.
	ByLoss, BySize DriverChange
	// Restoring is the resistor in ohm that, in series with the new part, makes up for the resistance that it lacks; 0: it lacks none.
	Restoring float64
}

// Change is a difference or a ratio with its standard uncertainty and 95 % interval.
type Change struct{ Value, Std, Low, High float64 }

// Told says whether there is a change at all.
func (c Change) Told(none float64) bool { return c.Low > none || c.High < none }

// DriverChange is the change of the voltage at a driver.
type DriverChange struct {
	Name     string
	Largest  float64    // dB, where the driver works
	At       float64    // Hz, where that is
	Between  [2]float64 // Hz, where the change is more than 0.7 of it
	ToTheEnd bool       // it is so up to the highest frequency
	Freq     []float64  // Hz
	Level    []float64  // dB
}

// What a driver works in, and how much of the largest change counts as all of it; judgement.
const (
	workingWithin = 10.0 // dB below its largest voltage
	mostOf        = 0.7
	perOctave     = 6
	nearlySame    = 0.5 // how far, as logarithm, the old part may be from the value in the list
	apart         = 0.2 // by how much, as logarithm, another part of the list must be farther off
)

// Exchanged compares a new part with the old one, read at the same frequency, and says what it does in the network n, where
// one is given; name is the part of the network that it is, which may be empty where only one can be meant.
func Exchanged(old, now *Found, n network.Network, name string) (*Exchange, error) {
	if old.Kind != now.Kind {
		return nil, notice.New("exchange-kinds", notice.Facts{"before": old.Kind.String(), "after": now.Kind.String()})
	}
	x := &Exchange{Kind: now.Kind, Frequency: now.Frequency}
	x.Size = ratio(old.Parameters, now.Parameters, Main(now.Kind))
	loss := map[network.Kind]param.ID{network.Capacitor: param.ESR, network.Coil: param.Rdc, network.Resistor: param.R}[now.Kind]
	x.Loss = difference(old.Parameters, now.Parameters, loss)
	if n == nil {
		return x, nil
	}
	i, err := placeOf(old, n, name)
	if err != nil {
		return nil, err
	}
	x.In = n[i].Name
	curve := func(z func(f float64) complex128) network.Network {
		p := n[i]
		p.Curve = z
		return n.With(i, p)
	}
	before, after := curve(old.Law.Impedance), curve(now.Law.Impedance)
	if x.Drivers, err = changes(before, after); err != nil {
		return nil, err
	}
	if len(x.Drivers) == 0 {
		return nil, notice.New("exchange-no-driver", nil)
	}
	// The new part with the resistance of the old one stands between the two.
	lacks := func(f float64) float64 { return real(old.Law.Impedance(f) - now.Law.Impedance(f)) }
	between := curve(func(f float64) complex128 { return now.Law.Impedance(f) + complex(lacks(f), 0) })
	for _, step := range []struct {
		from, to network.Network
		into     *DriverChange
	}{{before, between, &x.BySize}, {between, after, &x.ByLoss}} {
		list, err := changes(step.from, step.to)
		if err != nil {
			return nil, err
		}
		*step.into = list[0]
	}
	if b := x.ByLoss.Between; x.Loss.Value < 0 && x.Loss.Told(0) && b[0] > 0 {
		x.Restoring = max(0, lacks(math.Sqrt(b[0]*b[1]))) // in the middle of where it matters
	}
	return x, nil
}

// placeOf finds the part of the network that the old part is.
func placeOf(old *Found, n network.Network, name string) (int, error) {
	if name != "" {
		i := n.Index(name)
		if i < 0 {
			return 0, notice.New("exchange-unknown", notice.Facts{"part": name})
		}
		if n[i].Kind != old.Kind {
			return 0, notice.New("exchange-other", notice.Facts{"part": name, "kind": n[i].Kind.String(), "measured": old.Kind.String()})
		}
		return i, nil
	}
	size, _ := old.Parameters.Get(Main(old.Kind))
	off := func(i int) float64 { return math.Abs(math.Log(n[i].Value / size.Value)) }
	var near []int // the nearest first
	for i, p := range n {
		if p.Kind == old.Kind && off(i) < nearlySame {
			near = append(near, i)
		}
	}
	slices.SortStableFunc(near, func(a, b int) int { return cmp.Compare(off(a), off(b)) })
	switch {
	case len(near) == 0:
		return 0, notice.New("exchange-none", notice.Facts{"kind": old.Kind.String()})
	case len(near) > 1 && off(near[1]) < off(near[0])+apart:
		return 0, notice.New("exchange-which", notice.Facts{"one": n[near[0]].Name, "other": n[near[1]].Name})
	}
	return near[0], nil
}

// ratio returns how a positive quantity changed; what both measurements share cancels.
func ratio(old, now param.Parameters, id param.ID) Change {
	d := difference(old, now, id)
	// On the scale of a logarithm.
	return Change{math.Exp(d.Value), math.Exp(d.Value) * d.Std, math.Exp(d.Low), math.Exp(d.High)}
}

// difference returns new less old on the scale of the quantity. An error that both share acts on each by its own size.
func difference(old, now param.Parameters, id param.ID) Change {
	a, b := old.Index(id), now.Index(id)
	if a < 0 || b < 0 {
		return Change{}
	}
	v := old.Noise.At(a, a) + now.Noise.At(b, b)
	shared := map[string]float64{}
	for _, c := range old.Components {
		if c.Own {
			v += c.Effect[a] * c.Effect[a]
		} else {
			shared[c.Source] -= c.Effect[a]
		}
	}
	for _, c := range now.Components {
		if c.Own {
			v += c.Effect[b] * c.Effect[b]
		} else {
			shared[c.Source] += c.Effect[b]
		}
	}
	for _, e := range shared {
		v += e * e
	}
	d, u := now.Scaled[b]-old.Scaled[a], math.Sqrt(v)
	return Change{d, u, d - 1.96*u, d + 1.96*u}
}

// changes returns what each driver gets in a network over what it gets in another one of the same parts.
func changes(before, after network.Network) ([]DriverChange, error) {
	var freq []float64
	for f := 20.0; f <= 20e3*1.001; f *= math.Exp2(1. / perOctave) {
		freq = append(freq, f)
	}
	var all []DriverChange
	drivers := before.Drivers()
	from, to := make([][]float64, len(drivers)), make([][]float64, len(drivers)) // dB
	for _, f := range freq {
		a, err := before.At(f)
		if err != nil {
			return nil, err
		}
		b, err := after.At(f)
		if err != nil {
			return nil, err
		}
		for k, i := range drivers {
			from[k] = append(from[k], decibel(a.Across[i]))
			to[k] = append(to[k], decibel(b.Across[i]))
		}
	}
	for k, i := range drivers {
		d := DriverChange{Name: before[i].Name, Freq: freq, Level: make([]float64, len(freq))}
		top := math.Inf(-1)
		for _, level := range from[k] {
			top = math.Max(top, level)
		}
		for j := range freq {
			d.Level[j] = to[k][j] - from[k][j]
			if from[k][j] > top-workingWithin && math.Abs(d.Level[j]) > math.Abs(d.Largest) {
				d.Largest, d.At = d.Level[j], freq[j]
			}
		}
		for j, f := range freq {
			if d.Largest != 0 && from[k][j] > top-workingWithin && d.Level[j]/d.Largest > mostOf {
				if d.Between[0] == 0 {
					d.Between[0] = f
				}
				d.Between[1], d.ToTheEnd = f, j == len(freq)-1
			}
		}
		all = append(all, d)
	}
	for i := range all { // the largest first
		if math.Abs(all[i].Largest) > math.Abs(all[0].Largest) {
			all[0], all[i] = all[i], all[0]
		}
	}
	return all, nil
}

func decibel(v complex128) float64 { return 20 * math.Log10(max(cmplx.Abs(v), 1e-12)) }
