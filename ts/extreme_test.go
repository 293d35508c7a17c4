package ts_test

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"

	"conewright/ts"
	"conewright/ts/change"
	"conewright/ts/driver"
	"conewright/ts/fitted"
	"conewright/ts/handmade"
	"conewright/ts/internal/simulated"
	"conewright/ts/lot"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
	"conewright/ts/repeat"
	"conewright/ts/ring"
	"conewright/ts/verdict"

	"gonum.org/v1/gonum/mat"
)

// extremes are what a number may be by mistake: no number, without end, of another sign,
// of another unit, or at the ends of what a computer can hold.
var extremes = []float64{math.NaN(), math.Inf(1), -1, 0, 1e9, math.Inf(-1), 20, 101.3, 1e-9, 5e-324, 1e-160, 1e160, math.MaxFloat64}

// input is everything that one entrance takes.
type input struct {
	Sweeps     []measured.Sweep
	Conditions measured.Conditions
	Left       param.Parameters
	Right      param.Parameters
	Spec       verdict.Spec
	Compare    change.Options
	Pair       lot.PairOptions
	Request    ring.Request
	Points     []ring.LinePoint
	Ring       ring.Ring
	Driver     driver.Driver
	Values     [4]param.Quantity
	Numbers    [2]float64
	Mounting   param.Mounting
}

// entrances are the ways into package ts, each with the parts of the input that it takes.
// The result is everything that it says.
var entrances = map[string]struct {
	take func(all input) input
	call func(in input) (any, error)
}{
	"Fit": {
		func(a input) input { return input{Sweeps: a.Sweeps, Conditions: a.Conditions} },
		func(in input) (any, error) {
			f, err := ts.Fit(in.Sweeps, in.Conditions)
			if err != nil {
				return nil, err
			}
			travel, _ := fitted.FarthestTravel(in.Sweeps, f.Parameters, in.Conditions)
			return []any{f, f.Parameters.All(), travel}, nil
		}},
	"HandMethod": {
		func(a input) input { return input{Sweeps: a.Sweeps[:1], Numbers: a.Numbers} },
		func(in input) (any, error) {
			if len(in.Sweeps) == 0 {
				return nil, nil
			}
			return []any{measured.HandMethod(in.Sweeps[0].Impedance), measured.HandMethodWith(in.Sweeps[0].Impedance, in.Numbers[0])}, nil
		}},
	"Check": {
		func(a input) input { return input{Left: a.Left, Spec: a.Spec} },
		func(in input) (any, error) {
			c, err := ts.Check(in.Left, in.Spec)
			if err != nil {
				return nil, err
			}
			return []any{c, c.Deciding()}, nil
		}},
	"Compare": {
		func(a input) input { return input{Left: a.Left, Right: a.Right, Compare: a.Compare} },
		func(in input) (any, error) { return ts.Compare(in.Left, in.Right, in.Compare) }},
	"Pair": {
		func(a input) input { return input{Left: a.Left, Right: a.Right, Pair: a.Pair} },
		func(in input) (any, error) {
			p, err := ts.Pair(in.Left, in.Right, in.Pair)
			if err != nil {
				return nil, err
			}
			return []any{p, p.Deciding()}, nil
		}},
	"Batch": {
		func(a input) input { return input{Left: a.Left, Right: a.Right, Spec: a.Spec} },
		func(in input) (any, error) {
			b, err := lot.NewBatch(in.Spec)
			if err != nil {
				return nil, err
			}
			for range 10 {
				if err := b.Add(in.Left); err != nil {
					return nil, err
				}
			}
			out, err := b.Outliers(in.Right)
			return []any{b.Summary(), out}, err
		}},
	"Assign": {
		func(a input) input { return input{Left: a.Left, Right: a.Right, Pair: a.Pair} },
		func(in input) (any, error) {
			points, err := lot.NewPairPoints(in.Pair.Limits)
			if err != nil {
				return nil, err
			}
			for _, p := range []param.Parameters{in.Left, in.Right, in.Left} {
				if err := points.Add(p); err != nil {
					return nil, err
				}
			}
			return lot.Assign(points), nil
		}},
	"MassForFs": {
		func(a input) input { return input{Left: a.Left, Numbers: a.Numbers} },
		func(in input) (any, error) { return ring.MassForFs(in.Left, in.Numbers[0]) }},
	"EffectOfMass": {
		func(a input) input { return input{Left: a.Left, Numbers: [2]float64{0.01, 1e-4}} },
		func(in input) (any, error) { return ring.EffectOfMass(in.Left, in.Numbers[0], in.Numbers[1]) }},
	"NewPlan": {
		func(a input) input { return input{Left: a.Left, Request: a.Request} },
		func(in input) (any, error) { return ring.NewPlan(in.Left, in.Request) }},
	"MeasureMassLine": { // what it takes of the sweeps is that of Fit, but for the masses
		func(a input) input { return input{Conditions: a.Conditions, Numbers: [2]float64{0.02, 1e-4}} },
		func(in input) (any, error) {
			sweeps := sound().Sweeps
			sweeps[1].Load.Value, sweeps[1].Load.Std = in.Numbers[0], in.Numbers[1]
			return ring.MeasureMassLine(sweeps, in.Conditions)
		}},
	"FitLine": {
		func(a input) input { return input{Points: a.Points} },
		func(in input) (any, error) { return ring.FitLine(in.Points) }},
	"ForMass": {
		func(a input) input { return input{Ring: a.Ring, Numbers: [2]float64{0.01, 8500}} },
		func(in input) (any, error) { return ring.ForMass(in.Numbers[0], in.Numbers[1], in.Ring) }},
	"WithMass": {
		func(a input) input { return input{Driver: a.Driver, Numbers: [2]float64{0.01, 0}} },
		func(in input) (any, error) {
			d, err := in.Driver.WithMass(in.Numbers[0])
			d.Coil = nil // a coil checks nothing
			return d, err
		}},
	"MassForResonance": {
		func(a input) input { return input{Driver: a.Driver, Numbers: [2]float64{20, 0}} },
		func(in input) (any, error) { return in.Driver.MassForResonance(in.Numbers[0]) }},
	"FromValues": {
		func(a input) input { return input{Values: a.Values, Mounting: a.Mounting} },
		func(in input) (any, error) {
			p, err := param.FromValues(in.Values[0], in.Values[1], in.Values[2], in.Values[3], in.Mounting)
			return []any{p, p.All()}, err
		}},
}

