package ring

import (
	"math"

	"conewright/ts/internal/bounds"
	"conewright/ts/notice"
)

// LinePoint is one point of a straight line with its uncertainty.
type LinePoint struct {
	X, Y       float64
	StdX, StdY float64 // standard uncertainties; zero: exact
	Corr       float64 // correlation of the two errors, -1 to 1
}

// Line is a straight line Y = Intercept + Slope X through points that may be
// uncertain in both directions.
type Line struct {
	Slope, Intercept       float64
	StdSlope, StdIntercept float64
	Corr                   float64     // correlation of slope and intercept
	Chi2                   float64     // sum of squared distances in standard deviations
	DoF                    int         // points minus two
	Points                 []LinePoint // as given
}

// At returns the height of the line at x and its standard uncertainty, from the
// joint uncertainty of slope and intercept.
func (l Line) At(x float64) (y, std float64) {
	v := l.StdIntercept*l.StdIntercept + x*x*l.StdSlope*l.StdSlope +
		2*x*l.Corr*l.StdSlope*l.StdIntercept
	return l.Intercept + l.Slope*x, math.Sqrt(max(0, v))
}

// FitLine finds the straight line that minimises the weighted sum of squares of
// points uncertain in X, in Y or in both:
//
//	S = sum W (Y - a - b X)^2,   W = 1 / (u(Y)^2 + b^2 u(X)^2 - 2 b cov(X,Y))
//
// The standard uncertainties follow from the given ones; they are not scaled by
// the scatter about the line (Chi2 and DoF tell whether the two agree).
// It refuses fewer than two different X and points without any uncertainty.
//
// Source: York, Evensen, Lopez Martinez, De Basabe Delgado, "Unified equations
// for the slope, intercept, and standard errors of the best straight line",
// Am. J. Phys. 72(3), 2004, 367-375, equations 13 (from memory). theory (7.3).
func FitLine(points []LinePoint) (Line, error) {
	if err := checkLinePoints(points); err != nil {
		return Line{}, err
	}
	b := plainSlope(points)
	var s yorkSums
	for i := 0; ; i++ {
		s = newYorkSums(points, b)
		if math.Abs(s.slope-b) <= 1e-14*math.Abs(s.slope) {
			break
		}
		if i == 200 {
			return Line{}, notice.New("line-no-convergence", nil)
		}
		b = s.slope
	}
	l := Line{Slope: s.slope, DoF: len(points) - 2, Points: append([]LinePoint(nil), points...)}
	l.Intercept = s.meanY - l.Slope*s.meanX
	// The standard uncertainties are taken at the adjusted points, which lie on
	// the line (York et al. 2004, equations 13d to 13f).
	var sw, swx, swxx float64
	for i, w := range s.w {
		sw += w
		swx += w * s.adjX[i]
	}
	mean := swx / sw
	for i, w := range s.w {
		d := s.adjX[i] - mean
		swxx += w * d * d
		r := points[i].Y - l.Intercept - l.Slope*points[i].X
		l.Chi2 += w * r * r
	}
	l.StdSlope = 1 / math.Sqrt(swxx)
	l.StdIntercept = math.Sqrt(1/sw + mean*mean/swxx)
	l.Corr = -mean * l.StdSlope / l.StdIntercept
	if !bounds.Finite(l.Slope, l.Intercept, l.StdSlope, l.StdIntercept, l.Corr, l.Chi2) {
		return Line{}, notice.New("line-no-convergence", nil)
	}
	return l, nil
}

func checkLinePoints(points []LinePoint) error {
	distinct := false
	for i, p := range points {
		if p.X != points[0].X {
			distinct = true
		}
		if !bounds.Finite(p.X, p.Y, p.StdX, p.StdY) || p.StdX < 0 || p.StdY < 0 || !(math.Abs(p.Corr) < 1) || p.StdX+p.StdY == 0 {
			return notice.New("line-point", notice.Facts{"point": i + 1})
		}
	}
	if !distinct {
		return notice.New("line-points", nil)
	}
	return nil
}

// plainSlope is the unweighted slope, the start of the iteration.
func plainSlope(points []LinePoint) float64 {
	var mx, my, sxx, sxy float64
	for _, p := range points {
		mx += p.X
		my += p.Y
	}
	mx /= float64(len(points))
	my /= float64(len(points))
	for _, p := range points {
		sxx += (p.X - mx) * (p.X - mx)
		sxy += (p.X - mx) * (p.Y - my)
	}
	return sxy / sxx
}

// yorkSums holds one step of the iteration for the slope.
type yorkSums struct {
	w, adjX      []float64 // weights, and X of the adjusted points
	meanX, meanY float64
	slope        float64 // improved slope
}

func newYorkSums(points []LinePoint, b float64) yorkSums {
	s := yorkSums{w: make([]float64, len(points)), adjX: make([]float64, len(points))}
	var sw float64
	for i, p := range points {
		cov := p.Corr * p.StdX * p.StdY
		s.w[i] = 1 / (p.StdY*p.StdY + b*b*p.StdX*p.StdX - 2*b*cov)
		sw += s.w[i]
		s.meanX += s.w[i] * p.X
		s.meanY += s.w[i] * p.Y
	}
	s.meanX /= sw
	s.meanY /= sw
	var num, den float64
	for i, p := range points {
		u, v := p.X-s.meanX, p.Y-s.meanY
		cov := p.Corr * p.StdX * p.StdY
		// beta is W (u/w(Y) + b v/w(X) - (b u + v) r/alpha) of the paper, written
		// with variances so that exact coordinates (infinite weight) are allowed.
		beta := s.w[i] * (u*p.StdY*p.StdY + b*v*p.StdX*p.StdX - (b*u+v)*cov)
		num += s.w[i] * beta * v
		den += s.w[i] * beta * u
		s.adjX[i] = s.meanX + beta
	}
	s.slope = num / den
	return s
}
