package wording

import (
	"fmt"

	"conewright/ts/change"
	"conewright/ts/param"
)

// Split says how the stiffness divides.
func Split(s *change.StiffnessSplit) []string {
	share := func(p change.StiffnessPart) string {
		return fmt.Sprintf("%.0f %% (%.0f to %.0f)", 100*p.Share, 100*p.Low, 100*p.High)
	}
	out := []string{fmt.Sprintf("Of the stiffness before the repair the spider held %s and the old surround %s; the new surround has %s of that same whole.",
		share(s.Spider), share(s.OldSurround), share(s.NewSurround))}
	if s.OldSurround.Low > 0 {
		out = append(out, fmt.Sprintf("The new surround is %.1f times as stiff as the old one was (%.1f to %.1f).", s.NewToOld.Ratio, s.NewToOld.Low, s.NewToOld.High))
	} else {
		out = append(out, "The old surround alone is too small a part of the stiffness to be compared with the new one.")
	}
	if c := s.NewSurround.Compliance(); c > 0 {
		text := fmt.Sprintf("The new surround alone has a compliance of %s", valueText(param.Cms, c, c*s.NewSurround.AbsoluteStd/s.NewSurround.Absolute))
		if lo, hi := s.NewSurround.ComplianceRange(); hi > 0 {
			text += fmt.Sprintf(" (95 %%: %s)", rangeText(param.Cms, lo, hi))
		}
		out = append(out, text+".")
	}
	return out
}
