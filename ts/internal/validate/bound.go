package main

import (
	"math"

	"conewright/ts/driver"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// bound returns the Cramer-Rao bound on the standard deviations of the
// logarithms of ids, for sweeps of t with the added masses given (0: free air)
// under independent normal noise. Every sweep but the first has its own Re and,
// with the prior standard deviation drift, its own stiffness. The derivatives
// are differences of the simulated impedance, not those of the fit.
func bound(t truth, coil func(p []float64) driver.Coil, coilAt []float64, masses []float64, drift float64, ids []param.ID) []float64 {
	// Unknowns: ln Re, ln fs, ln Qms, ln Qes, creep, ln Mms, coil, then heat and drift.
	n0 := 6 + len(coilAt)
	n := n0 + 2*(len(masses)-1)
	at := func(y []float64) truth {
		u := t
		u.re, u.fs, u.qms, u.qes = t.re*math.Exp(y[0]), t.fs*math.Exp(y[1]), t.qms*math.Exp(y[2]), t.qes*math.Exp(y[3])
		u.creep, u.mms = t.creep+y[4], t.mms*math.Exp(y[5])
		p := make([]float64, len(coilAt))
		for i := range p {
			p[i] = coilAt[i] * math.Exp(y[6+i])
		}
		u.coil = coil(p)
		return u
	}
	const h = 1e-5
	info := mat.NewSymDense(n, nil)
	for k, dM := range masses {
		grad := make([][]complex128, n)
		for j := range n {
			own := (j - n0) / 2
			if j >= n0 && own != k-1 {
				continue
			}
			grad[j] = make([]complex128, len(t.freq))
			for _, s := range []float64{1, -1} {
				y := make([]float64, n0)
				heat, stiff := 1.0, 1.0
				switch {
				case j < n0:
					y[j] = s * h
				case (j-n0)%2 == 0:
					heat += s * h
				default:
					stiff += s * h
				}
				u := at(y)
				for i, f := range t.freq {
					grad[j][i] += u.impedance(f, dM, stiff, heat) * complex(s/(2*h), 0)
				}
			}
		}
		for i, f := range t.freq {
			z := t.impedance(f, dM, 1, 1)
			w := 1 / (t.noise * t.noise * (real(z)*real(z) + imag(z)*imag(z)))
			for a := range n {
				for b := a; b < n; b++ {
					if grad[a] != nil && grad[b] != nil {
						v := real(grad[a][i])*real(grad[b][i]) + imag(grad[a][i])*imag(grad[b][i])
						info.SetSym(a, b, info.At(a, b)+w*v)
					}
				}
			}
		}
		if k > 0 {
			j := n0 + 2*(k-1)
			info.SetSym(j, j, info.At(j, j)+1/(0.02*0.02))
			info.SetSym(j+1, j+1, info.At(j+1, j+1)+1/(drift*drift))
		}
	}
	if len(masses) == 1 { // Mms does not show in free air
		info.SetSym(5, 5, info.At(5, 5)+1)
	}
	var chol mat.Cholesky
	if !chol.Factorize(info) {
		panic("validate: the information matrix is singular")
	}
	var cov mat.SymDense
	if err := chol.InverseTo(&cov); err != nil && false {
		panic(err)
	}
	out := make([]float64, len(ids))
	for i, id := range ids {
		g := make([]float64, n)
		switch id {
		case param.Re:
			g[0] = 1
		case param.Fs:
			g[1] = 1
		case param.Qms:
			g[2] = 1
		case param.Qes:
			g[3] = 1
		case param.Qts:
			share := t.qes / (t.qms + t.qes)
			g[2], g[3] = share, 1-share
		case param.Mms:
			g[5] = 1
		default:
			panic("validate: no bound for " + id.String())
		}
		v := mat.NewVecDense(n, g)
		out[i] = math.Sqrt(mat.Inner(v, &cov, v))
	}
	return out
}

// coilValues returns the positive numbers of a coil and the way back.
func coilValues(c driver.Coil) ([]float64, func([]float64) driver.Coil) {
	switch c := c.(type) {
	case driver.PlainCoil:
		return []float64{c.L}, func(p []float64) driver.Coil { return driver.PlainCoil{L: p[0]} }
	case driver.LossyCoil:
		return []float64{c.K, c.N}, func(p []float64) driver.Coil { return driver.LossyCoil{K: p[0], N: p[1]} }
	case driver.TwoPartCoil:
		return []float64{c.L1, c.L2, c.R2}, func(p []float64) driver.Coil { return driver.TwoPartCoil{L1: p[0], L2: p[1], R2: p[2]} }
	case driver.SemiCoil:
		if math.IsInf(c.Rss, 1) {
			return []float64{c.Leb, c.Le, c.Ke}, func(p []float64) driver.Coil {
				return driver.SemiCoil{Leb: p[0], Le: p[1], Ke: p[2], Rss: math.Inf(1)}
			}
		}
		return []float64{c.Leb, c.Le, c.Ke, c.Rss}, func(p []float64) driver.Coil { return driver.SemiCoil{Leb: p[0], Le: p[1], Ke: p[2], Rss: p[3]} }
	case driver.PowerCoil:
		return []float64{c.Kr, c.Xr, c.Ki, c.Xi}, func(p []float64) driver.Coil { return driver.PowerCoil{Kr: p[0], Xr: p[1], Ki: p[2], Xi: p[3]} }
	}
	panic("validate: unknown coil")
}
