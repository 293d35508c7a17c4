package estimate

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"conewright/ts/driver"
	"conewright/ts/handmade"
	"conewright/ts/internal/law"
	"conewright/ts/internal/simulated"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// The likelihood of one law by its spectrum is that by factoring the matrix.
func TestSpectrumAgainstLikelihood(t *testing.T) {
	d := handmade.CourseWithCoil()
	d.Creep = 0.1
	in := inputOf([]measured.Sweep{{Impedance: simulated.Simulate(d, simulated.LogFreq(5, 2000, 24), 0, 0, 0.002, rand.New(rand.NewPCG(3, 1)))}}, measured.Conditions{})
	p := in.problem(form{coil: law.Plain}, false, 1)
	s := solve(p, in.start(p, in.outline), scanTol)
	r := in.reduce(s, s.pieces(true))
	none, _ := r.likelihood(sizes{}, false)
	if like, _ := r.withoutPieces(false); math.Abs(like-none) > 1e-9*math.Abs(none) {
		t.Errorf("without misfit: %v and %v", like, none)
	}
	for law, q := range laws {
		spectrum := r.spectrum(law)
		for _, tau := range []float64{q.lo, math.Sqrt(q.lo * q.hi), q.hi} {
			var all sizes
			all[law] = tau
			want, wantNoise := r.likelihood(all, false)
			like, noise := r.likeliest(false, func(noise float64) float64 {
				return spectrum.gain(tau, noise) - r.dof*math.Log(noise) - r.total/(2*noise*noise)
			})
			if math.Abs(like-want) > 1e-8*math.Abs(want) || noise != wantNoise {
				t.Errorf("law %d, size %v: %v at the noise %v, by the matrix %v at %v", law, tau, like, noise, want, wantNoise)
			}
		}
		if spectrum.values == nil {
			t.Errorf("law %d has no spectrum", law)
		}
	}
}

// The likeliest noise is found wherever it lies: near what is left when the pieces take
// all they can, and where they can take nearly everything, orders of magnitude above.
func TestLikeliestNoise(t *testing.T) {
	for _, known := range []bool{false, true} {
		for _, want := range []float64{1, 1.1, 1.5, 3, 40, 700} {
			r := &reduced{dof: 30, rest: 29e-8, total: 30 * 1000 * 1000}
			like := func(noise float64) float64 { return -30*math.Log(noise) - 15*want*want/(noise*noise) }
			got, noise := r.likeliest(known, like)
			if math.Abs(noise/want-1) > 0.17 || like(want)-got > 1 || got != like(noise) {
				t.Errorf("known %v: %v at the noise %v, the largest is %v at %v", known, got, noise, like(want), want)
			}
		}
	}
}

// heated is a sweep of d, with the relative noise given, during which the coil
// warmed: Re rises by 1 % from the first frequency to the last.
func heated(d driver.Driver, top, noise float64, seed uint64) measured.Impedance {
	z := simulated.Simulate(d, simulated.LogFreq(4, top, 24), 0, 0, noise, rand.New(rand.NewPCG(seed, 77)))
	n := float64(z.Len() - 1)
	for i := range z.Z {
		z.Z[i] += complex(0.01*d.Re*float64(i)/n, 0)
	}
	return z
}

// A misfit counts for more in the uncertainty than in the values, and never
// leaves what is believed without a share.
func TestSuspectedMisfitIsADoubt(t *testing.T) {
	d := handmade.CourseWithCoil()
	d.Creep = 0.1
	var suspected, believed int
	for seed := range uint64(30) {
		noise := []float64{0.002, 0.005}[seed%2]
		in := inputOf([]measured.Sweep{{Impedance: heated(d, 2000, noise, seed)}}, measured.Conditions{})
		forms, _ := in.weigh(in.ladder(scanTol))
		members, _, err := in.refit(forms)
		if err != nil {
			t.Fatal(err)
		}
		var p, q, all float64
		for _, m := range members {
			all += m.doubt
			if m.misfit.any() {
				p += m.weight
				q += m.doubt
			}
		}
		switch {
		case p == 0 && q == 0:
			continue
		case p < 0.5:
			suspected++
		default:
			believed++
		}
		const dropped = 10 * minWeight // candidates that became no members
		if math.Abs(all-1) > 1e-9 || q < p-dropped || q > max(p, 1-leastTrust)+dropped {
			t.Errorf("seed %d: a misfit of the weight %.3f has the doubt %.3f of %v", seed, p, q, all)
		}
		if p > 1e-4 && p < 0.5 && q < 2*p*(1-p) {
			t.Errorf("seed %d: a misfit of the weight %.4f has only the doubt %.4f", seed, p, q)
		}
	}
	if suspected < 3 || believed < 3 {
		t.Errorf("of 30 heated sweeps %d are suspected and %d believed", suspected, believed)
	}
}

