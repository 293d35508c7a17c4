package sweeps

import (
	"io"

	"conewright/sweeps/internal/wav"
)

// WriteWAV writes two channels as a WAV file of 24 bits, see [wav.WriteWAV].
func WriteWAV(w io.WriteSeeker, ch1, ch2 []float64, rate int) error {
	return wav.WriteWAV(w, ch1, ch2, rate)
}
