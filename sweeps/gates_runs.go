package sweeps

import (
	"fmt"
	"math"
	"slices"

	"conewright/ts"
)

// twoRuns refuses a recording that holds two runs with a pause between them
// and different impedances.
func (e *examination) twoRuns(b Bench) error {
	on := e.vitals[0].active()
	const pause, run = 0.3, 1.0 // s
	first := slices.Index(on, true)
	last := len(on) - 1
	for last > first && !on[last] {
		last--
	}
	for i := max(first, 0); i < last; i++ {
		j := i
		for j < last && !on[j] {
			j++
		}
		if float64(j-i)*blockSeconds >= pause && float64(i-first)*blockSeconds >= run && float64(last-j)*blockSeconds >= run {
			middle := int(float64(i+j) / 2 * blockSeconds * e.rec.Rate)
			return e.differ(b, middle)
		}
		i = max(i, j-1)
	}
	return nil
}

// differ refuses the recording when its impedances before and after a frame do
// not agree.
func (e *examination) differ(b Bench, frame int) error {
	var z [2]ts.Impedance
	for i, part := range []section{{e.rec, 0, frame}, {e.rec, frame, e.rec.Frames - frame}} {
		half, err := listen(&blocks{rec: part.recording(), swap: b.SwapChannels})
		if err != nil {
			return err
		}
		if z[i], err = half.impedance(b); err != nil {
			return nil // nothing to compare: one of them is no sweep
		}
	}
	var off []float64
	var at []float64
	k := 0
	for i, f := range z[0].Freq {
		for k+1 < z[1].Len() && z[1].Freq[k+1] <= f {
			k++
		}
		if f > 2000 || k+1 >= z[1].Len() || z[1].Freq[k] > f {
			continue
		}
		part := (f - z[1].Freq[k]) / (z[1].Freq[k+1] - z[1].Freq[k])
		other := z[1].Z[k] + complex(part, 0)*(z[1].Z[k+1]-z[1].Z[k])
		noise := 4 * math.Hypot(z[0].Sigma[i], max(z[1].Sigma[k], z[1].Sigma[k+1]))
		d := max(0, math.Sqrt(sqAbs(other-z[0].Z[i]))-noise) / math.Sqrt(sqAbs(z[0].Z[i]))
		off = append(off, d)
		at = append(at, f)
	}
	if len(off) < 10 {
		return nil
	}
	sorted := slices.Clone(off)
	slices.Sort(sorted)
	if worst := sorted[len(sorted)*19/20]; worst > 0.05 {
		i := slices.Index(off, slices.Max(off))
		return &BenchError{Code: "two-sweeps", File: e.rec.Source,
			Msg:    fmt.Sprintf("the file holds two runs that do not agree: at %.4g Hz they differ by %.0f %%", at[i], 100*off[i]),
			Advice: "put each condition into a file of its own"}
	}
	return nil
}

// section is a part of a recording.
type section struct {
	rec          *Recording
	from, frames int
}

func (s section) readFrames(ch1, ch2 []float64, from int) error {
	return s.rec.Read(ch1, ch2, s.from+from)
}

func (s section) recording() *Recording {
	return &Recording{Rate: s.rec.Rate, Frames: s.frames, Source: s.rec.Source, src: s}
}
