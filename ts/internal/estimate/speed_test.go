package estimate

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"conewright/ts/internal/law"
	"conewright/ts/measured"
)

// readBenchmarkSweep reads the sweep that the other programs are timed with, see
// testdata/benchmark/README.md.
func readBenchmarkSweep(tb testing.TB) measured.Impedance {
	file, err := os.Open(filepath.Join("..", "..", "..", "testdata", "benchmark", "sweep.txt"))
	if err != nil {
		tb.Fatal(err)
	}
	defer file.Close()
	var freq, sigma []float64
	var z []complex128
	scanner := bufio.NewScanner(file)
	for scanner.Scan() {
		if strings.HasPrefix(scanner.Text(), "#") {
			continue
		}
		var f, re, im, s float64
		if _, err := fmt.Sscan(scanner.Text(), &f, &re, &im, &s); err != nil {
			tb.Fatal(err)
		}
		freq, z, sigma = append(freq, f), append(z, complex(re, im)), append(sigma, s)
	}
	sweep, err := measured.NewImpedance(freq, z, sigma)
	if err != nil {
		tb.Fatal(err)
	}
	return sweep
}

// benchmarkStart is the start of testdata/benchmark/model.py in the order of
// our unknowns.
func benchmarkStart(p *problem) []float64 {
	x := make([]float64, p.lay.n)
	x[p.lay.re], x[p.lay.fs], x[p.lay.qms], x[p.lay.res] = math.Log(6), math.Log(20), math.Log(5), math.Log(30)
	x[p.lay.creep] = 0.02
	x[p.lay.coil], x[p.lay.coil+1] = math.Log(0.02), math.Log(0.7)
	return x
}

// fitOne finds the minimum of one form as Fit does: on a part of the points,
// then on all.
func fitOne(in input, f form) *solution {
	thin, _ := in.thinned()
	p := thin.problem(f, false, 1)
	s := solve(p, benchmarkStart(p), thinTol)
	return solve(in.problem(f, false, 1), s.x, finalTol)
}

// What is timed must be the same minimum that scipy 1.10.1 finds from the same
// start (testdata/benchmark/others.py): sum of squares and unknowns.
func TestSpeedMinimum(t *testing.T) {
	in := inputOf([]measured.Sweep{{Impedance: readBenchmarkSweep(t)}}, measured.Conditions{})
	s := fitOne(in, form{coil: law.Lossy, creep: true})
	if want := 854.5690109911; relative(s.chi2, want) > 1e-11 {
		t.Errorf("sum of squares %.10f, want %v", s.chi2, want)
	}
	l := s.prob.lay
	for _, c := range []struct {
		index int
		want  float64
	}{{l.re, 1.697536807}, {l.fs, 3.128876800}, {l.qms, 1.360594141}, {l.res, 3.723616548}, {l.creep, 0.099682721}, {l.coil, -4.548348310}, {l.coil + 1, -0.274262574}} {
		if math.Abs(s.x[c.index]-c.want) > 1e-7 {
			t.Errorf("unknown %d is %.9f, want %v", c.index, s.x[c.index], c.want)
		}
	}
}

// BenchmarkOneFit is one model fitted to one sweep from a start some way off.
func BenchmarkOneFit(b *testing.B) {
	in := inputOf([]measured.Sweep{{Impedance: readBenchmarkSweep(b)}}, measured.Conditions{})
	var s *solution
	b.ReportAllocs()
	for b.Loop() {
		s = fitOne(in, form{coil: law.Lossy, creep: true})
	}
	b.ReportMetric(float64(s.result.Evaluations), "last-evaluations")
}

// BenchmarkFit is the whole of Fit on the same sweep: the ladder of models and
// their average.
func BenchmarkFit(b *testing.B) {
	sweeps := []measured.Sweep{{Impedance: readBenchmarkSweep(b)}}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Fit(sweeps, measured.Conditions{}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkEval is one evaluation of the residuals with their Jacobian.
func BenchmarkEval(b *testing.B) {
	in := inputOf([]measured.Sweep{{Impedance: readBenchmarkSweep(b)}}, measured.Conditions{})
	p := in.problem(form{coil: law.Lossy, creep: true}, false, 1)
	x0 := benchmarkStart(p)
	m, n := p.Dims()
	r, jac := make([]float64, m), make([]float64, m*n)
	b.ReportAllocs()
	for b.Loop() {
		p.Eval(r, jac, x0)
	}
}
