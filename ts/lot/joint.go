package lot

import (
	"math"
	"math/rand/v2"

	"conewright/ts/internal/refer"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// jointProbability returns the probability that all true differences lie within
// their limits, from 20000 draws with a fixed seed (good to 0.004).
func jointProbability(x refer.Difference, limits []float64) float64 {
	n := len(x.IDs)
	v := mat.NewSymDense(max(n, 1), nil)
	v.CopySym(x.V)
	for i := range n {
		v.SetSym(i, i, v.At(i, i)+1e-18) // a value known exactly
	}
	var chol mat.Cholesky
	if n == 0 || !chol.Factorize(v) {
		return 0
	}
	var lower mat.TriDense
	chol.LTo(&lower)
	rng := rand.New(rand.NewPCG(106, 2012))
	const draws = 20000
	in := 0
	z := make([]float64, n)
	dof, _ := x.Scatters()
	scale := distuv.ChiSquared{K: dof, Src: rng}
draw:
	for range draws {
		wide := 1.0 // Student's t: the size of all errors is known poorly together
		if !math.IsInf(dof, 1) {
			wide = math.Sqrt(dof / scale.Rand())
		}
		for i := range z {
			z[i] = rng.NormFloat64()
		}
		for i := range n {
			d := x.D[i]
			for j := 0; j <= i; j++ {
				d += wide * lower.At(i, j) * z[j]
			}
			if math.Abs(d) > limits[i] {
				continue draw
			}
		}
		in++
	}
	return float64(in) / draws
}
