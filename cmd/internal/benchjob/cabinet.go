package benchjob

import (
	"slices"
	"strings"

	"conewright/ts/notice"
)

// Cabinet is the screen of the driver in its cabinet. It can be shown at any time after the driver is named.
const Cabinet Screen = "cabinet"

// Phases of sweeps in the cabinet.
const (
	BoxBefore Phase = "cabinet-before"
	BoxAfter  Phase = "cabinet-after"
)

// Box is what is known of the cabinet, as it was typed.
type Box struct {
	Kind   string `json:"kind"` // "closed" or "vented"; "" is found from the curve
	Volume string `json:"volume"`
	Tuning string `json:"tuning"`
	Phase  Phase  `json:"phase"` // of the next sweep in it
}

// InCabinet says whether a sweep of this phase is one in the cabinet.
func (p Phase) InCabinet() bool { return p == BoxBefore || p == BoxAfter }

// Place is the phase of the screen that is shown.
func (j Job) Place() Phase {
	switch j.Screen {
	case Cabinet:
		return j.Box.Phase
	case Parts:
		return OfParts
	}
	return j.Phase
}

// WithBox takes over what is known of the cabinet and goes on to the sweep in it.
func (j Job) WithBox(b Box) (Job, error) {
	if !slices.Contains(j.Reached, Sweeps) {
		return j, notice.New("job-order", nil)
	}
	if !b.Phase.InCabinet() {
		b.Phase = BoxBefore
		if len(j.UsedIn(BoxBefore)) > 0 {
			b.Phase = BoxAfter
		}
	}
	b.Volume, b.Tuning = strings.TrimSpace(b.Volume), strings.TrimSpace(b.Tuning)
	j.Box, j.Mass = b, ""
	return j.on(Cabinet), nil
}

// JudgeBox goes on to what the sweeps in the cabinet say.
func (j Job) JudgeBox() (Job, error) {
	if len(j.UsedIn(BoxBefore))+len(j.UsedIn(BoxAfter)) == 0 {
		return j, notice.New("job-box-first", nil)
	}
	return j.on(Verdict), nil
}

// FreeFor is the phase in free air that shows the driver as it was in the cabinet at a phase: the last one swept before, and the
// first one after where there is none before; "" where there is none.
func (j Job) FreeFor(box Phase) Phase {
	last, passed := Phase(""), false
	for _, s := range j.Sweeps {
		if s.Aside {
			continue
		}
		passed = passed || s.Phase == box
		if passed && last != "" {
			break
		}
		if s.Phase == Before || s.Phase == After {
			last = s.Phase
		}
	}
	return last
}
