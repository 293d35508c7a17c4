package process

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"

	"conewright/ts/internal/stat"
	"conewright/ts/notice"
	"conewright/ts/study"
)

// Items is the distribution of the true values of what is inspected.
type Items interface {
	Prob(x float64) float64 // density
	Quantile(p float64) float64
}

// Inspection is a rule of acceptance in use: items are measured with a normal error
// and accepted or not. What a single reading says about a single item is the
// business of package verdict.
type Inspection struct {
	Items  Items
	Std    float64        // standard uncertainty of the measurement
	Limits study.Interval // of good items; one end may be infinite
}

// Risks are probabilities over all items, before any is measured.
type Risks struct {
	Accepted float64
	Consumer float64 // accepted, and outside the limits
	Producer float64 // rejected, and within the limits
}

// Risks returns the risks when items are accepted whose reading lies in accept.
//
//	consumer = integral outside the limits of g(x) A(x) dx
//	producer = integral within the limits of g(x) (1 - A(x)) dx
//	A(x) = Phi((hi - x)/u) - Phi((lo - x)/u),   lo, hi of accept
//
// Source: JCGM 106:2012, 9.5 (by way of a public program; checked against its
// printed results). Theory (8.27).
func (i Inspection) Risks(accept study.Interval) (Risks, error) {
	if err := i.check(); err != nil {
		return Risks{}, err
	}
	if !(accept.Lo < accept.Hi) {
		return Risks{}, notice.New("process-nothing-accepted", notice.Facts{"low": accept.Lo, "high": accept.Hi})
	}
	accepted := func(x float64) float64 {
		return i.Items.Prob(x) * stat.Between((accept.Lo-x)/i.Std, (accept.Hi-x)/i.Std)
	}
	rejected := func(x float64) float64 {
		return i.Items.Prob(x) * (stat.Between(math.Inf(-1), (accept.Lo-x)/i.Std) + stat.Between((accept.Hi-x)/i.Std, math.Inf(1)))
	}
	const rare = 1e-15
	least, most := i.Items.Quantile(rare), i.Items.Quantile(1-rare)
	lo, hi := max(least, min(most, i.Limits.Lo)), max(least, min(most, i.Limits.Hi))
	out := Risks{
		Consumer: i.integral(accepted, least, lo) + i.integral(accepted, hi, most),
		Producer: i.integral(rejected, lo, hi),
	}
	out.Accepted = out.Consumer + i.integral(accepted, lo, hi)
	return out, nil
}

// Guard returns the guard band that makes the consumer's risk at most risk: the limits of
// acceptance are those of the items, each moved inwards by it. It is 0 where none is needed.
func (i Inspection) Guard(risk float64) (float64, error) {
	if err := probability("risk", risk); err != nil {
		return 0, err
	}
	consumer := func(w float64) (float64, error) {
		r, err := i.Risks(study.Interval{Lo: i.Limits.Lo + w, Hi: i.Limits.Hi - w})
		return r.Consumer, err
	}
	none, err := consumer(0)
	if err != nil || none <= risk {
		return 0, err
	}
	lo, hi := 0., i.Std
	room := (i.Limits.Hi - i.Limits.Lo) / 2 // nothing is accepted beyond
	for hi < room {
		r, err := consumer(hi)
		if err != nil {
			return 0, err
		}
		if r <= risk {
			break
		}
		lo, hi = hi, 2*hi
	}
	hi = min(hi, room*(1-1e-12))
	for range 60 {
		mid := (lo + hi) / 2
		r, err := consumer(mid)
		if err != nil {
			return 0, err
		}
		if r > risk {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi, nil
}

func (i Inspection) check() error {
	if !(i.Std > 0) || math.IsInf(i.Std, 1) {
		return notice.New("process-uncertainty", notice.Facts{"std": i.Std})
	}
	if !(i.Limits.Lo < i.Limits.Hi) {
		return notice.New("process-limits", notice.Facts{"low": i.Limits.Lo, "high": i.Limits.Hi})
	}
	return nil
}

// integral integrates in pieces that are short beside the error of the measurement and
// the scatter of the items.
func (i Inspection) integral(f func(float64) float64, from, to float64) float64 {
	if !(from < to) {
		return 0
	}
	scale := min(i.Std, (i.Items.Quantile(0.75)-i.Items.Quantile(0.25))/2)
	n := int(math.Ceil((to - from) / scale))
	n = min(n, 2000)
	var sum float64
	for k := range n {
		a, b := from+(to-from)*float64(k)/float64(n), from+(to-from)*float64(k+1)/float64(n)
		sum += quad.Fixed(f, a, b, 12, nil, 0)
	}
	return sum
}
