// Package gauge judges a gauge by a crossed study: operators who all measure the same
// parts several times. It splits the scatter into repeatability, reproducibility and the
// parts themselves.
package gauge

import (
	"math"

	"conewright/ts/internal/stat"
	"conewright/ts/notice"
)

// Trial is one reading of a part by an operator.
type Trial struct {
	Part, Operator string
	Value          float64
}

// Row is a row of the analysis of variance of a crossed study.
type Row struct {
	SumOfSquares float64
	Freedom      int
	MeanSquare   float64
	F, P         float64 // against the mean square that it would equal without an effect; 0 and 1 for repeats
}

// Crossed is the analysis of a crossed study: every operator measures every part equally often.
type Crossed struct {
	Parts, Operators, Trials            int
	Part, Operator, Interaction, Repeat Row
	// Pooled says that the interaction counts as scatter of repeats.
	Pooled bool
}

// Analyse analyses a crossed study. The interaction of operators with parts is pooled with
// the repeats if its probability by chance is above poolAbove: 0.25 is usual, 1
// never pools. For a single operator use package study.
//
//	SS_part = o t sum (mean of part - mean)^2,   SS_operator = p t sum (mean of operator - mean)^2
//	SS_interaction = t sum (mean of cell - mean of part - mean of operator + mean)^2
//	SS_repeat = sum (value - mean of cell)^2
//
// o operators, p parts, t trials.
//
// Source: two-way analysis of variance, textbook; the threshold common practice of gauge
// studies. Theory (8.15).
func Analyse(trials []Trial, poolAbove float64) (*Crossed, error) {
	cells, g, err := arrange(trials)
	if err != nil {
		return nil, err
	}
	p, o, t := float64(g.Parts), float64(g.Operators), float64(g.Trials)
	var grand float64
	for _, x := range trials {
		grand += x.Value / float64(len(trials))
	}
	cell := make([][]float64, g.Parts) // means about the mean of all
	part, operator := make([]float64, g.Parts), make([]float64, g.Operators)
	for i := range cells {
		cell[i] = make([]float64, g.Operators)
		for j, values := range cells[i] {
			for _, v := range values {
				cell[i][j] += (v - grand) / t
			}
			part[i] += cell[i][j] / o
			operator[j] += cell[i][j] / p
		}
	}
	for i := range cells {
		g.Part.SumOfSquares += o * t * sq(part[i])
		for j, values := range cells[i] {
			g.Interaction.SumOfSquares += t * sq(cell[i][j]-part[i]-operator[j])
			for _, v := range values {
				g.Repeat.SumOfSquares += sq(v - grand - cell[i][j])
			}
		}
	}
	for _, m := range operator {
		g.Operator.SumOfSquares += p * t * sq(m)
	}
	if g.Repeat.SumOfSquares <= sq(1e-14*grand) {
		return nil, notice.New("gauge-no-scatter", nil)
	}
	g.Part.Freedom, g.Operator.Freedom = g.Parts-1, g.Operators-1
	g.Interaction.Freedom = (g.Parts - 1) * (g.Operators - 1)
	g.Repeat.Freedom = g.Parts * g.Operators * (g.Trials - 1)
	for _, r := range []*Row{&g.Part, &g.Operator, &g.Interaction, &g.Repeat} {
		r.MeanSquare = r.SumOfSquares / float64(r.Freedom)
		r.P = 1
	}
	g.Interaction.against(g.Repeat.square())
	g.Pooled = g.Interaction.P > poolAbove
	g.Part.against(g.plain())
	g.Operator.against(g.plain())
	return g, nil
}

// arrange sorts trials by part and operator, in the order in which these appear.
func arrange(trials []Trial) (cells [][][]float64, g *Crossed, err error) {
	g = &Crossed{}
	parts, operators := map[string]int{}, map[string]int{}
	for i, t := range trials {
		if math.IsNaN(t.Value) || math.IsInf(t.Value, 0) {
			return nil, nil, notice.New("study-not-finite", notice.Facts{"reading": i + 1})
		}
		if _, ok := parts[t.Part]; !ok {
			parts[t.Part] = len(parts)
		}
		if _, ok := operators[t.Operator]; !ok {
			operators[t.Operator] = len(operators)
		}
	}
	g.Parts, g.Operators = len(parts), len(operators)
	if g.Parts < 2 || g.Operators < 2 {
		return nil, nil, notice.New("gauge-one", notice.Facts{"parts": g.Parts, "operators": g.Operators})
	}
	cells = make([][][]float64, g.Parts)
	for i := range cells {
		cells[i] = make([][]float64, g.Operators)
	}
	for _, t := range trials {
		cell := &cells[parts[t.Part]][operators[t.Operator]]
		*cell = append(*cell, t.Value)
	}
	g.Trials = len(cells[0][0])
	for part, i := range parts {
		for operator, j := range operators {
			if n := len(cells[i][j]); n != len(trials)/(g.Parts*g.Operators) || n*g.Parts*g.Operators != len(trials) {
				return nil, nil, notice.New("gauge-unbalanced", notice.Facts{"part": part, "operator": operator, "trials": n})
			}
		}
	}
	if g.Trials < 2 {
		return nil, nil, notice.New("gauge-no-repeats", notice.Facts{"trials": g.Trials})
	}
	return cells, g, nil
}

func (r Row) square() stat.MeanSquare {
	return stat.MeanSquare{Value: r.MeanSquare, Dof: float64(r.Freedom)}
}

// against compares the row with the mean square that it would equal without an effect.
func (r *Row) against(s stat.MeanSquare) {
	r.F = r.MeanSquare / s.Value
	_, r.P = stat.FisherTails(r.F, float64(r.Freedom), s.Dof)
}

// plain is the mean square that parts and operators would have without an effect:
// that of the interaction, or pooled that of interaction and repeats together.
func (g *Crossed) plain() stat.MeanSquare {
	if !g.Pooled {
		return g.Interaction.square()
	}
	freedom := float64(g.Interaction.Freedom + g.Repeat.Freedom)
	return stat.MeanSquare{Value: (g.Interaction.SumOfSquares + g.Repeat.SumOfSquares) / freedom, Dof: freedom}
}

func sq(x float64) float64 { return x * x }
