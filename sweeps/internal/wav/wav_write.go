package wav

import (
	"fmt"
	"io"
	"math"
	"os"

	"conewright/sweeps/internal/savefile"

	"github.com/go-audio/audio"
	"github.com/go-audio/wav"
)

// WriteWAV writes two channels of equal length as 24-bit PCM at rate (Hz).
// Samples are fractions of full scale; beyond -1 and 1 they are refused, because
// a clipped file would be a wrong file.
func WriteWAV(w io.WriteSeeker, ch1, ch2 []float64, rate int) error {
	const scale = 1 << 23
	if err := checkWAVContent(ch1, ch2, rate); err != nil {
		return err
	}
	// The encoder reserves memory for a minute at the rate it is made with;
	// it is made with a low one and told the true rate afterwards.
	enc := wav.NewEncoder(w, minWAVRate, 24, 2, TagPCM)
	enc.SampleRate = rate
	buf := audio.IntBuffer{Format: &audio.Format{NumChannels: 2, SampleRate: rate}, SourceBitDepth: 24}
	for from := 0; from < len(ch1); from += WavBlock {
		to := min(from+WavBlock, len(ch1))
		buf.Data = buf.Data[:0]
		for i := from; i < to; i++ {
			buf.Data = append(buf.Data, quantize(ch1[i], scale), quantize(ch2[i], scale))
		}
		if err := enc.Write(&buf); err != nil {
			return fmt.Errorf("writing samples: %w", err)
		}
	}
	if err := enc.Close(); err != nil {
		return fmt.Errorf("finishing the WAV header: %w", err)
	}
	return nil
}

// WriteWAVFile is [WriteWAV] into a file, which appears under its name only
// when it is complete. An existing file is refused unless overwrite is set.
func WriteWAVFile(path string, ch1, ch2 []float64, rate int, overwrite bool) error {
	return savefile.Save(path, overwrite, func(f *os.File) error { return WriteWAV(f, ch1, ch2, rate) })
}

// quantize rounds x to an integer of full scale; 1 itself is one step too much.
func quantize(x, scale float64) int {
	return int(min(math.Round(x*scale), scale-1))
}

// checkWAVSize says whether so many frames and this rate fit into a WAV file,
// whose header counts the bytes after its first eight in 32 bits.
func checkWAVSize(frames, rate int) error {
	const bytesPerFrame, header = 6, 44
	const most = (math.MaxUint32 - header + 8) / bytesPerFrame
	switch {
	case rate < minWAVRate || rate > maxWAVRate:
		return fmt.Errorf("a WAV file cannot have the sample rate %d Hz", rate)
	case int64(frames) > most:
		return fmt.Errorf("%d samples a channel do not fit into one WAV file; write at most %d", frames, most)
	}
	return nil
}

func checkWAVContent(ch1, ch2 []float64, rate int) error {
	if len(ch1) != len(ch2) || len(ch1) == 0 {
		return fmt.Errorf("a WAV file needs two channels of equal length, not %d and %d samples", len(ch1), len(ch2))
	}
	if err := checkWAVSize(len(ch1), rate); err != nil {
		return err
	}
	for c, ch := range [][]float64{ch1, ch2} {
		for i, x := range ch {
			if !(math.Abs(x) <= 1) {
				return fmt.Errorf("sample %d of channel %d is %v of full scale and would be clipped", i+1, c+1, x)
			}
		}
	}
	return nil
}
