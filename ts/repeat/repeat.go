// Package repeat says how a bench repeats: how far sweeps of one driver scatter that were taken
// again, after clamping anew, in another session, by another operator. What a single sweep
// cannot show is part of the uncertainty of everything that is concluded from it.
package repeat

import (
	"math"

	"conewright/ts/internal/bounds"
	"conewright/ts/notice"
	"conewright/ts/param"
	"conewright/ts/study"

	"gonum.org/v1/gonum/mat"
)

// Quantities are what a bench is known to scatter in, as logarithms. The moving mass does not scatter, so
// that the rest follows: scatter of Fs is scatter of the stiffness, of Qms at this stiffness one of the
// losses, of Re one of the coil's temperature and of contacts.
var Quantities = [3]param.ID{param.Fs, param.Qms, param.Re}

// Scatter is how far one kind of repeat moves a driver, beside what the kinds before it do.
type Scatter struct {
	Std         [3]float64 // of the logarithms of Quantities
	Correlation [3]float64 // of Fs with Qms, Fs with Re, Qms with Re
	Dof         float64    // degrees of freedom behind it; 0: this kind is not known and does not occur
	Assumed     bool       // it is common practice and was not found on this bench
}

// Known says whether the kind has a scatter.
func (s Scatter) Known() bool { return s.Dof > 0 }

// Covariance returns the covariance of the logarithms of Quantities.
func (s Scatter) Covariance() *mat.SymDense {
	v := mat.NewSymDense(3, nil)
	for i, u := range s.Std {
		v.SetSym(i, i, u*u)
	}
	v.SetSym(0, 1, s.Correlation[0]*s.Std[0]*s.Std[1])
	v.SetSym(0, 2, s.Correlation[1]*s.Std[0]*s.Std[2])
	v.SetSym(1, 2, s.Correlation[2]*s.Std[1]*s.Std[2])
	return v
}

// Of returns the scatter with the covariance v of the logarithms of Quantities.
func Of(v mat.Symmetric, dof float64, assumed bool) Scatter {
	s := Scatter{Dof: dof, Assumed: assumed}
	for i := range s.Std {
		s.Std[i] = math.Sqrt(max(0, v.At(i, i)))
	}
	for i, at := range [3][2]int{{0, 1}, {0, 2}, {1, 2}} {
		if u := s.Std[at[0]] * s.Std[at[1]]; u > 0 {
			s.Correlation[i] = max(-1, min(1, v.At(at[0], at[1])/u))
		}
	}
	return s
}

// Bench is how a bench repeats, by Kind.
type Bench [kinds]Scatter

// Usual is how benches repeat as a rule, for as long as nothing is known of this one: common practice, as a
// judgement. Sources and reasons stand in docs/decisions/0070. The resonance of one driver repeats
// within 1 % from day to day on a usual bench, within 0.5 % on a careful one; 2 % occur. That is a
// doubt of about a third of each width, or four degrees of freedom (JCGM 100, G.4.2). Of the inner
// kinds less is known, and they are soon overruled by what repeats show. Operators are taken to be alike.
var Usual = Bench{
	Again:     {Std: [3]float64{0.0015, 0.01, 0.001}, Dof: 1, Assumed: true},
	Reclamped: {Std: [3]float64{0.004, 0.01, 0.001}, Dof: 2, Assumed: true},
	Session:   {Std: [3]float64{0.009, 0.02, 0.006}, Dof: 4, Assumed: true},
}

// What may have changed between two sweeps of one driver with different loads, as
// standard deviations; common practice. docs/decisions/0012.
const (
	DriftStd    = 0.02 // of ln stiffness; 1 % in Fs
	FrictionStd = 0.10 // of the logarithm of all losses
	HeatStd     = 0.02 // of ln Re; 5 K in a copper coil
	BoxAirStd   = 0.02 // of the moving mass on a closed box
	BoxLeakStd  = 0.1  // of the frequency below which its leak makes a box none, over Fs: a Q of leakage of some 14
)

// MagnetStd is the standard uncertainty of ln BL from session to session: a hard ferrite loses 0.2 % of its field a
// kelvin (common practice; neodymium half of that), and the magnet takes the temperature of the room, which is known to
// 1.5 K (docs/decisions/0070). The room warms the coil as well; that lies in how the Re of the bench repeats.
const MagnetStd = 0.002 * 1.5

// Assumed is the code of the notice for a judgement that rests for a part on [Usual].
const Assumed = "repeatability-assumed"

// Check refuses what no bench does.
func (b Bench) Check() error {
	for _, k := range Kinds {
		s := b[k]
		if s.Dof != 0 && !(s.Dof >= param.LeastDof) || !bounds.Finite(s.Std[:]...) {
			return notice.New("bad-repeatability", notice.Facts{"kind": k.String()})
		}
		for i := range 3 {
			if !(s.Std[i] >= 0 && s.Std[i] <= mostStd) || !(math.Abs(s.Correlation[i]) <= 1) {
				return notice.New("bad-repeatability", notice.Facts{"kind": k.String()})
			}
		}
		var eig mat.EigenSym
		r := Scatter{Std: [3]float64{1, 1, 1}, Correlation: s.Correlation}.Covariance()
		if !eig.Factorize(r, false) || eig.Values(nil)[0] < -1e-6 {
			return notice.New("bad-repeatability", notice.Facts{"kind": k.String()})
		}
	}
	return nil
}

// mostStd is more than a bench that is one scatters by: half of the value.
const mostStd = 0.5

// Over returns what is known of the bench b, and what rest says of the kinds of which nothing is.
func (b Bench) Over(rest Bench) Bench {
	for k, s := range b {
		if s.Known() {
			rest[k] = s
		}
	}
	return rest
}

// Within returns the scatter of sweeps that differ by the kind given and by all kinds before it. Its degrees of
// freedom are those of Fs.
func (b Bench) Within(kind Kind) Scatter {
	v := mat.NewSymDense(3, nil)
	var terms []study.Term
	assumed := false
	for _, k := range Kinds[:kind+1] {
		if s := b[k]; s.Known() {
			v.AddSym(v, s.Covariance())
			terms = append(terms, study.Term{Std: s.Std[0], Dof: s.Dof})
			assumed = assumed || s.Assumed
		}
	}
	combine := study.Combine
	if assumed {
		combine = study.CombineJudged
	}
	return Of(v, combine(terms...).Dof, assumed)
}

// Pool returns the scatter within kind once more, with what n sweeps of that kind show: their sample
// covariance of the logarithms of Quantities, which has n-1 degrees of freedom. Variances
// are pooled by degrees of freedom. It rests on an assumption for as long as that makes more than half of it.
func (s Scatter) Pool(sample mat.Symmetric, n int) Scatter {
	own := float64(n - 1)
	if !(own > 0) {
		return s
	}
	if math.IsInf(s.Dof, 1) {
		return s
	}
	v := mat.NewSymDense(3, nil)
	prior := s.Covariance()
	for i := range 3 {
		for j := i; j < 3; j++ {
			v.SetSym(i, j, (s.Dof*prior.At(i, j)+own*sample.At(i, j))/(s.Dof+own))
		}
	}
	return Of(v, s.Dof+own, s.Assumed && s.Dof > own)
}
