package sweeps

// SignalKind names a test signal.
type SignalKind uint8

// The test signals.
const (
	ExponentialSweep SignalKind = iota
	Multitone
	PinkNoise
)

// Signal describes a test signal.
type Signal struct {
	Kind     SignalKind
	Rate     int     // Hz
	Lo, Hi   float64 // Hz, band
	Duration float64 // s
	Level    float64 // peak, fraction of full scale
	Seed     uint64  // of random phases and noise
}

// Samples returns the signal as fractions of full scale.
func (s Signal) Samples() ([]float64, error) {
	panic("sweeps: Signal.Samples is not written yet")
}
