package process

// Rule is a pattern of points that chance seldom makes.
type Rule int

// The run rules. With all four a steady process gives a signal every 92 points on average, with
// the first alone every 370, when its centre and scatter are known. With limits from fewer
// than 20 points false signals are far more frequent; see Prediction.
//
// Source: rules of the Western Electric handbook (from memory; checked against sequences with
// printed signals). Theory (8.20).
const (
	BeyondLimit Rule = iota + 1 // one point beyond a limit
	TwoOfThree                  // two of three points beyond two standard deviations, on one side
	FourOfFive                  // four of five beyond one standard deviation, on one side
	EightInARow                 // eight points on one side of the centre
)

// windows are the rules that count points beyond a line on one side.
var windows = []struct {
	rule            Rule
	points, atLeast int
	beyond          float64 // standard deviations from the centre
}{
	{TwoOfThree, 3, 2, 2},
	{FourOfFive, 5, 4, 1},
	{EightInARow, 8, 8, 0},
}

// Signal is a rule that a stretch of points fulfils, at the last of them.
type Signal struct {
	Rule  Rule
	Point int // from 0
}

// Signals returns where the points, in their order, fulfil a rule: all four where points are
// normal, as Std says, otherwise the first.
func (c Chart) Signals(points []float64) []Signal {
	var out []Signal
	for i, x := range points {
		if x < c.Lo || x > c.Hi {
			out = append(out, Signal{BeyondLimit, i})
		}
		if c.Std == 0 {
			continue
		}
		for _, w := range windows {
			if i+1 < w.points {
				continue
			}
			var above, below int
			for _, y := range points[i+1-w.points : i+1] {
				switch z := (y - c.Centre) / c.Std; {
				case z > w.beyond:
					above++
				case z < -w.beyond:
					below++
				}
			}
			if max(above, below) >= w.atLeast {
				out = append(out, Signal{w.rule, i})
			}
		}
	}
	return out
}
