package process

import (
	"conewright/ts/notice"
	"conewright/ts/study"
)

// Sums are what is kept of a group of units of which there are too many to keep each: N values, their
// mean and the sum of the squares of their deviations from it. The zero value has no units.
type Sums struct {
	N        int
	Mean, M2 float64
}

// Add takes in one value.
//
// Source: Welford, Technometrics 4, 1962 (from memory).
func (s *Sums) Add(x float64) {
	s.N++
	d := x - s.Mean
	s.Mean += d / float64(s.N)
	s.M2 += d * (x - s.Mean)
}

// Join takes in the values of another group:
//
//	d = m_b - m_a,   m = m_a + d n_b/n,   M2 = M2_a + M2_b + d^2 n_a n_b/n,   n = n_a + n_b
//
// Source: Chan, Golub and LeVeque, COMPSTAT 1982 (from memory); checked against sums over all values.
func (s *Sums) Join(other Sums) {
	n := s.N + other.N
	if other.N == 0 {
		return
	}
	d := other.Mean - s.Mean
	s.M2 += other.M2 + d*d*float64(s.N)*float64(other.N)/float64(n)
	s.Mean += d * float64(other.N) / float64(n)
	s.N = n
}

// Spread is the variance of the values; with fewer than two it has no degrees of freedom.
func (s Sums) Spread() study.Spread {
	if s.N < 2 {
		return study.Spread{}
	}
	dof := float64(s.N - 1)
	return study.Spread{Variance: s.M2 / dof, Dof: dof}
}

// UnitsOfSums is UnitsOfGroups for groups of which only the sums are known.
func UnitsOfSums(groups []Sums) (Units, error) {
	var all Sums
	var within study.Spread
	for _, g := range groups {
		if err := finite([]float64{g.Mean, g.M2}, 1); err != nil {
			return Units{}, err
		}
		all.Join(g)
		within.Variance += g.M2
		within.Dof += float64(max(0, g.N-1))
	}
	if within.Dof == 0 {
		return Units{}, notice.New("process-too-few", notice.Facts{"values": all.N, "least": len(groups) + 1})
	}
	if within.Variance == 0 {
		return Units{}, notice.New("process-no-scatter", nil)
	}
	within.Variance /= within.Dof
	return Units{N: all.N, Mean: all.Mean, Within: within, Overall: all.Spread()}, nil
}
