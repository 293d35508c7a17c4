package checks

import (
	"math"
	"slices"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/internal/spectra"
	"conewright/ts/measured"
	"conewright/ts/notice"
)

// TwoRuns refuses a recording that holds two runs with a pause between them
// and different impedances.
func TwoRuns(e *spectra.Result, b bench.Bench) error {
	on := e.Stats[0].Active()
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
		if float64(j-i)*spectra.BlockSeconds >= pause && float64(i-first)*spectra.BlockSeconds >= run && float64(last-j)*spectra.BlockSeconds >= run {
			middle := int(float64(i+j) / 2 * spectra.BlockSeconds * e.Rec.Rate)
			return differ(e, b, middle)
		}
		i = max(i, j-1)
	}
	return nil
}

// differ refuses the recording when its impedances before and after a frame do
// not agree.
func differ(e *spectra.Result, b bench.Bench, frame int) error {
	var z [2]measured.Impedance
	for i, part := range []*bench.Recording{e.Rec.Part(0, frame), e.Rec.Part(frame, e.Rec.Frames-frame)} {
		half, err := spectra.Local(part, b.SwapChannels)
		if err != nil {
			return err
		}
		if z[i], err = half.Impedance(b); err != nil || z[i].Len() == 0 {
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
		d := max(0, math.Sqrt(dsp.SqAbs(other-z[0].Z[i]))-noise) / math.Sqrt(dsp.SqAbs(z[0].Z[i]))
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
		return notice.New("two-sweeps", notice.Facts{"frequency": at[i], "difference": off[i]}).In(e.Rec.Source)
	}
	return nil
}
