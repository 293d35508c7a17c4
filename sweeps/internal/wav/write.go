package wav

import (
	"io"
	"math"

	"conewright/ts/notice"

	"github.com/go-audio/audio"
	"github.com/go-audio/wav"
)

// Write writes two channels of equal length as 24-bit PCM at rate (Hz).
// Samples are fractions of full scale; beyond -1 and 1 they are refused, because
// a clipped file would be a wrong file.
func Write(w io.WriteSeeker, ch1, ch2 []float64, rate int) error {
	const scale = 1 << 23
	if err := checkContent(ch1, ch2, rate); err != nil {
		return err
	}
	// The encoder reserves memory for a minute at the rate it is made with;
	// it is made with a low one and told the true rate afterwards.
	enc := wav.NewEncoder(w, minRate, 24, 2, tagPCM)
	enc.SampleRate = rate
	buf := audio.IntBuffer{Format: &audio.Format{NumChannels: 2, SampleRate: rate}, SourceBitDepth: 24}
	for from := 0; from < len(ch1); from += block {
		to := min(from+block, len(ch1))
		buf.Data = buf.Data[:0]
		for i := from; i < to; i++ {
			buf.Data = append(buf.Data, quantize(ch1[i], scale), quantize(ch2[i], scale))
		}
		if err := enc.Write(&buf); err != nil {
			return err
		}
	}
	return enc.Close()
}

// quantize rounds x to an integer of full scale; 1 itself is one step too much.
func quantize(x, scale float64) int {
	return int(min(math.Round(x*scale), scale-1))
}

// checkSize says whether so many frames and this rate fit into a WAV file,
// whose header counts the bytes after its first eight in 32 bits.
func checkSize(frames, rate int) error {
	const bytesPerFrame, header = 6, 44
	const most = (math.MaxUint32 - header + 8) / bytesPerFrame
	switch {
	case rate < minRate || rate > maxRate:
		return notice.New("wav-write-rate", notice.Facts{"rate": rate})
	case int64(frames) > most:
		return notice.New("wav-write-long", notice.Facts{"samples": frames, "most": float64(most)})
	}
	return nil
}

func checkContent(ch1, ch2 []float64, rate int) error {
	if len(ch1) != len(ch2) || len(ch1) == 0 {
		return notice.New("recording-lengths", notice.Facts{"channel-1": len(ch1), "channel-2": len(ch2)})
	}
	if err := checkSize(len(ch1), rate); err != nil {
		return err
	}
	for c, ch := range [][]float64{ch1, ch2} {
		for i, x := range ch {
			if !(math.Abs(x) <= 1) {
				return notice.New("wav-write-clipped", notice.Facts{"sample": i + 1, "channel": c + 1, "value": x})
			}
		}
	}
	return nil
}
