package network

import (
	"math"
	"math/cmplx"

	"conewright/ts/notice"
)

// Response is what a network does at one frequency.
type Response struct {
	Impedance complex128   // ohm, between the terminals
	Across    []complex128 // voltage across each part, From against To, over that at the terminals
}

// At returns the response at f (Hz). The network must have passed [Network.Check]; one of which a part was
// opened since has an infinite impedance where nothing is left between the terminals.
//
// The voltages v of the nodes follow from Kirchhoff's current law, Y v = 0 at every node but the two
// terminals, v(in) = 1 and v(ground) = 0. Source: nodal analysis, any textbook of circuits. Theory (12.2).
func (n Network) At(f float64) (Response, error) {
	nodes := n.live()
	free := len(nodes) - 2 // the others stand behind the terminals
	y := make([][]complex128, free)
	for i := range y {
		y[i] = make([]complex128, free+1) // with the right side
	}
	of := func(name string) int {
		if i, ok := nodes[name]; ok {
			return i
		}
		return -1
	}
	admittance := make([]complex128, len(n))
	for k, p := range n {
		z := p.Impedance(f)
		if z == 0 || cmplx.IsNaN(z) || cmplx.IsInf(z) {
			return Response{}, notice.New("network-impedance", notice.Facts{"part": p.Name, "frequency": f})
		}
		admittance[k] = 1 / z
		a, b := of(p.From), of(p.To)
		for _, ends := range [2][2]int{{a, b}, {b, a}} {
			from, to := ends[0]-2, ends[1]-2
			if from < 0 {
				continue
			}
			y[from][from] += admittance[k]
			switch {
			case to >= 0:
				y[from][to] -= admittance[k]
			case ends[1] == 1:
				y[from][free] += admittance[k]
			}
		}
	}
	v, ok := solve(y)
	if !ok {
		return Response{}, notice.New("network-singular", notice.Facts{"frequency": f})
	}
	at := func(i int) complex128 {
		switch {
		case i >= 2:
			return v[i-2]
		case i == 1:
			return 1
		}
		return 0
	}
	r := Response{Across: make([]complex128, len(n))}
	var current complex128
	for k, p := range n {
		a, b := of(p.From), of(p.To)
		if a < 0 || b < 0 {
			continue // it hangs on nothing
		}
		r.Across[k] = at(a) - at(b)
		switch {
		case a == 1:
			current += r.Across[k] * admittance[k]
		case b == 1:
			current -= r.Across[k] * admittance[k]
		}
	}
	r.Impedance = complex(math.Inf(1), 0)
	if current != 0 {
		r.Impedance = 1 / current
	}
	return r, nil
}

// live numbers the nodes that hang on a terminal: ground 0, in 1, the others from 2.
func (n Network) live() map[string]int {
	nodes := map[string]int{Ground: 0, In: 1}
	for _, terminal := range []string{In, Ground} {
		for _, name := range n.reach(terminal) {
			if _, known := nodes[name]; !known {
				nodes[name] = len(nodes)
			}
		}
	}
	return nodes
}

// solve returns x of A x = b, with b as last column of a, by elimination with the largest element of the column
// as pivot; it changes a. Source: any textbook of numerical analysis.
func solve(a [][]complex128) ([]complex128, bool) {
	n := len(a)
	for i := range n {
		best := i
		for k := i + 1; k < n; k++ {
			if cmplx.Abs(a[k][i]) > cmplx.Abs(a[best][i]) {
				best = k
			}
		}
		a[i], a[best] = a[best], a[i]
		if a[i][i] == 0 {
			return nil, false
		}
		for k := i + 1; k < n; k++ {
			factor := a[k][i] / a[i][i]
			for j := i; j <= n; j++ {
				a[k][j] -= factor * a[i][j]
			}
		}
	}
	x := make([]complex128, n)
	for i := n - 1; i >= 0; i-- {
		sum := a[i][n]
		for j := i + 1; j < n; j++ {
			sum -= a[i][j] * x[j]
		}
		x[i] = sum / a[i][i]
	}
	return x, true
}
