package wav

import (
	"bytes"
	"fmt"
	"testing"

	"conewright/sweeps/internal/testfiles"

	"github.com/go-audio/audio"
	"github.com/go-audio/wav"
)

// minute is 60 s of two channels at 96 kHz, as a file.
func minute(tag, bytesEach int) []byte {
	const frames = 60 * 96000
	data := make([]byte, frames*2*bytesEach)
	for i := range data {
		data[i] = byte(i * 7)
		if tag == tagFloat && i%4 == 3 {
			data[i] = 0x3e // a value near 0.1
		}
	}
	return testfiles.WavFile("RIFF", testfiles.FmtChunk(tag, 2, 96000, 2*bytesEach, 8*bytesEach), testfiles.Chunk("data", -1, data))
}

func BenchmarkRead(b *testing.B) {
	for name, file := range map[string][]byte{"bits=16": minute(tagPCM, 2), "bits=24": minute(tagPCM, 3), "bits=float32": minute(tagFloat, 4)} {
		b.Run(name, func(b *testing.B) {
			const block = 1 << 16
			ch1, ch2 := make([]float64, block), make([]float64, block)
			b.SetBytes(int64(len(file)))
			b.ReportAllocs()
			for b.Loop() {
				rec, err := Read(bytes.NewReader(file), int64(len(file)), "x.wav")
				if err != nil {
					b.Fatal(err)
				}
				for from := 0; from < rec.Frames; from += block {
					n := min(block, rec.Frames-from)
					if err := rec.Read(ch1[:n], ch2[:n], from); err != nil {
						b.Fatal(err)
					}
				}
			}
		})
	}
}

// BenchmarkGoAudioWAV is what the same would cost with the decoder of
// go-audio/wav behind a guard, see docs/decisions/0020-reading-wav.md.
func BenchmarkGoAudioWAV(b *testing.B) {
	for _, bytesEach := range []int{2, 3} {
		file := minute(tagPCM, bytesEach)
		b.Run(fmt.Sprintf("bits=%d", 8*bytesEach), func(b *testing.B) {
			buf := audio.IntBuffer{Data: make([]int, 1<<17)}
			b.SetBytes(int64(len(file)))
			b.ReportAllocs()
			for b.Loop() {
				d := wav.NewDecoder(testfiles.Canonical{Reader: bytes.NewReader(file)})
				for {
					n, err := d.PCMBuffer(&buf)
					if err != nil {
						b.Fatal(err)
					}
					if n == 0 {
						break
					}
				}
			}
		})
	}
}

func BenchmarkWrite(b *testing.B) {
	const frames = 96000
	ch := make([]float64, frames)
	b.SetBytes(6 * frames)
	for b.Loop() {
		if err := Write(&testfiles.MemoryFile{}, ch, ch, 96000); err != nil {
			b.Fatal(err)
		}
	}
}
