package lot

import (
	"conewright/ts/notice"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// PairPoints is what pairing needs of many units: of each the limited quantities
// on their scale and the covariance that is the unit's own, in one flat list, so
// that a lot may be large. Errors of the bench, which all units of a batch share,
// are left out: they cancel between any two.
type PairPoints struct {
	ids    []param.ID
	limits []float64 // on the scale
	flat   []float64 // a unit: its values, then the lower triangle of its covariance
}

// NewPairPoints returns an empty list for pairs that are held to limits.
func NewPairPoints(limits []PairLimit) (*PairPoints, error) {
	if err := checkLimits(limits); err != nil {
		return nil, err
	}
	p := new(PairPoints)
	for _, l := range limits {
		p.ids = append(p.ids, l.ID)
		p.limits = append(p.limits, l.scaled())
	}
	return p, nil
}

// stride is the length of a unit in the list.
func (p *PairPoints) stride() int {
	k := len(p.ids)
	return k + k*(k+1)/2
}

// Len returns the number of units.
func (p *PairPoints) Len() int {
	if len(p.ids) == 0 {
		return 0
	}
	return len(p.flat) / p.stride()
}

// Add appends a unit; it refuses one that lacks one of the quantities.
func (p *PairPoints) Add(unit param.Parameters) error {
	if err := unit.Check(); err != nil {
		return err
	}
	k := len(p.ids)
	at := make([]int, k)
	for i, id := range p.ids {
		if at[i] = unit.Index(id); at[i] < 0 {
			return notice.New("not-pairable", notice.Facts{"quantity": id})
		}
	}
	for _, i := range at {
		p.flat = append(p.flat, unit.Scaled[i])
	}
	for i := range k {
		for j := range i + 1 {
			v := 0.0
			if unit.Noise != nil {
				v = unit.Noise.At(at[i], at[j])
			}
			for _, c := range unit.Components {
				if c.Own || c.Part == param.RepeatPart {
					v += c.Effect[at[i]] * c.Effect[at[j]]
				}
			}
			p.flat = append(p.flat, v)
		}
	}
	return nil
}

// values returns the values of a unit.
func (p *PairPoints) values(unit int) []float64 {
	return p.flat[unit*p.stride():][:len(p.ids)]
}

// covariance returns the lower triangle of a unit.
func (p *PairPoints) covariance(unit int) []float64 {
	return p.flat[unit*p.stride():][len(p.ids):p.stride()]
}

// Distance returns the distance between two units, theory (5.15).
func (p *PairPoints) Distance(a, b int) float64 {
	var triangle [32]float64 // enough for six quantities without asking for memory
	both := append(triangle[:0], p.covariance(a)...)
	for i, v := range p.covariance(b) {
		both[i] += v
	}
	var difference [8]float64
	d := append(difference[:0], p.values(b)...)
	for i, x := range p.values(a) {
		d[i] -= x
	}
	return matchDistance(d, both, p.limits)
}

// cost is the sum of the squared distances.
func (p *PairPoints) cost(pairs [][2]int) (sum float64) {
	for _, pair := range pairs {
		sum += param.Sq(p.Distance(pair[0], pair[1]))
	}
	return sum
}

// placesAlong returns the place of each unit along the direction in which the units
// differ most, in units of the limits: the first principal component.
func placesAlong(points *PairPoints) []float64 {
	k, n := len(points.ids), points.Len()
	mean := make([]float64, k)
	for u := range n {
		for i, x := range points.values(u) {
			mean[i] += x / points.limits[i] / float64(n)
		}
	}
	cov := mat.NewSymDense(k, nil)
	d := mat.NewVecDense(k, nil)
	for u := range n {
		for i, x := range points.values(u) {
			d.SetVec(i, x/points.limits[i]-mean[i])
		}
		cov.SymRankOne(cov, 1, d)
	}
	var eig mat.EigenSym
	direction := make([]float64, k)
	direction[0] = 1
	if eig.Factorize(cov, true) {
		var v mat.Dense
		eig.VectorsTo(&v)
		for i := range direction {
			direction[i] = v.At(i, k-1)
		}
	}
	place := make([]float64, n)
	for u := range place {
		for i, x := range points.values(u) {
			place[u] += direction[i] * x / points.limits[i]
		}
	}
	return place
}
