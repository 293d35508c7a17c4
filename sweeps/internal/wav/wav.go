// Package wav reads and writes two-channel WAV files of any size, sample by
// sample as they are asked for.
package wav

import (
	"fmt"
	"io"
	"math"

	"conewright/sweeps/bench"
	"conewright/sweeps/fault"
	"conewright/ts/param"
)

// Limits of what a WAV header may claim. They lie far outside any recorder, and
// keep a damaged header from being believed.
const (
	maxWAVRate = 2_000_000 // Hz
	minWAVRate = 1_000     // Hz
)

// ReadWAV opens a two-channel WAV file of the given size in bytes. Samples are
// fetched from src when the recording is read, so src must stay open.
//
// It reads PCM of 8 to 32 bits and IEEE float of 32 and 64 bits, with plain and
// with extensible headers, as RIFF, RF64 or BW64. A file that was cut, or whose
// header the recorder did not finish, is read as far as it goes and carries a
// warning. Memory does not grow with what the header claims.
func ReadWAV(src io.ReaderAt, size int64, source string) (*bench.Recording, error) {
	w, err := walkWAV(src, size, source)
	if err != nil {
		return nil, err
	}
	form, err := parseWAVFormat(w.format, source)
	if err != nil {
		return nil, err
	}
	frames := w.dataSize / int64(form.blockAlign)
	if frames == 0 {
		return nil, &fault.FormatError{File: source, Msg: "the WAV file holds no samples",
			Advice: "record again, and stop the recorder before copying the file"}
	}
	if frames > math.MaxInt {
		return nil, &fault.UnsupportedError{File: source, Msg: fmt.Sprintf("the recording has %d samples a channel, more than this computer can count", frames),
			Advice: "cut the recording to the part that holds the test signal"}
	}
	rec := &bench.Recording{
		Rate:     float64(form.rate),
		Frames:   int(frames),
		Source:   source,
		Warnings: w.warnings,
		Src:      &wavFrames{src: src, start: w.dataStart, form: form, source: source},
	}
	if w.promised > 0 {
		rec.Warnings = append(rec.Warnings, truncationWarning(w.promised/int64(form.blockAlign), frames, form.rate))
	}
	return rec, nil
}

func truncationWarning(promised, frames int64, rate uint32) param.Warning {
	return param.Warning{
		Code: "wav-truncated",
		Message: fmt.Sprintf("the WAV file ends early: its header promises %.2f s, %.2f s are there",
			float64(promised)/float64(rate), float64(frames)/float64(rate)),
		Hint: "copy the file again if it may have been cut while copying; what is there was used",
	}
}
