// Package contact finds the intervals in which a contact was open, and fills them.
package contact

import (
	"cmp"
	"errors"
	"slices"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/internal/spectra"
	"conewright/ts/notice"
)

// A contact that opens for some milliseconds spoils every frequency of a
// periodic signal or of noise, and those that a sweep passes at that moment.
// But it spoils little time: what channel 2 should have recorded then follows from
// channel 1 and from the ratio that the rest of the recording tells. Put in its
// place, the interval counts for nothing, and the ratio is estimated again.
//
// Source: estimation with missing data, Dempster, Laird, Rubin, J. R. Statist.
// Soc. B 39, 1977 (expectation and maximisation in turn; from memory).
const (
	joinWithin  = 0.05 // s between two intervals that are taken as one
	longest     = 0.5  // s
	mostShare   = 0.05 // of the recording, beyond which nothing is filled
	mostGaps    = 20   // and
	mostSamples = 1e5  // in all gaps, which bound the memory of what fills them
	edge        = 0.3  // s at either end of the recording that cannot be judged: what was before is not known

	fillStages  = 3
	fillRounds  = 12
	fillSettled = 0.1 // change of the ratio that needs no further round, in standard deviations
)

// Fill finds intervals in which channel 2 contradicts channel 1 and estimates the
// ratio again without them. It returns e itself where there are none.
func Fill(e *spectra.Result, b bench.Bench) (*spectra.Result, error) {
	found := discontinuities(e, b.Wiring)
	for _, s := range e.Stretches {
		found = append(found, outliers(s)...)
	}
	e.Stretches = nil // of no use any more, and the largest part of it
	if found = join(found); len(found) == 0 {
		found = join(residuals(e, curveOf(e, true)))
	}
	if len(found) == 0 {
		return e, nil
	}
	filled, err := without(e, found, b)
	if err != nil {
		return nil, err
	}
	if filled == nil {
		e.Unfilled = len(found)
		return e, nil
	}
	// With a ratio that is right, intervals show that were hidden before. Not where channel 1
	// jumps as well: what that leaves at low frequencies would be taken for more of them.
	for stage := 1; b.Wiring != bench.Probes; stage++ {
		more := join(append(residuals(e, curveOf(filled, true)), found...))
		if covers(found, more) {
			break
		}
		var next *spectra.Result
		if stage < fillStages {
			if next, err = without(e, more, b); err != nil {
				return nil, err
			}
		}
		if next == nil {
			filled.Unfilled = len(more)
			break
		}
		filled, found = next, more
	}
	return filled, nil
}

// without estimates the ratio without the intervals, round after round, until what
// is put in their place follows from the ratio that results. Points of which the
// intervals took too much are left out. It returns nil where the ratio is not known
// well enough for that, or the intervals are more than a poor contact leaves behind.
func without(e *spectra.Result, intervals []spectra.Interval, b bench.Bench) (*spectra.Result, error) {
	h := curveOf(e, true)
	if !h.known() || tooMany(e, intervals) {
		return nil, nil
	}
	g, err := cut(e, intervals)
	if err != nil {
		return nil, err
	}
	g.fill(h)
	var quick acceleration
	for round := range fillRounds {
		next, err := spectra.Again(g.recording(), b)
		var n *notice.Notice
		switch {
		case errors.As(err, &n) && n.Code == spectra.Clipped:
			return nil, nil
		case err != nil:
			return nil, err
		}
		settled, before := h.near(next.Points), h
		h = curveOf(next, false)
		if !h.known() {
			return nil, nil
		}
		if settled || round == fillRounds-1 {
			next.Gaps = intervals
			if next.Lines == nil { // every period of a periodic signal tells of every line
				for i, pt := range next.Points { // what the last round still changed is not sure
					next.Points[i].Split += dsp.SqAbs(before.at(pt.Freq) - pt.Ratio)
				}
				next.Points = g.stillKnown(next.Points, fillingErrors(next, intervals, h))
			}
			return next, nil
		}
		last := g.values()
		g.fill(h)
		g.set(quick.next(last, g.values()))
	}
	return nil, nil
}

// tooMany says whether the intervals are more than a poor contact leaves behind.
func tooMany(e *spectra.Result, all []spectra.Interval) bool {
	var sum float64
	for _, m := range all {
		sum += m.To - m.From
	}
	return len(all) > mostGaps || sum*e.Rec.Rate > mostSamples || sum > mostShare*float64(e.Rec.Frames)/e.Rec.Rate
}

// covers says whether each of some intervals lies within one of all, but for a
// stretch of StretchSeconds.
func covers(all, some []spectra.Interval) bool {
	return !slices.ContainsFunc(some, func(m spectra.Interval) bool {
		return !slices.ContainsFunc(all, func(a spectra.Interval) bool {
			return m.From >= a.From-spectra.StretchSeconds && m.To <= a.To+spectra.StretchSeconds
		})
	})
}

// join returns the intervals in order, those close together made one, without
// those that are too long for a contact.
func join(all []spectra.Interval) []spectra.Interval {
	slices.SortFunc(all, func(a, b spectra.Interval) int { return cmp.Compare(a.From, b.From) })
	var out []spectra.Interval
	for _, m := range all {
		if n := len(out); n > 0 && m.From <= out[n-1].To+joinWithin {
			out[n-1].To = max(out[n-1].To, m.To)
			continue
		}
		out = append(out, m)
	}
	return slices.DeleteFunc(out, func(m spectra.Interval) bool { return m.To-m.From > longest })
}

// played returns when the signal begins and ends, in seconds, without the edges
// of the recording.
func played(e *spectra.Result) (on, off float64) {
	active := e.Stats[0].Active()
	first, last := slices.Index(active, true), len(active)-1
	for last > first && !active[last] {
		last--
	}
	end := float64(e.Rec.Frames)/e.Rec.Rate - edge
	return max(float64(first)*spectra.BlockSeconds, edge), min(float64(last+1)*spectra.BlockSeconds, end)
}

// Warning says where the contact was not steady, nil where it was.
func Warning(e *spectra.Result) *notice.Notice {
	switch {
	case e.Unfilled > 0:
		return notice.New("unsteady-contact", notice.Facts{"channel": e.Number(1), "kept": e.Unfilled})
	case len(e.Gaps) > 0:
		return notice.New("unsteady-contact", notice.Facts{"channel": e.Number(1), "gaps": len(e.Gaps), "first": e.Gaps[0].From})
	case len(e.Outliers) > 0:
		return notice.New("unsteady-contact", notice.Facts{"frequencies": e.Outliers})
	}
	return nil
}

// Unwatched says that a recording goes on after the time in which contacts that open are looked
// for; nil where it does not.
func Unwatched(e *spectra.Result) *notice.Notice {
	if length := float64(e.Rec.Frames) / e.Rec.Rate; length > spectra.WatchedSeconds {
		return notice.New("contact-not-watched", notice.Facts{"from": spectra.WatchedSeconds, "to": length})
	}
	return nil
}