// sound is an input that every entrance takes.
func sound() input {
	d := handmade.Woofer
	freq := simulated.LogFreq(8, 1500, 6)
	sweep := func(dM float64) measured.Impedance {
		z := simulated.Simulate(d, freq, dM, 0, 0.002, rand.New(rand.NewPCG(11, 4)))
		z.Systematic = []measured.Systematic{{Source: "resistor", Effect: slices.Clone(z.Z)}}
		for i := range z.Systematic[0].Effect {
			z.Systematic[0].Effect[i] *= 0.005
		}
		return z
	}
	heavy := measured.Sweep{Impedance: sweep(0.02), Load: measured.Load{Kind: measured.AddedMass, Value: 0.02, Std: 1e-4}}
	free := measured.Sweep{Impedance: sweep(0)}
	free.Impedance.Drive = &measured.Drive{Rate: 4000, Current: []float64{0.1, -0.1, 0.1, -0.05}}
	set := func(d driver.Driver) param.Parameters {
		p := handmade.Known{Driver: d, Std: handmade.Std, Mass: true, Sd: 0.022, Extra: []param.Component{{Source: "resistor", Part: param.BenchPart, Effect: []float64{0.01, 0, 0, 0}}}}.Parameters(nil)
		p.Skew = make([][2]float64, len(p.IDs))
		return p
	}
	stripped := set(handmade.Changed(func(d *driver.Driver) { d.Cms *= 1.5 }))
	bench := repeat.Usual
	return input{
		Sweeps: []measured.Sweep{free, heavy},
		Conditions: measured.Conditions{Temperature: param.Quantity{Value: 294, Std: 1}, Pressure: param.Quantity{Value: 1e5, Std: 500},
			Humidity: 0.5, Sd: param.Quantity{Value: 0.022, Std: 2e-4}, DCRe: param.Quantity{Value: 5.6, Std: 0.03}, Repeatability: &bench},
		Left: set(d), Right: set(handmade.Changed(func(d *driver.Driver) { d.Cms /= 1.3 })),
		Spec: verdict.Spec{Temperature: 293.15, Confidence: 0.95, Limits: []verdict.Limit{{ID: param.Fs, Lo: 30, Hi: 35}, {ID: param.Qts, Lo: math.Inf(-1), Hi: 0.5}, {ID: param.R1k, Lo: 0, Hi: 9}}},
		Compare: change.Options{Stripped: &stripped,
			Spec: &verdict.Spec{Limits: []verdict.Limit{{ID: param.Fs, Lo: 30, Hi: 35}}}},
		Pair:    lot.PairOptions{Limits: []lot.PairLimit{{ID: param.Fs, Percent: 5}, {ID: param.Qts, Percent: 10}}, Confidence: 0.95},
		Request: ring.Request{Mass: param.Quantity{Value: 0.01, Std: 1e-4}, Size: ring.Ring{InnerDiameter: 0.05, Height: 0.008}, Adhesive: param.Quantity{Value: 5e-4, Std: 1e-4}},
		Points:  []ring.LinePoint{{X: 0, Y: 1, StdX: 0.1, StdY: 0.1, Corr: 0.2}, {X: 1, Y: 3, StdX: 0.1, StdY: 0.1}, {X: 2, Y: 5.1, StdX: 0.1, StdY: 0.1}},
		Ring:    ring.Ring{InnerDiameter: 0.05, Thickness: 0.002},
		Driver:  driver.Driver{Re: 5, BL: 8, Mms: 0.03, Cms: 8e-4, Rms: 1.5, Creep: 0.1},
		Values:  [4]param.Quantity{{Value: 30, Std: 0.1}, {Value: 0.03, Std: 1e-4}, {Value: 4, Std: 0.1}, {Value: 0.4, Std: 0.01}},
		Numbers: [2]float64{20, 0.001},
	}
}

