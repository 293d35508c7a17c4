package estimate

import (
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/measured"
	"conewright/ts/param"
)

// distrust lowers the weights of outliers, judged by the best of the solutions, and
// explores again with them where there are any. A resonance that still sticks out then is bent, and the model does not follow: nothing is an outlier.
// Before, bad points at a peak may make their neighbours stick out.
func (in input) distrust(found []*solution) (input, []*solution) {
	before := in
	var outliers int
	if in.trust, outliers, _ = in.withoutOutliers(best(found)); outliers == 0 {
		return in, found
	}
	again := in.explore()
	if len(again) == 0 {
		return in, found
	}
	again = in.noneLost(again, found)
	var bent bool
	if in.trust, _, bent = in.withoutOutliers(best(again)); bent {
		return before, found
	}
	return in, again
}

// noneLost returns again with what was found before and is no minimum there, fitted from where it lay: weights of a few points move
// no minimum far, and the way to it from a start may be long.
func (in input) noneLost(again, before []*solution) []*solution {
	all := slices.Clone(again)
	for _, s := range before {
		at := slices.IndexFunc(all, func(t *solution) bool { return t.prob.form == s.prob.form })
		if s.ruledOut || at >= 0 && !all[at].ruledOut {
			continue
		}
		t := solve(in.problem(s.prob.form, false, 1), s.x, scanTol)
		switch {
		case !t.determined():
		case at >= 0:
			all[at] = t
		default:
			all = append(all, t)
		}
	}
	return all
}

// withoutOutliers returns the trust of each point by the residuals of a solution, and
// how many outliers there are. Each point is compared with the
// median of its neighbours, so a slowly varying misfit does not count; the scale
// is the median distance, so outliers do not enter it. A point beyond the limit gets
// a weight that falls with the square of its distance: the influence of a gross error
// goes to zero. theory (3.12). Where more points stick out than may, all keep the
// trust that they had. Bent says that more stick out in a row than are looked at to one side, with the peak among them.
func (in input) withoutOutliers(s *solution) (trust [][]float64, count int, bent bool) {
	trust = make([][]float64, len(in.obs))
	points := 0
	for k := range in.obs {
		o := &in.obs[k]
		z := s.prob.impedance(s.x, k)
		n := len(z)
		trust[k] = ones(n)
		if n < 3*outlierReach {
			continue
		}
		re, im := make([]float64, n), make([]float64, n)
		for i, v := range z {
			d := v - o.z[i]
			if o.magnitudeOnly {
				d = complex(cmplx.Abs(v)-real(o.z[i]), 0)
			}
			re[i], im[i] = real(d)*o.weight[i], imag(d)*o.weight[i]
		}
		off := make([]float64, n)
		middleRe, middleIm := middles(re, outlierReach), middles(im, outlierReach)
		for i := range off {
			off[i] = math.Hypot(re[i]-middleRe[i], im[i]-middleIm[i])
		}
		// Median of the length of a vector of two normal components is 1.1774
		// of their standard deviation; of one component 0.6745.
		scale := middle(off) / math.Sqrt(2*math.Ln2)
		if o.magnitudeOnly {
			scale = middle(off) / 0.6745
		}
		if !in.knownSigma[k] {
			scale = max(scale, minNoise*unknownNoise)
		} else {
			scale = max(scale, 1)
		}
		for i := 0; i < n; {
			row := 0
			for i+row < n && off[i+row] > outlierLimit*scale {
				row++
			}
			for j := i; j < i+row; j++ {
				trust[k][j] = param.Sq(outlierLimit * scale / off[j])
			}
			bent = bent || row > outlierReach && in.holdsPeak(k, i, i+row)
			count += row
			i += row + 1
		}
		points += n
	}
	if float64(count) > outliersAtMost*float64(points) {
		return in.trust, 0, false
	}
	return trust, count, bent
}

// holdsPeak says whether the peak of sweep k lies among its points from one to before another.
func (in input) holdsPeak(k, from, to int) bool {
	z := &in.sweeps[k].Impedance
	fs := measured.OutlineOf(*z).Fs
	return z.Freq[from] <= fs && fs <= z.Freq[to-1]
}

// middle returns the median of v.
func middle(v []float64) float64 {
	s := slices.Clone(v)
	slices.Sort(s)
	return middleOf(s)
}

// middleOf returns the median of sorted values.
func middleOf(s []float64) float64 {
	n := len(s)
	return (s[(n-1)/2] + s[n/2]) / 2
}

// middles returns the median of each value and its neighbours, as many as reach
// on either side. The neighbours are kept sorted from one value to the next.
func middles(v []float64, reach int) []float64 {
	m := make([]float64, len(v))
	window := make([]float64, 0, 2*reach+2)
	put := func(x float64) {
		i, _ := slices.BinarySearch(window, x)
		window = slices.Insert(window, i, x)
	}
	for _, x := range v[:min(reach, len(v))] {
		put(x)
	}
	for i := range v {
		if i+reach < len(v) {
			put(v[i+reach])
		}
		if i > reach {
			at, _ := slices.BinarySearch(window, v[i-reach-1])
			window = slices.Delete(window, at, at+1)
		}
		m[i] = middleOf(window)
	}
	return m
}
