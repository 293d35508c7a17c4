package wav

import (
	"encoding/binary"
	"errors"
	"io"
	"math"

	"conewright/ts/notice"
)

// maxChunks bounds the walk through a hostile file of empty chunks.
const maxChunks = 4096

// placeholder is the least length that recorders write before they know the
// true one: 0x7FFFF000, 0x7FFFFFFF, 0xFFFFFFFE and 0xFFFFFFFF are common. Zero
// is the other usual one.
const placeholder = 0x7FFF0000

// layout is what a walk through the chunks of a WAV file found.
type layout struct {
	format    []byte // the fmt chunk, at most 64 bytes of it
	dataStart int64  // offset of the first sample
	dataSize  int64  // bytes of samples that are really there
	promised  int64  // bytes that the header promised, when they are not all there; else 0
	warnings  []notice.Notice
}

// walk finds the fmt and data chunks of a RIFF, RF64 or BW64 file. It
// relies on no size: everything is held against the size of the file, and
// nothing but the fmt and ds64 chunks is read.
//
// Source: Multimedia Programming Interface and Data Specifications 1.0 (RIFF,
// 1991), EBU Tech 3306 (RF64) and ITU-R BS.2088 (BW64), from memory.
func walk(src io.ReaderAt, size int64, source string) (layout, error) {
	var out layout
	var head [12]byte
	if src == nil || size < int64(len(head)) {
		return out, notice.New("wav-not", nil).In(source)
	}
	if err := ReadFull(src, head[:], 0, source); err != nil {
		return out, err
	}
	form := string(head[:4])
	switch {
	case form == "RIFX":
		return out, notice.New("wav-big-endian", nil).In(source)
	case form != "RIFF" && form != "RF64" && form != "BW64":
		return out, notice.New("wav-not", nil).In(source)
	case string(head[8:]) != "WAVE":
		return out, notice.New("wav-other-riff", notice.Facts{"kind": string(head[8:])}).In(source)
	}
	riffSize := binary.LittleEndian.Uint32(head[4:8])

	var data64 int64 = -1
	var haveData bool
	pos := int64(len(head))
	for n := 0; pos+8 <= size; n++ {
		if n == maxChunks {
			return out, notice.New("wav-chunks", notice.Facts{"most": maxChunks}).In(source)
		}
		var h [8]byte
		if err := ReadFull(src, h[:], pos, source); err != nil {
			return out, err
		}
		id, length := string(h[:4]), int64(binary.LittleEndian.Uint32(h[4:]))
		body := pos + 8
		there := size - body
		switch id {
		case "ds64":
			var d [16]byte
			if form == "RIFF" || length < int64(len(d)) || there < int64(len(d)) {
				break
			}
			if err := ReadFull(src, d[:], body, source); err != nil {
				return out, err
			}
			data64 = int64(min(binary.LittleEndian.Uint64(d[8:]), math.MaxInt64))
		case "fmt ":
			if out.format != nil {
				break
			}
			if length > there {
				return out, notice.New("wav-format-cut", notice.Facts{"claimed": float64(length), "left": float64(there)}).In(source)
			}
			out.format = make([]byte, min(length, 64))
			if err := ReadFull(src, out.format, body, source); err != nil {
				return out, err
			}
		case "data":
			if haveData {
				out.warnings = append(out.warnings, *notice.New("wav-second-data", nil))
				break
			}
			haveData = true
			out.dataStart = body
			if length == math.MaxUint32 && data64 >= 0 {
				length = data64
			}
			switch {
			case length == 0 && there > 0 && (form != "RIFF" || int64(riffSize)+8 <= body),
				length >= placeholder && int64(riffSize) >= placeholder && length > there:
				// The recorder was not stopped or wrote into a pipe: the
				// samples reach to the end of the file.
				length = there
				out.warnings = append(out.warnings, *notice.New("wav-unfinished", nil))
			case length > there:
				out.promised = length
				length = there
			}
			out.dataSize = length
		}
		next := body + length
		if next > size {
			break
		}
		if length%2 == 1 {
			next = skipPad(src, next, size)
		}
		pos = next
	}
	switch {
	case out.format == nil:
		return out, notice.New("wav-no-format", nil).In(source)
	case !haveData:
		return out, notice.New("wav-no-data", nil).In(source)
	}
	return out, nil
}

// skipPad returns where the chunk after one of odd length begins. A pad byte
// has to follow, but some recorders forget it: then a well-known chunk name
// stands right where the pad byte should be.
func skipPad(src io.ReaderAt, pos, size int64) int64 {
	var id [4]byte
	if pos+4 <= size {
		if _, err := src.ReadAt(id[:], pos); err == nil {
			switch string(id[:]) {
			case "data", "fmt ", "LIST", "fact", "bext", "JUNK":
				return pos
			}
		}
	}
	return pos + 1
}

// ReadFull fills p from offset off, or says what went wrong.
func ReadFull(src io.ReaderAt, p []byte, off int64, source string) error {
	got, err := src.ReadAt(p, off)
	if got == len(p) {
		return nil
	}
	var n *notice.Notice
	switch {
	case errors.As(err, &n):
		return err
	case err == nil || err == io.EOF:
		err = io.ErrUnexpectedEOF
	}
	return notice.New("read-failed", notice.Facts{"bytes": len(p), "offset": float64(off)}).In(source).Because(err)
}
