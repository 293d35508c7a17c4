package sweeps

import (
	"io"

	"conewright/sweeps/internal/wav"
)

// WriteWAV writes two channels of equal length (fractions of full scale, from -1 to 1) as
// a WAV file of 24 bits at rate (Hz).
func WriteWAV(w io.WriteSeeker, ch1, ch2 []float64, rate int) error {
	return wav.Write(w, ch1, ch2, rate)
}
