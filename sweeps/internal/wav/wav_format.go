package wav

import (
	"encoding/binary"
	"fmt"

	"conewright/sweeps/fault"
)

// Tags of the sample formats, from the RIFF registrations.
const (
	TagPCM        = 1
	tagFloat      = 3
	tagALaw       = 6
	tagMuLaw      = 7
	tagExtensible = 0xFFFE
)

// wavFormat is a format chunk that was found sound.
type wavFormat struct {
	rate       uint32 // Hz
	blockAlign int    // bytes from one frame to the next
	bytes      int    // bytes of one sample, the container
	float      bool
}

// parseWAVFormat reads a fmt chunk. Where the container is wider than the valid
// bits the sample stands at its upper end, so full scale is that of the
// container.
//
// Source: RIFF specification 1.0 (left-justified samples); description of
// WAVEFORMATEXTENSIBLE; from memory.
func parseWAVFormat(b []byte, source string) (wavFormat, error) {
	damaged := func(format string, args ...any) (wavFormat, error) {
		return wavFormat{}, &fault.FormatError{File: source, Msg: fmt.Sprintf(format, args...),
			Advice: "the file is damaged or not a usual WAV file; export it again as two-channel PCM, 16 or 24 bit"}
	}
	if len(b) < 16 {
		return damaged("the format chunk of the WAV file has %d bytes, at least 16 are needed", len(b))
	}
	tag := binary.LittleEndian.Uint16(b)
	channels := int(binary.LittleEndian.Uint16(b[2:]))
	rate := binary.LittleEndian.Uint32(b[4:])
	blockAlign := int(binary.LittleEndian.Uint16(b[12:]))
	bits := int(binary.LittleEndian.Uint16(b[14:]))

	if tag == tagExtensible {
		if len(b) < 40 {
			return damaged("the extensible format chunk has %d bytes, 40 are needed", len(b))
		}
		guid := string(b[26:40])
		if guid != "\x00\x00\x00\x00\x10\x00\x80\x00\x00\xaa\x00\x38\x9b\x71" {
			return wavFormat{}, unsupportedWAV(source, fmt.Sprintf("samples of the kind % x", b[24:40]))
		}
		tag = binary.LittleEndian.Uint16(b[24:])
	}
	switch tag {
	case TagPCM, tagFloat:
	case tagALaw:
		return wavFormat{}, unsupportedWAV(source, "A-law samples")
	case tagMuLaw:
		return wavFormat{}, unsupportedWAV(source, "mu-law samples")
	default:
		return wavFormat{}, unsupportedWAV(source, fmt.Sprintf("compressed samples (format %#x)", tag))
	}

	switch {
	case channels == 1:
		return wavFormat{}, &fault.UnsupportedError{File: source, Msg: "the recording has one channel, and the bench needs two",
			Advice: "record both bench channels together in one stereo file"}
	case channels == 0:
		return damaged("the WAV header says that there are no channels")
	case channels > 2:
		return wavFormat{}, &fault.UnsupportedError{File: source, Msg: fmt.Sprintf("the recording has %d channels, and the bench has two", channels),
			Advice: "export the two bench channels alone, for example with: sox in.wav out.wav remix 1 2"}
	case rate < minWAVRate || rate > maxWAVRate:
		return damaged("the WAV header gives the sample rate as %d Hz", rate)
	case blockAlign == 0 || blockAlign%channels != 0:
		return damaged("the WAV header gives %d bytes a frame for %d channels", blockAlign, channels)
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
		return damaged("the WAV header gives %d-bit %s samples in %d bytes", bits, kind, container)
	}
	return wavFormat{rate: rate, blockAlign: blockAlign, bytes: container, float: tag == tagFloat}, nil
}

func unsupportedWAV(source, what string) error {
	return &fault.UnsupportedError{File: source, Msg: "the WAV file holds " + what,
		Advice: "export it again as two-channel PCM, 16 or 24 bit"}
}
