package fitted

import (
	"maps"
	"math"
	"slices"

	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

const (
	// Points are joined over 1/perOctave octave, up to 1/belowPeak of the lower Fs.
	perOctave, belowPeak = 16, 4
	// fewestBins are compared, or more.
	fewestBins = 8
	// What a fit says of the real part of the motion may have changed besides by otherNowStd of all of it, and by changeStd of
	// the change that the fits say.
	otherNowStd, changeStd = 0.3, 1
	// The standard deviation of the line counts betweenDoubt times, with leastBetween besides: what moves with the resonance, as a misfit
	// and a creep of another law do, is no noise around a line. Chosen on drivers of package truth, see docs/decisions/0063.
	betweenDoubt, leastBetween = 2.5, 1e-3
	// mostTogether bounds the correlation of neighbours.
	mostTogether = 0.9
)

// Between compares the curves of one driver, or of two of one kind, below the resonance, where Re is nearly all of the real part:
//
//	ln e' - ln e = d + a (m' + m)/2 + b (m' - m) + noise,   e = Re Z - Re m,   m = Re Zfit/Re - 1
//	a ~ (0, 0.3^2),   b ~ (0, 1)
//
// A law of the coil, a creep or a misfit that both curves share cancels in it. The noise is what the line leaves;
// neighbours that go together count as fewer. theory (5.17). Nil where there are too few points, or no phase; of curves that
// differ by nothing the uncertainty is infinite, as there is nothing to find it from.
func Between(before, after *Result) *param.Direct {
	at := func(p param.Parameters, id param.ID) float64 { return p.Scaled[p.Index(id)] }
	b, a := before.Parameters, after.Parameters
	top := math.Exp(min(at(b, param.Fs), at(a, param.Fs))) / belowPeak
	old, now := below(before.Curves, top), below(after.Curves, top)
	var y, weight []float64
	var motion [2][]float64
	for _, i := range slices.Sorted(maps.Keys(old)) {
		if n, ok := now[i]; ok {
			o := old[i]
			y = append(y, n.re-o.re)
			weight = append(weight, 1/(1/o.weight+1/n.weight))
			motion[0] = append(motion[0], (n.motion+o.motion)/2)
			motion[1] = append(motion[1], n.motion-o.motion)
		}
	}
	if len(y) < fewestBins {
		return nil
	}
	d, std := steady(y, weight, motion)
	return &param.Direct{Off: d - (at(a, param.Re) - at(b, param.Re)), Std: math.Hypot(betweenDoubt*std, leastBetween)}
}

// bin is the mean of the points in a part of an octave.
type bin struct {
	re     float64 // ln Re (ohm) as the points say it
	motion float64 // real part of what is not Re, over Re
	weight float64 // 1/variance of re
}

// below returns the bins of curves below a frequency in Hz.
func below(curves []Curve, top float64) map[int]bin {
	all := map[int]bin{}
	for _, c := range curves {
		if c.Re == 0 {
			continue
		}
		for i, f := range c.Freq {
			motion := real(c.Fitted[i]) - c.Re
			e := real(c.Measured[i]) - motion
			if f >= top || e <= 0 {
				continue
			}
			k := int(math.Floor(perOctave * math.Log2(f)))
			w := (e / c.Sigma[i]) * (e / c.Sigma[i])
			n := all[k]
			sum := n.weight + w
			all[k] = bin{n.re + (math.Log(e)-n.re)*w/sum, n.motion + (motion/c.Re-n.motion)*w/sum, sum}
		}
	}
	return all
}

// steady returns the constant of the line through y with the slopes along motion, and its standard uncertainty.
func steady(y, weight []float64, motion [2][]float64) (d, std float64) {
	prior := [3]float64{0, 1 / param.Sq(otherNowStd), 1 / param.Sq(changeStd)}
	n := len(y)
	noise, spread := 1.0, 1.0 // the variance is that of the weights times both
	for range 3 {
		a, right := mat.NewSymDense(3, nil), mat.NewVecDense(3, nil)
		column := func(i int) [3]float64 { return [3]float64{1, motion[0][i], motion[1][i]} }
		for i := range n {
			x, w := column(i), weight[i]/(noise*spread)
			for j := range 3 {
				right.SetVec(j, right.AtVec(j)+w*x[j]*y[i])
				for k := j; k < 3; k++ {
					a.SetSym(j, k, a.At(j, k)+w*x[j]*x[k])
				}
			}
		}
		for j, p := range prior {
			a.SetSym(j, j, a.At(j, j)+p)
		}
		var chol mat.Cholesky
		var s mat.VecDense
		var c mat.SymDense
		if !chol.Factorize(a) || chol.SolveVecTo(&s, right) != nil || chol.InverseTo(&c) != nil {
			return 0, math.Inf(1)
		}
		d, std = s.AtVec(0), math.Sqrt(c.At(0, 0))
		var square, product, last float64
		for i := range n {
			x := column(i)
			r := (y[i] - s.AtVec(0) - s.AtVec(1)*x[1] - s.AtVec(2)*x[2]) * math.Sqrt(weight[i])
			square += r * r
			product += r * last
			last = r
		}
		together := min(max(product/square, 0), mostTogether)
		noise, spread = square/float64(n-3), (1+together)/(1-together)
	}
	return d, std
}