// Whatever one number, word or list of an input is, package ts answers with finite
// numbers or with an error that has a code: it neither panics nor reckons on.
func TestExtremeInput(t *testing.T) {
	if testing.Short() {
		extremes = extremes[:5]
	}
	for name, e := range entrances {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			if problem := tried(e.call, e.take(sound())); problem != "" {
				t.Fatalf("a sound input: %s", problem)
			}
			if _, err := e.call(e.take(sound())); err != nil {
				t.Fatalf("a sound input: %v", err)
			}
			n := 0
			for at := 0; ; at++ {
				leaves, say := 0, ""
				for k := 0; ; k++ {
					in := e.take(sound())
					m := mutation{leaf: at, kind: k}
					m.walk(reflect.ValueOf(&in).Elem(), "")
					if leaves = m.seen; !m.done {
						break
					}
					say = m.say
					n++
					if problem := tried(e.call, in); problem != "" {
						t.Errorf("%s: %s", say, problem)
					}
				}
				if at >= leaves {
					break
				}
			}
			t.Logf("%d inputs", n)
			if n < 20 {
				t.Errorf("only %d inputs were tried", n)
			}
		})
	}
}

// tried calls an entrance and says what is wrong with its answer.
func tried(call func(input) (any, error), in input) (problem string) {
	defer func() {
		if p := recover(); p != nil {
			problem = fmt.Sprintf("panic: %v", p)
		}
	}()
	out, err := call(in)
	var n *notice.Notice
	switch {
	case err == nil:
		return unsound(reflect.ValueOf(out), "")
	case !errors.As(err, &n):
		return fmt.Sprintf("an error without a code: %v", err)
	}
	return ""
}

// endless are the fields that may be infinite: an interval or a limit without an end, and a
// resistor that a coil does not have.
var endless = []string{"Rss", "Lo", "Hi", "Low", "High", "Margin", "LoSigmas", "HiSigmas"}

