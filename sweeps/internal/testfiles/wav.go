package testfiles

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"runtime"
	"strings"

	"conewright/ts/notice"
)

// Chunk is one chunk of a hand-made WAV file. Size -1 stands for the true one.
func Chunk(id string, size int64, body []byte) []byte {
	if size < 0 {
		size = int64(len(body))
	}
	out := append([]byte(id), 0, 0, 0, 0)
	binary.LittleEndian.PutUint32(out[4:], uint32(size))
	out = append(out, body...)
	if len(body)%2 == 1 {
		out = append(out, 0)
	}
	return out
}

// WavFile wraps chunks in a RIFF header with the true size.
func WavFile(form string, chunks ...[]byte) []byte {
	body := bytes.Join(chunks, nil)
	return SizedWAV(form, uint32(len(body)+4), body)
}

// SizedWAV is [WavFile] with any size in its header.
func SizedWAV(form string, size uint32, chunks ...[]byte) []byte {
	out := append([]byte(form), 0, 0, 0, 0, 'W', 'A', 'V', 'E')
	binary.LittleEndian.PutUint32(out[4:], size)
	return append(out, bytes.Join(chunks, nil)...)
}

// FmtChunk is a plain format chunk.
func FmtChunk(tag, channels int, rate uint32, blockAlign, bits int) []byte {
	return Chunk("fmt ", -1, FmtBody(tag, channels, rate, blockAlign, bits))
}

// FmtBody is the content of a plain format chunk.
func FmtBody(tag, channels int, rate uint32, blockAlign, bits int) []byte {
	b := make([]byte, 16)
	le := binary.LittleEndian
	le.PutUint16(b, uint16(tag))
	le.PutUint16(b[2:], uint16(channels))
	le.PutUint32(b[4:], rate)
	le.PutUint32(b[8:], rate*uint32(blockAlign))
	le.PutUint16(b[12:], uint16(blockAlign))
	le.PutUint16(b[14:], uint16(bits))
	return b
}

// Extensible is an extensible format chunk for two channels at 48 kHz.
func Extensible(tag, bytesEach, valid int) []byte {
	b := FmtBody(0xfffe, 2, 48000, 2*bytesEach, 8*bytesEach)
	b = append(b, 22, 0, byte(valid), 0, 3, 0, 0, 0, byte(tag), 0)
	return Chunk("fmt ", -1, append(b, "\x00\x00\x00\x00\x10\x00\x80\x00\x00\xaa\x00\x38\x9b\x71"...))
}

// Ds64 is the chunk of an RF64 file with a data size of 64 bits.
func Ds64(dataSize uint64) []byte {
	b := make([]byte, 28)
	binary.LittleEndian.PutUint64(b, dataSize+1000)
	binary.LittleEndian.PutUint64(b[8:], dataSize)
	return Chunk("ds64", -1, b)
}

// Codes joins the codes of notices.
func Codes(all []notice.Notice) string {
	var codes []string
	for _, n := range all {
		codes = append(codes, n.Code)
	}
	return strings.Join(codes, " ")
}

// Allocated returns how many bytes f allocates.
func Allocated(f func()) uint64 {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	f()
	runtime.ReadMemStats(&after)
	return after.TotalAlloc - before.TotalAlloc
}

// Sparse is a file of the given size that holds zeros after its head, as a very
// long recording would.
type Sparse struct {
	Head []byte
	Size int64
}

func (s Sparse) ReadAt(p []byte, off int64) (int, error) {
	n := int(min(int64(len(p)), max(s.Size-off, 0)))
	clear(p[:n])
	if off < int64(len(s.Head)) {
		copy(p[:n], s.Head[off:])
	}
	if n < len(p) {
		return n, io.EOF
	}
	return n, nil
}

// Failing is a disk that breaks after some bytes.
type Failing struct {
	Data  []byte
	After int64
}

// ErrDisk is the error of a disk that breaks.
var ErrDisk = errors.New("disk on fire")

func (f Failing) ReadAt(p []byte, off int64) (int, error) {
	if off+int64(len(p)) > f.After {
		return 0, ErrDisk
	}
	return copy(p, f.Data[off:]), nil
}

// Canonical is a WAV file with the shortest header around the samples of
// another. It is what the go-audio decoder may be given: that decoder relies on
// every size in a header and ignores how many bytes a Read returned, so the
// header is fresh and Read always fills its argument.
type Canonical struct {
	*bytes.Reader
}

func (c Canonical) Read(p []byte) (int, error) {
	n, err := io.ReadFull(c.Reader, p)
	if err == io.ErrUnexpectedEOF {
		err = nil
	}
	return n, err
}

// MemoryFile is a file in memory.
type MemoryFile struct {
	data []byte
	pos  int
}

func (m *MemoryFile) Write(p []byte) (int, error) {
	if need := m.pos + len(p) - len(m.data); need > 0 {
		m.data = append(m.data, make([]byte, need)...)
	}
	m.pos += copy(m.data[m.pos:], p)
	return len(p), nil
}

func (m *MemoryFile) Seek(offset int64, whence int) (int64, error) {
	switch whence {
	case 0:
		m.pos = int(offset)
	case 1:
		m.pos += int(offset)
	default:
		m.pos = len(m.data) + int(offset)
	}
	return int64(m.pos), nil
}

// Len returns the size of the file.
func (m *MemoryFile) Len() int { return len(m.data) }

// Bytes returns what was written.
func (m *MemoryFile) Bytes() []byte { return m.data }
