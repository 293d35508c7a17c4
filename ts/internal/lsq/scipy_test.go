package lsq

import (
	"bufio"
	"math"
	"math/cmplx"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

var leastSquares = filepath.Join("..", "..", "..", "testdata", "leastsquares")

// circuit is the impedance of a resonance behind a lossy coil,
//
//	Z = Re + K (jw)^n + Res (ju/Qms) / (1 - u^2 + ju/Qms), u = f/fs,
//
// in the logarithms of Re, K, n, fs, Qms, Res; real parts of the residuals
// first, then imaginary parts.
type circuit struct {
	f        []float64
	z        []complex128
	relative float64 // standard deviation over |z|
}

func (c *circuit) Dims() (m, n int) { return 2 * len(c.f), 6 }

// at returns Z at f and its derivatives.
func (c *circuit) at(f float64, x []float64) (z complex128, d [6]complex128) {
	var p [6]float64
	for j := range p {
		p[j] = math.Exp(x[j])
	}
	re, k, n, fs, qms, res := p[0], p[1], p[2], p[3], p[4], p[5]
	w := 2 * math.Pi * f
	sin, cos := math.Sincos(n * math.Pi / 2)
	size := k * math.Pow(w, n)
	coil := complex(size*cos, size*sin)
	u := f / fs
	num := complex(0, u/qms)
	den := complex(1-u*u, u/qms)
	mot := complex(res, 0) * num / den
	return complex(re, 0) + coil + mot, [6]complex128{
		complex(re, 0),
		coil,
		coil * complex(n*math.Log(w), n*math.Pi/2),
		mot * (-1 + complex(-2*u*u, u/qms)/den), // -u dZ/du
		mot * (-1 + num/den),
		mot,
	}
}

func (c *circuit) Eval(r, jac, x []float64) {
	m := len(c.f)
	for i, f := range c.f {
		z, d := c.at(f, x)
		s := c.relative * cmplx.Abs(c.z[i])
		r[i], r[m+i] = real(z-c.z[i])/s, imag(z-c.z[i])/s
		if jac == nil {
			continue
		}
		for j, v := range d {
			jac[j*2*m+i], jac[j*2*m+m+i] = real(v)/s, imag(v)/s
		}
	}
}

func readCircuit(t testing.TB) *circuit {
	c := &circuit{relative: 0.002}
	for _, v := range readNumbers(t, filepath.Join(leastSquares, "circuit.txt"), 0) {
		c.f = append(c.f, v.numbers[0])
		c.z = append(c.z, complex(v.numbers[1], v.numbers[2]))
	}
	return c
}

type numbersLine struct {
	name    string
	numbers []float64
}

// readNumbers reads lines of an optional name (names is 1) and numbers.
func readNumbers(t testing.TB, path string, names int) (lines []numbersLine) {
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return parseNumbers(t, string(text), names)
}

func parseNumbers(t testing.TB, text string, names int) (lines []numbersLine) {
	scanner := bufio.NewScanner(strings.NewReader(text))
	for scanner.Scan() {
		words := strings.Fields(scanner.Text())
		if words[0] == "#" {
			continue
		}
		line := numbersLine{name: strings.Join(words[:names], " ")}
		for _, s := range words[names:] {
			v, err := strconv.ParseFloat(s, 64)
			if err != nil {
				t.Fatal(err)
			}
			line.numbers = append(line.numbers, v)
		}
		lines = append(lines, line)
	}
	if len(lines) == 0 {
		t.Fatal("no numbers")
	}
	return lines
}

// Minimum, unknowns and covariance against scipy.optimize.least_squares
// (testdata/leastsquares/README.md).
func TestAgainstScipy(t *testing.T) {
	for _, want := range readNumbers(t, filepath.Join(leastSquares, "scipy.txt"), 1) {
		var p Problem
		var start []float64
		if want.name == "circuit" {
			p = readCircuit(t)
			for _, v := range []float64{6, 0.02, 0.7, 20, 5, 30} {
				start = append(start, math.Log(v))
			}
		} else {
			nist := readNIST(t, want.name)
			p, start = nist, nist.start[0]
		}
		res, err := solveAlone(p, start, Settings{})
		if err != nil {
			t.Fatal(err)
		}
		if !res.Converged() {
			t.Errorf("%s: %v", want.name, res.Status)
			continue
		}
		cov, err := res.CovarianceTo(nil)
		if err != nil {
			t.Fatal(err)
		}
		n := len(start)
		if len(want.numbers) != 1+n+n*n {
			t.Fatalf("%s: %d numbers", want.name, len(want.numbers))
		}
		wantX, wantCov := want.numbers[1:1+n], want.numbers[1+n:]
		if d := digits(res.SumSquares, want.numbers[0]); d < 9 {
			t.Errorf("%s: the sum of squares agrees to %.1f digits only", want.name, d)
		}
		for j := range n {
			if d := digits(res.X[j], wantX[j]); d < 7 {
				t.Errorf("%s: unknown %d agrees to %.1f digits only", want.name, j, d)
			}
			for k := range n {
				// In units of the standard deviations: an element near zero has
				// no digits of its own.
				scale := math.Sqrt(wantCov[j*n+j] * wantCov[k*n+k])
				if d := math.Abs(cov[j*n+k]-wantCov[j*n+k]) / scale; d > 1e-5 {
					t.Errorf("%s: covariance (%d, %d) is off by %.1e of the standard deviations", want.name, j, k, d)
				}
			}
		}
	}
}

// The interval by the covariance against that by the profile of the sum of
// squares, which needs no linear problem, as lmfit finds it
// (testdata/leastsquares/README.md): for the impedance of a driver they are the
// same to a part in two hundred of their width.
func TestIntervalsAgainstProfile(t *testing.T) {
	c := readCircuit(t)
	var start []float64
	for _, v := range []float64{6, 0.02, 0.7, 20, 5, 30} {
		start = append(start, math.Log(v))
	}
	res, err := solveAlone(c, start, Settings{})
	if err != nil {
		t.Fatal(err)
	}
	cov, err := res.CovarianceTo(nil)
	if err != nil {
		t.Fatal(err)
	}
	m, n := c.Dims()
	dof := float64(m - n)
	factor := distuv.StudentsT{Sigma: 1, Nu: dof}.Quantile(0.975) * math.Sqrt(res.SumSquares/dof)
	profiles := readNumbers(t, filepath.Join(leastSquares, "profile.txt"), 1)
	if len(profiles) != n {
		t.Fatalf("%d profiles for %d unknowns", len(profiles), n)
	}
	for j, want := range profiles {
		half := factor * math.Sqrt(cov[j*n+j])
		for k, got := range []float64{res.X[j], res.X[j] - half, res.X[j] + half} {
			if math.Abs(got-want.numbers[k]) > 0.005*half {
				t.Errorf("%s: %v, by the profile %v; half-width %v", want.name, got, want.numbers[k], half)
			}
		}
	}
}

func TestCircuitJacobian(t *testing.T) {
	c := readCircuit(t)
	x := []float64{math.Log(6), math.Log(0.02), math.Log(0.7), math.Log(20), math.Log(5), math.Log(30)}
	if err := checkJacobian(c, x, 1e-7); err != nil {
		t.Error(err)
	}
}

// Standard errors of the circuit without noise in the data, 0.2 % of |Z| on real
// and imaginary part: values computed outside for Re, K, n, fs, Qms, Res, with
// 400 simulated fits as a second way (relative standard errors in percent).
func TestCircuitCovariance(t *testing.T) {
	truth := []float64{5.46, 0.0106, 0.76, 22.850962, 3.896454, 5.46 * 3.896454 / 0.513842}
	c := readCircuit(t)
	x := make([]float64, 6)
	for j, v := range truth {
		x[j] = math.Log(v)
	}
	for i, f := range c.f {
		c.z[i], _ = c.at(f, x)
	}
	res, err := solveAlone(c, x, Settings{})
	if err != nil {
		t.Fatal(err)
	}
	cov, err := res.CovarianceTo(nil)
	if err != nil {
		t.Fatal(err)
	}
	for j, want := range []float64{0.0333, 0.2450, 0.0362, 0.00811, 0.0758, 0.0666} {
		if got := 100 * math.Sqrt(cov[j*6+j]); math.Abs(got-want) > 0.006*want {
			t.Errorf("unknown %d: relative standard error %.5f %%, want %v %%", j, got, want)
		}
	}
	correlation := func(j, k int) float64 { return cov[j*6+k] / math.Sqrt(cov[j*6+j]*cov[k*6+k]) }
	for _, v := range []struct {
		j, k int
		want float64
	}{{1, 2, -0.989}, {4, 5, 0.906}, {0, 1, -0.743}} {
		if got := correlation(v.j, v.k); math.Abs(got-v.want) > 6e-4 {
			t.Errorf("correlation of unknowns %d and %d: %.4f, want %v", v.j, v.k, got, v.want)
		}
	}
}
