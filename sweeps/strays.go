package sweeps

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// A sweep's ratio follows a contact that opens, so that in the rest nothing is
// left to see; and where the sweep itself bends sharply, the corners of the
// contact do not stand out. But from one stretch of kinkSeconds to the next the
// ratio of the channels changes little as long as a sweep passes above the
// outline. Channel 2 as a sum of channel 1 and its difference tells that ratio
// at the frequency of the moment; a stretch that goes its own way is a stray.
// Of signals with many frequencies at once two terms tell too little, but their
// outline tells jumps what a contact does.
const (
	strayOut     = 8.0  // times the usual rest nearby, and
	strayPart    = 0.05 // of the usual channel 2 nearby, which the usual rest must not exceed
	strayBeside  = 20   // stretches on either side that tell what is usual
	strayFewest  = 10   // of them that there must be
	strayPeriods = 1.5  // fewest in a stretch
	strayBand    = 0.8  // of the lower end of a level's band, above which the power of a stretch must lie
	strayLoud    = 0.05 // power of channel 1 relative to loud stretches, below which there is no signal
	strayAround  = 6    // samples of the level that go with a stray on either side: its filters smear it
)

// stretch is what is kept of a stretch of a level: the moments of channel 1, its
// difference and channel 2, each without its mean.
type stretch struct {
	from, to               float64 // s
	rate                   float64 // Hz, of the level
	xx, xd, dd, xy, dy, yy float64
}

// keep takes the stretches of the segments that begin at the samples from;
// earlier is how many samples of the level came before those at hand.
func (l *level) keep(from []int, earlier int) {
	found := make([][]stretch, len(from))
	both(func(half int) {
		for i := half; i < len(from); i += 2 {
			lo, hi := from[i], from[i]+l.size
			found[i] = l.stretchesOf(l.channel[0].samples[lo:hi], l.channel[1].samples[lo:hi], earlier+lo)
		}
	})
	for _, s := range found {
		l.stretches = append(l.stretches, s...)
	}
	l.stretches = l.stretches[:min(len(l.stretches), kinkLimit)]
}

// stretchesOf returns the stretches of one segment of both channels, which
// begins at sample first of the level.
func (l *level) stretchesOf(x, y []float64, first int) []stretch {
	var all []stretch
	rate := l.binHz * float64(l.size)
	parts := max(1, int(float64(len(x))/(kinkSeconds*rate)))
	edge := func(f float64) float64 { return 4 * math.Pow(math.Sin(math.Pi*f/rate), 2) } // power of the difference of a tone relative to its own
	lowest, highest := edge(max(strayBand*l.lo, strayPeriods/kinkSeconds)), edge(l.hi)
	d := make([]float64, len(x)/parts+1)
	for i := range parts {
		lo, hi := i*len(x)/parts, (i+1)*len(x)/parts
		n := hi - lo - 1 // the last sample only ends a difference
		px, py := x[lo:lo+n], y[lo:lo+n]
		d = d[:n]
		floats.SubTo(d, x[lo+1:hi], px)
		sx, sd, sy := floats.Sum(px), x[hi-1]-x[lo], floats.Sum(py)
		about := func(a, b []float64, sa, sb float64) float64 { return floats.Dot(a, b) - sa*sb/float64(n) }
		s := stretch{rate: rate, xx: about(px, px, sx, sx), dd: about(d, d, sd, sd)}
		if !(s.xx > 0) || s.dd < lowest*s.xx || s.dd > highest*s.xx {
			continue
		}
		s.from, s.to = float64(first+lo)/rate, float64(first+hi)/rate
		s.xd, s.xy, s.dy, s.yy = about(px, d, sx, sd), about(px, py, sx, sy), about(d, py, sd, sy), about(py, py, sy, sy)
		all = append(all, s)
	}
	return all
}

// taps returns how channel 2 is best made of channel 1 and its difference.
func (s *stretch) taps() (a, b float64) {
	det := s.xx*s.dd - s.xd*s.xd
	if !(det > 1e-9*s.xx*s.dd) {
		return s.xy / s.xx, 0
	}
	return (s.xy*s.dd - s.dy*s.xd) / det, (s.dy*s.xx - s.xy*s.xd) / det
}

// rest returns the size of channel 2 without a times channel 1 and b times its
// difference.
func (s *stretch) rest(a, b float64) float64 {
	return math.Sqrt(max(0, s.yy-2*(a*s.xy+b*s.dy)+a*a*s.xx+2*a*b*s.xd+b*b*s.dd))
}

// strays looks for stretches of one level, in order, whose ratio is not that of
// those around them.
func strays(all []stretch) []moment {
	var loud []float64
	for i := range all {
		loud = append(loud, all[i].xx)
	}
	if len(loud) == 0 {
		return nil
	}
	slices.Sort(loud)
	signal := strayLoud * loud[len(loud)*9/10]
	var s []stretch
	var as, bs, sizes []float64
	told := 0
	for _, v := range all {
		if v.xx > signal {
			a, b := v.taps()
			s, as, bs, sizes = append(s, v), append(as, a), append(bs, b), append(sizes, math.Sqrt(v.yy))
			if v.rest(a, b) < strayPart*sizes[len(sizes)-1] {
				told++
			}
		}
	}
	if told < len(s)/2 {
		return nil // many frequencies at once
	}
	const reach = strayBeside * kinkSeconds
	near := func(i int) (lo, hi int) {
		for lo = i; lo > 0 && s[i].from-s[lo-1].from < reach; lo-- {
		}
		for hi = i + 1; hi < len(s) && s[hi].from-s[i].from < reach; hi++ {
		}
		return lo, hi
	}
	rests := make([]float64, len(s))
	for i := range s {
		lo, hi := near(i)
		rests[i] = s[i].rest(median(as[lo:hi]), median(bs[lo:hi]))
	}
	var found []moment
	for i := range s {
		lo, hi := near(i)
		if hi-lo <= strayFewest || rests[i] <= strayPart*slices.Min(sizes[lo:hi]) {
			continue
		}
		rest, size := median(rests[lo:hi]), median(sizes[lo:hi])
		if rest < strayPart*size && rests[i] > max(strayOut*rest, strayPart*size) {
			around := strayAround / s[i].rate
			found = append(found, moment{s[i].from - around, s[i].to + around})
		}
	}
	return found
}
