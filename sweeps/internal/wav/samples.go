package wav

import (
	"encoding/binary"
	"io"
	"math"
	"sync"

	"conewright/sweeps/bench"
)

// block is how many frames are fetched at once.
const block = 8192

// frames delivers frames of an open WAV file. It may be used by several
// goroutines at once.
type frames struct {
	src    io.ReaderAt
	start  int64 // offset of the first frame
	form   format
	source string
	pool   sync.Pool // of *[]byte
}

func (w *frames) ReadFrames(ch1, ch2 []float64, from int) error {
	buf, _ := w.pool.Get().(*[]byte)
	if buf == nil {
		b := make([]byte, block*w.form.blockAlign)
		buf = &b
	}
	defer w.pool.Put(buf)
	for len(ch1) > 0 {
		n := min(len(ch1), block)
		p := (*buf)[:n*w.form.blockAlign]
		if err := ReadFull(w.src, p, w.start+int64(from)*int64(w.form.blockAlign), w.source); err != nil {
			return err
		}
		w.form.decode(ch1[:n], ch2[:n], p)
		if w.form.float {
			if err := bench.Sound(ch1[:n], ch2[:n], from, w.source); err != nil {
				return err
			}
		}
		ch1, ch2, from = ch1[n:], ch2[n:], from+n
	}
	return nil
}

// decode turns the frames in p into fractions of full scale. The slices have
// room for exactly the frames in p.
func (f format) decode(ch1, ch2 []float64, p []byte) {
	le := binary.LittleEndian
	ch2 = ch2[:len(ch1)]
	switch {
	case f.float && f.bytes == 4:
		for i := range ch1 {
			q := p[8*i : 8*i+8]
			ch1[i] = float64(math.Float32frombits(le.Uint32(q)))
			ch2[i] = float64(math.Float32frombits(le.Uint32(q[4:])))
		}
	case f.float:
		for i := range ch1 {
			q := p[16*i : 16*i+16]
			ch1[i] = math.Float64frombits(le.Uint64(q))
			ch2[i] = math.Float64frombits(le.Uint64(q[8:]))
		}
	case f.bytes == 1: // unsigned
		for i := range ch1 {
			ch1[i] = (float64(p[2*i]) - 128) / (1 << 7)
			ch2[i] = (float64(p[2*i+1]) - 128) / (1 << 7)
		}
	case f.bytes == 2:
		for i := range ch1 {
			v := le.Uint32(p[4*i : 4*i+4])
			ch1[i] = float64(int16(v)) / (1 << 15)
			ch2[i] = float64(int16(v>>16)) / (1 << 15)
		}
	case f.bytes == 3:
		for i := range ch1 {
			q := p[6*i : 6*i+6]
			ch1[i] = float64(int32(uint32(q[0])<<8|uint32(q[1])<<16|uint32(q[2])<<24)) / (1 << 31)
			ch2[i] = float64(int32(uint32(q[3])<<8|uint32(q[4])<<16|uint32(q[5])<<24)) / (1 << 31)
		}
	default:
		for i := range ch1 {
			q := p[8*i : 8*i+8]
			ch1[i] = float64(int32(le.Uint32(q))) / (1 << 31)
			ch2[i] = float64(int32(le.Uint32(q[4:]))) / (1 << 31)
		}
	}
}
