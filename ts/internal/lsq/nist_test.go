package lsq

import (
	"bufio"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// curve is a model function: it returns y at one point and writes dy/db to d.
type curve func(d, b, x []float64) float64

// curves are the functions of the NIST problems by our names for them.
var curves = map[string]curve{
	// b1 (b2+x)^(-1/b3)
	"shifted-power": func(d, b, x []float64) float64 {
		l := math.Log(b[1] + x[0])
		d[0] = math.Exp(-l / b[2])
		y := b[0] * d[0]
		d[1] = -y / (b[2] * (b[1] + x[0]))
		d[2] = y * l / (b[2] * b[2])
		return y
	},
	// b1 (1 - exp(-b2 x))
	"saturation": func(d, b, x []float64) float64 {
		e := math.Exp(-b[1] * x[0])
		d[0] = -math.Expm1(-b[1] * x[0])
		d[1] = b[0] * x[0] * e
		return b[0] * d[0]
	},
	// exp(-b1 x) / (b2 + b3 x)
	"decay-over-line": func(d, b, x []float64) float64 {
		n := b[1] + b[2]*x[0]
		y := math.Exp(-b[0]*x[0]) / n
		d[0], d[1], d[2] = -x[0]*y, -y/n, -x[0]*y/n
		return y
	},
	// b1 x^b2
	"power": func(d, b, x []float64) float64 {
		d[0] = math.Pow(x[0], b[1])
		d[1] = b[0] * d[0] * math.Log(x[0])
		return b[0] * d[0]
	},
	// b1 + b2 cos(2 pi x/12) + b3 sin(2 pi x/12) + b5 cos(2 pi x/b4) + b6 sin(2 pi x/b4)
	// + b8 cos(2 pi x/b7) + b9 sin(2 pi x/b7)
	"three-periods": func(d, b, x []float64) float64 {
		w := 2 * math.Pi * x[0]
		d[0] = 1
		d[2], d[1] = math.Sincos(w / 12)
		d[5], d[4] = math.Sincos(w / b[3])
		d[8], d[7] = math.Sincos(w / b[6])
		d[3] = (b[4]*d[5] - b[5]*d[4]) * w / (b[3] * b[3])
		d[6] = (b[7]*d[8] - b[8]*d[7]) * w / (b[6] * b[6])
		return b[0] + b[1]*d[1] + b[2]*d[2] + b[4]*d[4] + b[5]*d[5] + b[7]*d[7] + b[8]*d[8]
	},
	// b1/b2 exp(-((x-b3)/b2)^2 / 2)
	"peak": func(d, b, x []float64) float64 {
		u := (x[0] - b[2]) / b[1]
		e := math.Exp(-0.5*u*u) / b[1]
		y := b[0] * e
		d[0], d[1], d[2] = e, y*(u*u-1)/b[1], y*u/b[1]
		return y
	},
	// b1 exp(-b2 x) + b3 exp(-((x-b4)/b5)^2) + b6 exp(-((x-b7)/b8)^2)
	"decay-two-peaks": func(d, b, x []float64) float64 {
		d[0] = math.Exp(-b[1] * x[0])
		y := b[0] * d[0]
		d[1] = -x[0] * y
		for k := 2; k < 8; k += 3 {
			u := (x[0] - b[k+1]) / b[k+2]
			d[k] = math.Exp(-u * u)
			p := b[k] * d[k]
			d[k+1], d[k+2] = 2*p*u/b[k+2], 2*p*u*u/b[k+2]
			y += p
		}
		return y
	},
	// (b1 + b2 x + b3 x^2 + b4 x^3) / (1 + b5 x + b6 x^2 + b7 x^3)
	"cubic-over-cubic": func(d, b, x []float64) float64 { return rational(d, b, x[0], 4) },
	// (b1 + b2 x + b3 x^2) / (1 + b4 x + b5 x^2)
	"square-over-square": func(d, b, x []float64) float64 { return rational(d, b, x[0], 3) },
	// b1 exp(-b2 x) + b3 exp(-b4 x) + b5 exp(-b6 x)
	"three-decays": func(d, b, x []float64) float64 {
		var y float64
		for k := 0; k < 6; k += 2 {
			d[k] = math.Exp(-b[k+1] * x[0])
			d[k+1] = -x[0] * b[k] * d[k]
			y += b[k] * d[k]
		}
		return y
	},
	// b1 (x^2 + b2 x) / (x^2 + b3 x + b4)
	"kowalik": func(d, b, x []float64) float64 {
		n := x[0]*x[0] + b[2]*x[0] + b[3]
		d[0] = (x[0]*x[0] + b[1]*x[0]) / n
		y := b[0] * d[0]
		d[1], d[2], d[3] = b[0]*x[0]/n, -y*x[0]/n, -y/n
		return y
	},
	// b1 exp(b2/(x+b3))
	"shifted-activation": func(d, b, x []float64) float64 {
		n := x[0] + b[2]
		d[0] = math.Exp(b[1] / n)
		y := b[0] * d[0]
		d[1], d[2] = y/n, -y*b[1]/(n*n)
		return y
	},
	// b1 + b2 exp(-b4 x) + b3 exp(-b5 x)
	"two-decays": func(d, b, x []float64) float64 {
		d[0] = 1
		d[1], d[2] = math.Exp(-x[0]*b[3]), math.Exp(-x[0]*b[4])
		d[3], d[4] = -x[0]*b[1]*d[1], -x[0]*b[2]*d[2]
		return b[0] + b[1]*d[1] + b[2]*d[2]
	},
	// b1 (1 - (1 + b2 x/2)^-2)
	"inverse-square": func(d, b, x []float64) float64 {
		u := 1 + b[1]*x[0]/2
		d[0] = 1 - 1/(u*u)
		d[1] = b[0] * x[0] / (u * u * u)
		return b[0] * d[0]
	},
	// b1 (1 - (1 + 2 b2 x)^(-1/2))
	"inverse-root": func(d, b, x []float64) float64 {
		u := 1 + 2*b[1]*x[0]
		d[0] = 1 - 1/math.Sqrt(u)
		d[1] = b[0] * x[0] / (u * math.Sqrt(u))
		return b[0] * d[0]
	},
	// b1 b2 x / (1 + b2 x)
	"hyperbola": func(d, b, x []float64) float64 {
		u := 1 + b[1]*x[0]
		d[0] = b[1] * x[0] / u
		d[1] = b[0] * x[0] / (u * u)
		return b[0] * d[0]
	},
	// b1 - b2 x1 exp(-b3 x2), to be compared with ln y
	"log-breakdown": func(d, b, x []float64) float64 {
		e := x[0] * math.Exp(-b[2]*x[1])
		d[0], d[1], d[2] = 1, -e, b[1]*e*x[1]
		return b[0] - b[1]*e
	},
	// b1 / (1 + exp(b2 - b3 x))
	"logistic": func(d, b, x []float64) float64 {
		e := math.Exp(b[1] - b[2]*x[0])
		d[0] = 1 / (1 + e)
		y := b[0] * d[0]
		d[1], d[2] = -y*e*d[0], x[0]*y*e*d[0]
		return y
	},
	// b1 / (1 + exp(b2 - b3 x))^(1/b4)
	"generalised-logistic": func(d, b, x []float64) float64 {
		e := math.Exp(b[1] - b[2]*x[0])
		d[0] = math.Pow(1+e, -1/b[3])
		y := b[0] * d[0]
		slope := y / b[3] * e / (1 + e)
		d[1], d[2] = -slope, x[0]*slope
		d[3] = y * math.Log1p(e) / (b[3] * b[3])
		return y
	},
	// b1 - b2 x - arctan(b3/(x-b4))/pi
	"line-arctangent": func(d, b, x []float64) float64 {
		u := x[0] - b[3]
		n := math.Pi * (u*u + b[2]*b[2])
		d[0], d[1], d[2], d[3] = 1, -x[0], -u/n, -b[2]/n
		return b[0] - b[1]*x[0] - math.Atan(b[2]/u)/math.Pi
	},
}

// rational is a polynomial of top coefficients over one whose constant is 1.
func rational(d, b []float64, x float64, top int) float64 {
	num, den := 0.0, 1.0
	p := 1.0
	for k := range top {
		d[k] = p
		num += b[k] * p
		p *= x
	}
	p = x
	for k := top; k < len(b); k++ {
		d[k] = p
		den += b[k] * p
		p *= x
	}
	y := num / den
	for k := range d {
		if k < top {
			d[k] /= den
		} else {
			d[k] *= -y / den
		}
	}
	return y
}

// regression is a curve through points as a Problem.
type regression struct {
	f       curve
	y       []float64
	x       [][]float64
	n       int
	slopes  []float64
	logData bool
}

func (p *regression) Dims() (m, n int) { return len(p.y), p.n }

func (p *regression) Eval(r, jac, b []float64) {
	for i, y := range p.y {
		if p.logData {
			y = math.Log(y)
		}
		r[i] = p.f(p.slopes, b, p.x[i]) - y
		if jac != nil {
			for j, s := range p.slopes {
				jac[j*len(p.y)+i] = s
			}
		}
	}
}

type nistProblem struct {
	regression
	name           string
	start          [2][]float64
	certified, std []float64
	sumSquares     float64
}

// readNIST reads a file of testdata/nist; its README describes the format.
func readNIST(t testing.TB, name string) *nistProblem {
	file, err := os.Open(filepath.Join("..", "..", "..", "testdata", "nist", name+".txt"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	p := &nistProblem{name: name}
	scanner := bufio.NewScanner(file)
	for scanner.Scan() {
		word := strings.Fields(scanner.Text())
		if word[0] == "#" {
			continue
		}
		if word[0] == "model" {
			p.f = curves[word[1]]
			p.logData = word[1] == "log-breakdown"
			continue
		}
		var v []float64
		for _, s := range word[1:] {
			x, err := strconv.ParseFloat(s, 64)
			if err != nil {
				t.Fatal(err)
			}
			v = append(v, x)
		}
		switch word[0] {
		case "sumsquares":
			p.sumSquares = v[0]
		case "unknown":
			p.start[0] = append(p.start[0], v[0])
			p.start[1] = append(p.start[1], v[1])
			p.certified = append(p.certified, v[2])
			p.std = append(p.std, v[3])
		case "point":
			p.y = append(p.y, v[0])
			p.x = append(p.x, v[1:])
		default:
			t.Fatalf("%s: unknown line %q", name, word[0])
		}
	}
	if err := scanner.Err(); err != nil {
		t.Fatal(err)
	}
	p.n = len(p.certified)
	p.slopes = make([]float64, p.n)
	if p.f == nil || p.n == 0 || len(p.y) < p.n {
		t.Fatalf("%s is not complete", name)
	}
	return p
}

var nistNames = []string{
	"Bennett5", "BoxBOD", "Chwirut1", "Chwirut2", "DanWood", "ENSO", "Eckerle4", "Gauss1", "Gauss2",
	"Gauss3", "Hahn1", "Kirby2", "Lanczos1", "Lanczos2", "Lanczos3", "MGH09", "MGH10", "MGH17",
	"Misra1a", "Misra1b", "Misra1c", "Misra1d", "Nelson", "Rat42", "Rat43", "Roszman1", "Thurber",
}

// digits is the number of common digits, -log10 of the relative error with the
// sign of the value counted, at most the 11 that are certified.
func digits(got, want float64) float64 {
	d := -math.Log10(math.Abs(got-want) / math.Abs(want))
	if math.IsNaN(d) {
		return 0
	}
	return min(d, 11)
}

// solveNIST returns the result and the smallest number of digits common with
// the certified unknowns and their standard deviations.
func solveNIST(t *testing.T, p *nistProblem, start int, set Settings) (res *Result, dx, ds float64) {
	res, err := solveAlone(p, p.start[start-1], set)
	if err != nil {
		t.Fatal(err)
	}
	dx, ds = 11, 11
	cov, err := res.CovarianceTo(nil)
	for j, v := range res.X {
		dx = min(dx, digits(v, p.certified[j]))
		if err != nil {
			ds = 0
			continue
		}
		variance := cov[j*p.n+j] * res.SumSquares / float64(len(p.y)-p.n)
		ds = min(ds, digits(math.Sqrt(variance), p.std[j]))
	}
	return res, dx, ds
}

// The nearer start of NIST must give everything. Lanczos1 is judged by its
// unknowns alone: its data carry 13 digits and its residuals are the rounding
// of the model itself, so that no two programs agree about them.
func TestNISTNearStart(t *testing.T) {
	for _, name := range nistNames {
		p := readNIST(t, name)
		res, dx, ds := solveNIST(t, p, 2, Settings{})
		if !res.Converged() {
			t.Errorf("%s: %v, rank %d", name, res.Status, res.Rank)
		}
		if dx < 8 {
			t.Errorf("%s: unknowns agree to %.1f digits only: %v, certified %v", name, dx, res.X, p.certified)
		}
		if name == "Lanczos1" {
			continue
		}
		if ds < 6 {
			t.Errorf("%s: standard deviations agree to %.1f digits only", name, ds)
		}
		if d := digits(res.SumSquares, p.sumSquares); d < 9 {
			t.Errorf("%s: the sum of squares agrees to %.1f digits only", name, d)
		}
	}
}

// From the far start of NIST one problem, a long curved valley, needs more than
// the default number of evaluations. It must say so, and come to the certified
// values when it is given more.
func TestNISTFarStart(t *testing.T) {
	for _, name := range nistNames {
		p := readNIST(t, name)
		res, dx, ds := solveNIST(t, p, 1, Settings{})
		if name == "Bennett5" {
			if res.Converged() || res.Status != EvaluationLimit {
				t.Errorf("%s: converged is %v (%v)", name, res.Converged(), res.Status)
			}
			res, dx, ds = solveNIST(t, p, 1, Settings{MaxEvaluations: 5000})
		}
		switch {
		case !res.Converged():
			t.Errorf("%s: %v, rank %d", name, res.Status, res.Rank)
		case dx < 6:
			t.Errorf("%s: wrong answer claimed as converged: %v, certified %v", name, res.X, p.certified)
		case ds < 6 && name != "Lanczos1":
			t.Errorf("%s: standard deviations agree to %.1f digits only", name, ds)
		}
	}
}

// A bold first step throws the rate of BoxBOD so far out that the curve no longer
// depends on it. That is a stationary point, but the rate is lost: it must
// not pass as a minimum.
func TestLostUnknown(t *testing.T) {
	p := readNIST(t, "BoxBOD")
	res, dx, _ := solveNIST(t, p, 1, Settings{Radius: 100})
	if dx > 0 {
		t.Fatalf("the start led to %v: the test does not reach what it is about", res.X)
	}
	if res.Converged() || res.Rank != 1 {
		t.Errorf("%v, rank %d, converged %v", res.Status, res.Rank, res.Converged())
	}
	if _, err := res.CovarianceTo(nil); err == nil {
		t.Error("a covariance was given")
	}
}

func TestNISTJacobians(t *testing.T) {
	for _, name := range nistNames {
		p := readNIST(t, name)
		for _, x := range [][]float64{p.start[1], p.certified} {
			if err := checkJacobian(p, x, 1e-7); err != nil {
				t.Errorf("%s at %v: %v", name, x, err)
			}
		}
	}
}
