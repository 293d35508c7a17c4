package sweeps

// VirtualBench records a driver that exists only as numbers, with the errors
// of a real two-channel interface. It makes the demo and the tests.
type VirtualBench struct {
	Z     func(f float64) complex128 // ohm at f Hz, what hangs on the terminals
	Bench Bench                      // how it is connected; its resistor is the true one
	Seed  uint64
}

// Record plays signal (fraction of full scale, at rate Hz) once and returns
// what the two channels heard.
func (v VirtualBench) Record(signal []float64, rate int) (*Recording, error) {
	panic("sweeps: VirtualBench.Record is not written yet")
}
