package wav

import (
	"encoding/binary"
	"fmt"

	"conewright/ts/notice"
)

// Tags of the sample formats, from the RIFF registrations.
const (
	tagPCM        = 1
	tagFloat      = 3
	tagExtensible = 0xFFFE
)

// format is a format chunk that was found sound.
type format struct {
	rate       uint32 // Hz
	blockAlign int    // bytes from one frame to the next
	bytes      int    // bytes of one sample, the container
	float      bool
}

// parseFormat reads a fmt chunk. Where the container is wider than the valid
// bits the sample stands at its upper end, so full scale is that of the
// container.
//
// Source: RIFF specification 1.0 (left-justified samples); description of
// WAVEFORMATEXTENSIBLE; from memory.
func parseFormat(b []byte, source string) (format, error) {
	refuse := func(n *notice.Notice) (format, error) { return format{}, n.In(source) }
	if len(b) < 16 {
		return refuse(notice.New("wav-format-short", notice.Facts{"bytes": len(b), "least": 16}))
	}
	tag := binary.LittleEndian.Uint16(b)
	channels := int(binary.LittleEndian.Uint16(b[2:]))
	rate := binary.LittleEndian.Uint32(b[4:])
	blockAlign := int(binary.LittleEndian.Uint16(b[12:]))
	bits := int(binary.LittleEndian.Uint16(b[14:]))

	if tag == tagExtensible {
		if len(b) < 40 {
			return refuse(notice.New("wav-format-short", notice.Facts{"bytes": len(b), "least": 40}))
		}
		guid := string(b[26:40])
		if guid != "\x00\x00\x00\x00\x10\x00\x80\x00\x00\xaa\x00\x38\x9b\x71" {
			return refuse(notice.New("wav-other-samples", notice.Facts{"kind": fmt.Sprintf("% x", b[24:40])}))
		}
		tag = binary.LittleEndian.Uint16(b[24:])
	}
	switch tag {
	case tagPCM, tagFloat:
	default:
		return refuse(notice.New("wav-compressed", notice.Facts{"tag": int(tag)}))
	}

	switch {
	case channels == 1:
		return refuse(notice.New("wav-mono", nil))
	case channels == 0:
		return refuse(notice.New("wav-no-channels", nil))
	case channels > 2:
		return refuse(notice.New("wav-many-channels", notice.Facts{"channels": channels}))
	case rate < minRate || rate > maxRate:
		return refuse(notice.New("wav-rate", notice.Facts{"rate": float64(rate)}))
	case blockAlign == 0 || blockAlign%channels != 0:
		return refuse(notice.New("wav-frame-size", notice.Facts{"bytes": blockAlign, "channels": channels}))
	}
	container := blockAlign / channels
	ok := false
	if tag == tagFloat {
		ok = (bits == 32 || bits == 64) && container*8 == bits
	} else {
		ok = bits >= 8 && bits <= 32 && container <= 4 && bits <= container*8
	}
	if !ok {
		kind := "PCM"
		if tag == tagFloat {
			kind = "float"
		}
		return refuse(notice.New("wav-sample-size", notice.Facts{"bits": bits, "kind": kind, "bytes": container}))
	}
	return format{rate: rate, blockAlign: blockAlign, bytes: container, float: tag == tagFloat}, nil
}
