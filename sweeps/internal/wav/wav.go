// Package wav reads and writes two-channel WAV files of any size, sample by
// sample as they are asked for.
package wav

import (
	"io"
	"math"

	"conewright/sweeps/bench"
	"conewright/ts/notice"
)

// Limits of what a WAV header may claim. They lie far outside any recorder, and
// keep a damaged header from being believed.
const (
	maxRate = 2_000_000 // Hz
	minRate = 1_000     // Hz
)

// Read opens a two-channel WAV file of the given size in bytes. Samples are
// fetched from src when the recording is read, so src must stay open.
//
// It reads PCM of 8 to 32 bits and IEEE float of 32 and 64 bits, with plain and
// with extensible headers, as RIFF, RF64 or BW64. A file that was cut, or whose
// header the recorder did not finish, is read as far as it goes and carries a
// warning. Memory does not grow with what the header claims.
func Read(src io.ReaderAt, size int64, source string) (*bench.Recording, error) {
	w, err := walk(src, size, source)
	if err != nil {
		return nil, err
	}
	form, err := parseFormat(w.format, source)
	if err != nil {
		return nil, err
	}
	n := w.dataSize / int64(form.blockAlign)
	if n == 0 {
		return nil, notice.New("wav-empty", nil).In(source)
	}
	if n > math.MaxInt {
		return nil, notice.New("wav-too-long", notice.Facts{"samples": float64(n)}).In(source)
	}
	rec, err := bench.Stream(&frames{src: src, start: w.dataStart, form: form, source: source}, int(n), float64(form.rate), source)
	if err != nil {
		return nil, err
	}
	rec.Warnings = w.warnings
	if w.promised > 0 {
		seconds := func(frames int64) float64 { return float64(frames) / rec.Rate }
		rec.Warnings = append(rec.Warnings, *notice.New("wav-truncated", notice.Facts{"promised": seconds(w.promised / int64(form.blockAlign)), "there": seconds(n)}))
	}
	return rec, nil
}
