package spectra

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

const (
	fewestPeriods = 1.5 // in a stretch
	lowestShare   = 0.8 // of the lower end of a level's band, above which the power of a stretch must lie
)

// Stretch is what is kept of a stretch of a level: the moments of channel 1, its
// difference and channel 2, each without its mean.
type Stretch struct {
	From, To               float64 // s
	Rate                   float64 // Hz, of the level
	Xx, xd, dd, xy, dy, Yy float64
}

// keep takes the stretches of the segments that begin at the samples from;
// earlier is how many samples of the level came before those at hand.
func (l *level) keep(from []int, earlier int) {
	found := make([][]Stretch, len(from))
	Both(func(half int) {
		for i := half; i < len(from); i += 2 {
			lo, hi := from[i], from[i]+l.size
			found[i] = l.stretchesOf(l.channel[0].samples[lo:hi], l.channel[1].samples[lo:hi], earlier+lo)
		}
	})
	for _, s := range found {
		l.stretches = append(l.stretches, s...)
	}
	l.stretches = l.stretches[:min(len(l.stretches), stretchLimit)]
}

// stretchesOf returns the stretches of one segment of both channels, which
// begins at sample first of the level.
func (l *level) stretchesOf(x, y []float64, first int) []Stretch {
	var all []Stretch
	rate := l.binHz * float64(l.size)
	parts := max(1, int(float64(len(x))/(StretchSeconds*rate)))
	edge := func(f float64) float64 { return 4 * math.Pow(math.Sin(math.Pi*f/rate), 2) } // power of the difference of a tone relative to its own
	lowest, highest := edge(max(lowestShare*l.lo, fewestPeriods/StretchSeconds)), edge(l.hi)
	d := make([]float64, len(x)/parts+1)
	for i := range parts {
		lo, hi := i*len(x)/parts, (i+1)*len(x)/parts
		n := hi - lo - 1 // the last sample only ends a difference
		px, py := x[lo:lo+n], y[lo:lo+n]
		d = d[:n]
		floats.SubTo(d, x[lo+1:hi], px)
		sx, sd, sy := floats.Sum(px), x[hi-1]-x[lo], floats.Sum(py)
		about := func(a, b []float64, sa, sb float64) float64 { return floats.Dot(a, b) - sa*sb/float64(n) }
		s := Stretch{Rate: rate, Xx: about(px, px, sx, sx), dd: about(d, d, sd, sd)}
		if !(s.Xx > 0) || s.dd < lowest*s.Xx || s.dd > highest*s.Xx {
			continue
		}
		s.From, s.To = float64(first+lo)/rate, float64(first+hi)/rate
		s.xd, s.xy, s.dy, s.Yy = about(px, d, sx, sd), about(px, py, sx, sy), about(d, py, sd, sy), about(py, py, sy, sy)
		all = append(all, s)
	}
	return all
}

// Taps returns how channel 2 is best made of channel 1 and its difference.
func (s *Stretch) Taps() (a, b float64) {
	det := s.Xx*s.dd - s.xd*s.xd
	if !(det > 1e-9*s.Xx*s.dd) {
		return s.xy / s.Xx, 0
	}
	return (s.xy*s.dd - s.dy*s.xd) / det, (s.dy*s.Xx - s.xy*s.xd) / det
}

// Rest returns the size of channel 2 without a times channel 1 and b times its
// difference.
func (s *Stretch) Rest(a, b float64) float64 {
	return math.Sqrt(max(0, s.Yy-2*(a*s.xy+b*s.dy)+a*a*s.Xx+2*a*b*s.xd+b*b*s.dd))
}