// unsound says which number of a result is none.
func unsound(v reflect.Value, path string) string {
	switch v.Kind() {
	case reflect.Float64:
		x := v.Float()
		name := path[1+strings.LastIndexByte(path, '.'):]
		if math.IsNaN(x) || math.IsInf(x, 0) && !slices.Contains(endless, name) {
			return fmt.Sprintf("%s is %v", path, x)
		}
	case reflect.Complex128:
		if z := v.Complex(); cmplx.IsNaN(z) || cmplx.IsInf(z) {
			return fmt.Sprintf("%s is %v", path, z)
		}
	case reflect.Pointer, reflect.Interface:
		if v.IsNil() {
			return ""
		}
		if m, ok := v.Interface().(mat.Symmetric); ok {
			for i := range m.SymmetricDim() {
				for j := range i + 1 {
					if x := m.At(i, j); math.IsNaN(x) || math.IsInf(x, 0) {
						return fmt.Sprintf("%s(%d,%d) is %v", path, i, j, x)
					}
				}
			}
			return ""
		}
		return unsound(v.Elem(), path)
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			if s := unsound(v.Index(i), fmt.Sprintf("%s[%d]", path, i)); s != "" {
				return s
			}
		}
	case reflect.Map:
		for _, k := range v.MapKeys() {
			if s := unsound(v.MapIndex(k), fmt.Sprintf("%s[%v]", path, k)); s != "" {
				return s
			}
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if f := v.Type().Field(i); f.IsExported() {
				if s := unsound(v.Field(i), path+"."+f.Name); s != "" {
					return s
				}
			}
		}
	}
	return ""
}

// mutation changes one leaf of an input in one of several ways.
type mutation struct {
	leaf, kind int
	seen       int // leaves so far
	done       bool
	say        string
}

// turn says whether the leaf at hand is the one to be changed, in a way of which there
// are so many.
func (m *mutation) turn(path string, ways int) bool {
	m.seen++
	if m.seen-1 != m.leaf || m.kind >= ways {
		return false
	}
	m.done = true
	m.say = path
	return true
}

func (m *mutation) walk(v reflect.Value, path string) {
	switch v.Kind() {
	case reflect.Float64:
		if m.turn(path, len(extremes)) {
			v.SetFloat(extremes[m.kind])
			m.say += fmt.Sprintf(" = %v", extremes[m.kind])
		}
	case reflect.Complex128:
		if m.turn(path, 2*len(extremes)) {
			x := extremes[m.kind/2]
			if z := v.Complex(); m.kind%2 == 0 {
				v.SetComplex(complex(x, imag(z)))
			} else {
				v.SetComplex(complex(real(z), x))
			}
			m.say += fmt.Sprintf(" = %v", v.Complex())
		}
	case reflect.Uint8:
		if m.turn(path, 4) {
			v.SetUint([]uint64{0, 1, 99, 255}[m.kind])
			m.say += fmt.Sprintf(" = %d", v.Uint())
		}
	case reflect.Bool:
		if m.turn(path, 1) {
			v.SetBool(!v.Bool())
			m.say += " turned over"
		}
	case reflect.String:
		if m.turn(path, 1) {
			v.SetString("")
			m.say += " left out"
		}
	case reflect.Pointer:
		if s, ok := v.Interface().(*mat.SymDense); ok && s != nil {
			m.walkSym(s, path)
			return
		}
		if v.IsNil() {
			return
		}
		if m.turn(path, 1) {
			v.SetZero()
			m.say += " left out"
			return
		}
		m.walk(v.Elem(), path)
	case reflect.Slice:
		if m.turn(path, 3) {
			switch n := v.Len(); {
			case m.kind == 0 || n == 0:
				v.SetZero()
			case m.kind == 1:
				v.Set(v.Slice(0, n-1))
			default:
				v.Set(reflect.AppendSlice(v.Slice3(0, n, n), v.Slice(n-1, n)))
			}
			m.say += fmt.Sprintf(" with %d", v.Len())
			return
		}
		for i := range v.Len() {
			if n := v.Len(); n > 4 && i != 0 && i != n/2 && i != n-1 { // of a long list three are enough
				continue
			}
			m.walk(v.Index(i), fmt.Sprintf("%s[%d]", path, i))
		}
	case reflect.Array:
		for i := range v.Len() {
			m.walk(v.Index(i), fmt.Sprintf("%s[%d]", path, i))
		}
	case reflect.Struct:
		for i := range v.NumField() {
			f := v.Type().Field(i)
			if unused := path == "" && v.Field(i).IsZero(); f.IsExported() && !unused {
				m.walk(v.Field(i), path+"."+f.Name)
			}
		}
	}
}

// walkSym changes the covariance of the first value with itself and with the second.
func (m *mutation) walkSym(s *mat.SymDense, path string) {
	for _, j := range []int{0, 1} {
		if m.turn(path, len(extremes)) {
			s.SetSym(0, j, extremes[m.kind])
			m.say += fmt.Sprintf("(0,%d) = %v", j, extremes[m.kind])
		}
	}
}
