package sweeps

import "io"

// ReadWAV opens a two-channel WAV file of the given size in bytes. Samples are
// fetched from src when the recording is read, so src must stay open.
func ReadWAV(src io.ReaderAt, size int64, source string) (*Recording, error) {
	panic("sweeps: ReadWAV is not written yet")
}

// WriteWAV writes two channels of equal length as 24-bit PCM at rate (Hz).
func WriteWAV(w io.WriteSeeker, ch1, ch2 []float64, rate int) error {
	panic("sweeps: WriteWAV is not written yet")
}
