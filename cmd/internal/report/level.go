package report

import (
	"conewright/ts/measured"
	"conewright/ts/notice"
)

// levelOf returns the level of the first recording among the sweeps of a side, and a notice where another one differs much
// from it; nil where none does.
func levelOf(sweeps []measured.Sweep) (measured.Level, *notice.Notice) {
	var first measured.Level
	for _, s := range sweeps {
		level := s.Impedance.Level
		if first.Value == 0 {
			first = level
		}
		if first.Far(level) {
			return first, notice.New("levels-differ", notice.Facts{"first": first.Value, "other": level.Value, "volts": first.Volts})
		}
	}
	return first, nil
}

// LevelBetween returns the ratio of the levels of two sides, after to before, as a comparison takes it into account: 0 where
// they are not known in volts. The notice says that they differ much, nil where they do not.
func LevelBetween(before, after Side) (ratio float64, far []notice.Notice) {
	if before.Level.Far(after.Level) {
		far = append(far, *notice.New("levels-apart", notice.Facts{"before": before.Level.Value, "after": after.Level.Value, "volts": before.Level.Volts}))
	}
	ratio, ok := before.Level.Beside(after.Level)
	if !ok || !before.Level.Volts {
		return 0, far
	}
	return ratio, far
}
