package measured

import "conewright/ts/notice"

// Sweep is one measured impedance and the load under which it was taken.
type Sweep struct {
	Impedance Impedance
	Load      Load
}

// CheckInput refuses what no fit can start from: sweeps and conditions that cannot be,
// curves without a resonance, and a set without a sweep in free air.
func CheckInput(sweeps []Sweep, cond Conditions) error {
	if len(sweeps) == 0 {
		return notice.New("no-sweeps", nil)
	}
	free := false
	for _, s := range sweeps {
		if err := s.Impedance.Check(); err != nil {
			return err
		}
		if err := CheckSweep(s.Impedance); err != nil {
			return err
		}
		if err := s.Load.Check(); err != nil {
			return err
		}
		free = free || s.Load.Kind == Free
	}
	if !free {
		return notice.New("needs-free-air", nil)
	}
	return cond.Check()
}

// CheckVented is CheckInput for sweeps of a driver in a vented box, none of them with a load.
func CheckVented(sweeps []Sweep, cond Conditions) error {
	if len(sweeps) == 0 {
		return notice.New("no-sweeps", nil)
	}
	for _, s := range sweeps {
		if err := s.Impedance.Check(); err != nil {
			return err
		}
		if s.Load.Kind != Free {
			return notice.New("load-in-cabinet", nil).In(s.Impedance.Source)
		}
		if _, err := PortOf(s.Impedance); err != nil {
			return err
		}
	}
	return cond.Check()
}