// A coil that warms looks to the law that no circuit obeys like one of its own:
// where that one is the best, the others are asked whether a misfit explains the
// sweep as well. The interval of Re holds the truth.
func TestHeatingBehindThePowerLaw(t *testing.T) {
	d := handmade.CourseWithCoil()
	d.Creep, d.Coil = 0.1, driver.LossyCoil{K: 0.0046, N: 0.82}
	var power, held int
	for seed := range uint64(60) {
		z := heated(d, 1800, 0.0015, seed)
		in := inputOf([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
		all, alarm := in.weigh(in.ladder(scanTol))
		trusted := slices.IndexFunc(all, func(c candidate) bool { return !c.misfit.any() })
		if all[trusted].prob.form.coil != (law.Power) || alarm > floorGain {
			continue
		}
		power++
		if !slices.ContainsFunc(all, func(c candidate) bool { return c.misfit.any() && c.prob.form.causal() }) {
			t.Errorf("seed %d: no other law is asked", seed)
		}
		f, err := Fit([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		re, _ := f.Parameters.Get(param.Re)
		at := slices.IndexFunc(z.Freq, func(f float64) bool { return f > d.Fs() }) // Re is that at resonance
		if want := d.Re * (1 + 0.01*float64(at)/float64(z.Len()-1)); re.Low <= want && want <= re.High {
			held++
		}
	}
	if power < 10 || held < power*9/10 {
		t.Errorf("of %d sweeps that look like the power law %d hold the true Re", power, held)
	}
}

// Once a misfit is beyond doubt neither the law that no circuit obeys nor a
// suspension without creep takes part, as long as others do.
func TestDoubtedForms(t *testing.T) {
	d := handmade.CourseWithCoil()
	d.Creep = 0.01 // forms without creep stand as well
	z := simulated.Simulate(d, simulated.LogFreq(4, 2000, 24), 0, 0, 0.002, rand.New(rand.NewPCG(1, 1)))
	for i, f := range z.Freq { // a second resonance
		z.Z[i] += complex(0.05*d.Re, 0) / complex(1, 5*(f/400-400/f))
	}
	in := inputOf([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
	all, alarm := in.weigh(in.ladder(scanTol))
	if alarm < floorGain {
		t.Fatalf("the second resonance is not seen: %v", alarm)
	}
	doubted := 0
	for _, c := range all {
		if !c.misfit.any() {
			continue
		}
		doubted++
		if !c.prob.form.causal() || !c.prob.form.creep {
			t.Errorf("%v is doubted", c.prob.form)
		}
	}
	if doubted == 0 || !all[0].misfit.any() {
		t.Errorf("%d forms are doubted, the heaviest of all has misfit %v", doubted, all[0].misfit.tau)
	}
}

// A coil whose reactance follows the square root of frequency is that of the
// lossy law, not the limit of a circuit whose parts have run away.
func TestStrangeCoilIsNotChosen(t *testing.T) {
	d := handmade.CourseWithCoil()
	d.Creep, d.Coil = 0.08, driver.LossyCoil{K: 0.058, N: 0.504}
	for seed := range uint64(20) {
		f, err := Fit([]measured.Sweep{{Impedance: simulated.Simulate(d, simulated.LogFreq(4, 4700, 21), 0, 0, 0.003, rand.New(rand.NewPCG(seed, 1)))}}, measured.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		if a := f.Model.Alternatives[0]; a.Coil != (law.Lossy).Name() || a.Weight < 0.9 {
			t.Errorf("seed %d: %s has the weight %.2f", seed, a.Coil, a.Weight)
		}
	}
}

// What a misfit is found to leave counts wideDoubt times: the doubt of its
// pieces is larger than their share of the covariance.
func TestMisfitIsWidened(t *testing.T) {
	d := handmade.CourseWithCoil()
	d.Creep = 0.1
	for seed := range uint64(30) {
		in := inputOf([]measured.Sweep{{Impedance: heated(d, 2000, 0.002, seed)}}, measured.Conditions{})
		all, _ := in.weigh(in.ladder(scanTol))
		if !all[0].misfit.any() {
			continue
		}
		final := in.fullFit(all[0], all[0].misfit)
		said, err := in.state(final, false)
		if err != nil {
			t.Fatal(err)
		}
		widened, err := in.state(final, true)
		if err != nil {
			t.Fatal(err)
		}
		wide := widened.effects
		for i, c := range said.effects {
			want := 1.0
			if c.Part == param.ModelPart {
				want = wideDoubt
			}
			for k, e := range c.Effect {
				if math.Abs(wide[i].Effect[k]-want*e) > 1e-12*math.Abs(e) {
					t.Fatalf("%s: %v, want %v times %v", c.Source, wide[i].Effect[k], want, e)
				}
			}
		}
		return
	}
	t.Error("no misfit was believed")
}

// seriesCoils are coils in series, which no law of the ladder follows.
type seriesCoils []driver.Coil

func (s seriesCoils) Impedance(w float64) complex128 {
	var z complex128
	for _, c := range s {
		z += c.Impedance(w)
	}
	return z
}

// Inductance and loss at 1 kHz are those of the law and its free pieces together.
func TestCoilInDoubtAtOneKilohertz(t *testing.T) {
	d := handmade.CourseWithCoil()
	const w, l = 2 * math.Pi * 1000, 0.4e-3
	d.Creep = 0.1
	d.Coil = seriesCoils{driver.TwoPartCoil{L1: 0.6 * l, L2: l, R2: 2 * math.Pi * 400 * l},
		driver.SemiCoil{Le: 2 * l, Ke: l * math.Sqrt(2*math.Pi*300), Rss: math.Inf(1)}}
	want := d.Coil.Impedance(w)
	for seed := range uint64(5) {
		f, err := Fit([]measured.Sweep{{Impedance: simulated.Simulate(d, simulated.LogFreq(4, 3000, 24), 0, 0, 0.001, rand.New(rand.NewPCG(seed, 3)))}}, measured.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		inductance, _ := f.Parameters.Get(param.L1k)
		loss, _ := f.Parameters.Get(param.R1k)
		if got := inductance.Value * w; math.Abs(got/imag(want)-1) > 0.02 {
			t.Errorf("seed %d: reactance %.3f ohm, want %.3f", seed, got, imag(want))
		}
		if math.Abs(loss.Value/real(want)-1) > 0.1 || math.Abs(loss.Value-real(want)) > 3*loss.Std {
			t.Errorf("seed %d: loss %.3f +- %.3f ohm, want %.3f", seed, loss.Value, loss.Std, real(want))
		}
	}
}

// What members say is averaged entry by entry: a coil whose free pieces turn its
// reactance round still has an inductance, that of its law, and a driver without
// a coil is not doubted by one with a coil.
func TestMembersSayTheSame(t *testing.T) {
	d := handmade.CourseWithCoil()
	d.Creep = 0.1
	in := inputOf([]measured.Sweep{{Impedance: simulated.Simulate(d, simulated.LogFreq(4, 3000, 24), 0, 0, 0.002, rand.New(rand.NewPCG(7, 2)))}}, measured.Conditions{})
	doubt := func(law law.Law) candidate {
		p := in.problem(form{coil: law, creep: true}, false, 1)
		c := candidate{solution: solve(p, in.start(p, in.outline), scanTol), weight: 0.1}
		c.pieces = c.solution.pieces(true)
		c.misfit = misfit{tau: unitSizes, noise: 1}
		return c
	}
	plain := doubt(law.Plain)
	s := in.fullFit(plain, plain.misfit)
	want := len(in.derive(s).ids)
	for j, e := range s.prob.extra {
		if e.ofCoil() {
			s.x[s.prob.lay.extra[j]] = -10
		}
	}
	turned := in.derive(s)
	if len(turned.ids) != want {
		t.Errorf("%d values with the reactance turned round, %d without", len(turned.ids), want)
	}

	none := doubt(law.None)
	none.misfit, none.weight = misfit{noise: 1}, 0.9
	m, _ := in.member(none)
	if len(in.suspect([]member{m}, []candidate{none, plain})) != 1 {
		t.Error("a driver without a coil is doubted by one with a coil")
	}
	if len(in.suspect([]member{m}, []candidate{none, doubt(law.None)})) != 2 {
		t.Error("a driver without a coil is not doubted by its own kind")
	}
}

// inSeries is several coils in series.
type inSeries []driver.Coil

func (s inSeries) Impedance(w float64) (z complex128) {
	for _, c := range s {
		z += c.Impedance(w)
	}
	return z
}

// A channel that lags looks like inductance: where a fit takes the steps of a coil
// for such a lag, its inductance is as uncertain as that.
func TestCoilOrTiming(t *testing.T) {
	const w1k = 2 * math.Pi * 1000
	d := handmade.CourseWithCoil()
	l := d.Re / w1k
	coil := inSeries{driver.PlainCoil{L: 0.3 * l}}
	for _, corner := range []float64{80, 500, 3000} {
		coil = append(coil, driver.TwoPartCoil{L2: 0.5 * l, R2: 2 * math.Pi * corner * 0.5 * l})
	}
	d.Coil, d.Creep = coil, 0.1
	want := imag(coil.Impedance(w1k)) / w1k
	held, doubted, n := 0, 0, 40
	for seed := range uint64(n) {
		z := simulated.Simulate(d, simulated.LogFreq(4, 3000, 24), 0, 0, 0.001, rand.New(rand.NewPCG(seed, 3)))
		f, err := Fit([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		if slices.ContainsFunc(f.Parameters.Components, func(c param.Component) bool { return c.Source == param.CoilOrTiming }) {
			doubted++
		}
		if e, _ := f.Parameters.Get(param.L1k); e.Low <= want && want <= e.High {
			held++
		}
	}
	if doubted < n/2 || held < n*9/10 {
		t.Errorf("of %d sweeps %d doubt the timing and %d hold the inductance", n, doubted, held)
	}
}
