package wav

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"conewright/sweeps/fault"
	"conewright/sweeps/internal/testfiles"

	"github.com/go-audio/audio"
	"github.com/go-audio/wav"
)

// Two frames whose values are written out by hand in every format:
// channel 1 is 1/2 and -1, channel 2 is -1/4 and 1/128.
var (
	wantCh1 = []float64{0.5, -1}
	wantCh2 = []float64{-0.25, 0.0078125}

	data8  = []byte{0xC0, 0x60, 0x00, 0x81}
	data16 = []byte{0x00, 0x40, 0x00, 0xE0, 0x00, 0x80, 0x00, 0x01}
	data24 = []byte{0, 0x00, 0x40, 0, 0x00, 0xE0, 0, 0x00, 0x80, 0, 0x00, 0x01}
	data32 = []byte{0, 0, 0x00, 0x40, 0, 0, 0x00, 0xE0, 0, 0, 0x00, 0x80, 0, 0, 0x00, 0x01}
	dataF4 = []byte{0, 0, 0x00, 0x3F, 0, 0, 0x80, 0xBE, 0, 0, 0x80, 0xBF, 0, 0, 0x00, 0x3C}
	dataF8 = []byte{0, 0, 0, 0, 0, 0, 0xE0, 0x3F, 0, 0, 0, 0, 0, 0, 0xD0, 0xBF, 0, 0, 0, 0, 0, 0, 0xF0, 0xBF, 0, 0, 0, 0, 0, 0, 0x80, 0x3F}

	fmt16 = testfiles.FmtChunk(TagPCM, 2, 48000, 4, 16)
)

// goodWAVs hold the two frames above in every format and wrapping that has to
// be read, with the codes of the warnings that come with them.
var goodWAVs = map[string]struct {
	file []byte
	warn string
}{
	"PCM 8":                     {file: testfiles.WavFile("RIFF", testfiles.FmtChunk(TagPCM, 2, 48000, 2, 8), testfiles.Chunk("data", -1, data8))},
	"PCM 16":                    {file: testfiles.WavFile("RIFF", fmt16, testfiles.Chunk("data", -1, data16))},
	"PCM 24":                    {file: testfiles.WavFile("RIFF", testfiles.FmtChunk(TagPCM, 2, 48000, 6, 24), testfiles.Chunk("data", -1, data24))},
	"PCM 32":                    {file: testfiles.WavFile("RIFF", testfiles.FmtChunk(TagPCM, 2, 48000, 8, 32), testfiles.Chunk("data", -1, data32))},
	"float 32":                  {file: testfiles.WavFile("RIFF", testfiles.FmtChunk(tagFloat, 2, 48000, 8, 32), testfiles.Chunk("data", -1, dataF4))},
	"float 64":                  {file: testfiles.WavFile("RIFF", testfiles.FmtChunk(tagFloat, 2, 48000, 16, 64), testfiles.Chunk("data", -1, dataF8))},
	"float 32 with fact":        {file: testfiles.WavFile("RIFF", testfiles.Chunk("fmt ", -1, append(testfiles.FmtBody(tagFloat, 2, 48000, 8, 32), 0, 0)), testfiles.Chunk("fact", -1, []byte{2, 0, 0, 0}), testfiles.Chunk("data", -1, dataF4))},
	"extensible 16":             {file: testfiles.WavFile("RIFF", testfiles.Extensible(TagPCM, 2, 16), testfiles.Chunk("data", -1, data16))},
	"extensible 24":             {file: testfiles.WavFile("RIFF", testfiles.Extensible(TagPCM, 3, 24), testfiles.Chunk("data", -1, data24))},
	"extensible 32":             {file: testfiles.WavFile("RIFF", testfiles.Extensible(TagPCM, 4, 32), testfiles.Chunk("data", -1, data32))},
	"extensible 24 in 32":       {file: testfiles.WavFile("RIFF", testfiles.Extensible(TagPCM, 4, 24), testfiles.Chunk("data", -1, data32))},
	"extensible float 32":       {file: testfiles.WavFile("RIFF", testfiles.Extensible(tagFloat, 4, 32), testfiles.Chunk("data", -1, dataF4))},
	"extensible float 64":       {file: testfiles.WavFile("RIFF", testfiles.Extensible(tagFloat, 8, 64), testfiles.Chunk("data", -1, dataF8))},
	"plain 24 in 32":            {file: testfiles.WavFile("RIFF", testfiles.FmtChunk(TagPCM, 2, 48000, 8, 24), testfiles.Chunk("data", -1, data32))},
	"plain 12 in 16":            {file: testfiles.WavFile("RIFF", testfiles.FmtChunk(TagPCM, 2, 48000, 4, 12), testfiles.Chunk("data", -1, data16))},
	"plain 20 in 24":            {file: testfiles.WavFile("RIFF", testfiles.FmtChunk(TagPCM, 2, 48000, 6, 20), testfiles.Chunk("data", -1, data24))},
	"RF64":                      {file: testfiles.SizedWAV("RF64", 0xFFFFFFFF, testfiles.Ds64(8), fmt16, testfiles.Chunk("data", 0xFFFFFFFF, data16))},
	"BW64":                      {file: testfiles.SizedWAV("BW64", 0xFFFFFFFF, testfiles.Ds64(8), fmt16, testfiles.Chunk("data", 0xFFFFFFFF, data16))},
	"RF64, size in 32 bits":     {file: testfiles.SizedWAV("RF64", 0xFFFFFFFF, testfiles.Ds64(99), fmt16, testfiles.Chunk("data", -1, data16))},
	"RF64, ds64 never finished": {file: testfiles.SizedWAV("RF64", 0xFFFFFFFF, testfiles.Ds64(0), fmt16, testfiles.Chunk("data", 0xFFFFFFFF, data16)), warn: "wav-unfinished"},
	"RF64 without ds64":         {file: testfiles.SizedWAV("RF64", 0xFFFFFFFF, fmt16, testfiles.Chunk("data", 0xFFFFFFFF, data16)), warn: "wav-unfinished"},
	"RF64, ds64 beyond 2^63":    {file: testfiles.SizedWAV("RF64", 0xFFFFFFFF, testfiles.Ds64(1<<63+5), fmt16, testfiles.Chunk("data", 0xFFFFFFFF, data16)), warn: "wav-unfinished"},
	"chunks before fmt":         {file: testfiles.WavFile("RIFF", testfiles.Chunk("LIST", -1, []byte("INFOIART\x02\x00\x00\x00me")), testfiles.Chunk("bext", -1, make([]byte, 602)), testfiles.Chunk("JUNK", -1, make([]byte, 28)), fmt16, testfiles.Chunk("data", -1, data16))},
	"chunks before data":        {file: testfiles.WavFile("RIFF", fmt16, testfiles.Chunk("LIST", -1, make([]byte, 26)), testfiles.Chunk("odd ", -1, []byte{1, 2, 3}), testfiles.Chunk("data", -1, data16))},
	"odd chunk without pad":     {file: testfiles.WavFile("RIFF", fmt16, testfiles.Chunk("odd ", -1, []byte{1, 2, 3})[:11], testfiles.Chunk("data", -1, data16))},
	"fmt after data":            {file: testfiles.WavFile("RIFF", testfiles.Chunk("data", -1, data16), fmt16)},
	"chunk after data":          {file: testfiles.WavFile("RIFF", fmt16, testfiles.Chunk("data", -1, data16), testfiles.Chunk("LIST", -1, make([]byte, 26)))},
	"two data chunks":           {file: testfiles.WavFile("RIFF", fmt16, testfiles.Chunk("data", -1, data16), testfiles.Chunk("data", -1, data16)), warn: "wav-second-data"},
	"two fmt chunks":            {file: testfiles.WavFile("RIFF", fmt16, testfiles.FmtChunk(TagPCM, 2, 8000, 2, 8), testfiles.Chunk("data", -1, data16))},
	"data size 0, pipe":         {file: testfiles.SizedWAV("RIFF", 0, fmt16, testfiles.Chunk("data", 0, data16)), warn: "wav-unfinished"},
	"data size 0, header only":  {file: testfiles.SizedWAV("RIFF", 36, fmt16, testfiles.Chunk("data", 0, data16)), warn: "wav-unfinished"},
	"data size 0xFFFFFFFF":      {file: testfiles.SizedWAV("RIFF", 0xFFFFFFFF, fmt16, testfiles.Chunk("data", 0xFFFFFFFF, data16)), warn: "wav-unfinished"},
	"data size 0xFFFFFFFE":      {file: testfiles.SizedWAV("RIFF", 0xFFFFFFFF, fmt16, testfiles.Chunk("data", 0xFFFFFFFE, data16)), warn: "wav-unfinished"},
	"data size 0x7FFFFFFF":      {file: testfiles.SizedWAV("RIFF", 0x7FFFFFFF, fmt16, testfiles.Chunk("data", 0x7FFFFFFF, data16)), warn: "wav-unfinished"},
	"data size 0x7FFFF000":      {file: testfiles.SizedWAV("RIFF", 0x7FFFF024, fmt16, testfiles.Chunk("data", 0x7FFFF000, data16)), warn: "wav-unfinished"},
	"cut between frames":        {file: testfiles.WavFile("RIFF", fmt16, testfiles.Chunk("data", 400, data16)), warn: "wav-truncated"},
	"cut inside a frame":        {file: testfiles.WavFile("RIFF", fmt16, testfiles.Chunk("data", 400, append(data16[:len(data16):len(data16)], 1, 2))), warn: "wav-truncated"},
	"partial frame at the end":  {file: testfiles.WavFile("RIFF", fmt16, testfiles.Chunk("data", -1, append(data16[:len(data16):len(data16)], 1, 2, 3)))},
	"LIST of 4 GB after data":   {file: testfiles.WavFile("RIFF", fmt16, testfiles.Chunk("data", -1, data16), testfiles.Chunk("LIST", 0xFFFFFFF0, make([]byte, 20)))},
	"INFO parts of 4 GB":        {file: testfiles.WavFile("RIFF", testfiles.Chunk("LIST", -1, []byte("INFOIART\xff\xff\xff\xf0ICMT\xff\xff\xff\xf0")), fmt16, testfiles.Chunk("data", -1, data16))},
	"garbage after data":        {file: append(testfiles.WavFile("RIFF", fmt16, testfiles.Chunk("data", -1, data16)), 0xFF, 0xFE, 0xFD)},
}

func TestReadWAV(t *testing.T) {
	for name, c := range goodWAVs {
		t.Run(name, func(t *testing.T) {
			rec, err := ReadWAV(bytes.NewReader(c.file), int64(len(c.file)), "x.wav")
			if err != nil {
				t.Fatal(err)
			}
			if rec.Rate != 48000 || rec.Frames != 2 || rec.Source != "x.wav" {
				t.Errorf("%v Hz, %d frames of %q, want 48000, 2 of x.wav", rec.Rate, rec.Frames, rec.Source)
			}
			testfiles.CheckFrames(t, rec, wantCh1, wantCh2)
			if got := testfiles.WarningCodes(rec.Warnings); got != c.warn {
				t.Errorf("warnings %q, want %q", got, c.warn)
			}
		})
	}
}

// testfiles.CheckFrames reads the recording whole and from every frame onwards.
var badWAVs = map[string]struct {
	file []byte
	want string // part of the message
	kind error
}{
	"empty":                  {[]byte{}, "not a WAV", &fault.FormatError{}},
	"11 bytes":               {[]byte("RIFF1234WAV"), "not a WAV", &fault.FormatError{}},
	"text":                   {[]byte("10 6.1 20\n20 7.2 30\n"), "not a WAV", &fault.FormatError{}},
	"AVI":                    {append([]byte("RIFF\x24\x00\x00\x00AVI "), testfiles.WavFile("RIFF", fmt16, testfiles.Chunk("data", -1, data16))[12:]...), `"AVI "`, &fault.UnsupportedError{}},
	"RIFX":                   {testfiles.WavFile("RIFX", fmt16, testfiles.Chunk("data", -1, data16)), "big-endian", &fault.UnsupportedError{}},
	"A-law":                  {testfiles.WavFile("RIFF", testfiles.FmtChunk(tagALaw, 2, 48000, 2, 8), testfiles.Chunk("data", -1, data8)), "A-law", &fault.UnsupportedError{}},
	"mu-law":                 {testfiles.WavFile("RIFF", testfiles.FmtChunk(tagMuLaw, 2, 48000, 2, 8), testfiles.Chunk("data", -1, data8)), "mu-law", &fault.UnsupportedError{}},
	"extensible A-law":       {testfiles.WavFile("RIFF", testfiles.Extensible(tagALaw, 1, 8), testfiles.Chunk("data", -1, data8)), "A-law", &fault.UnsupportedError{}},
	"ADPCM":                  {testfiles.WavFile("RIFF", testfiles.FmtChunk(2, 2, 48000, 2, 4), testfiles.Chunk("data", -1, data8)), "0x2", &fault.UnsupportedError{}},
	"foreign GUID":           {testfiles.WavFile("RIFF", append(testfiles.Extensible(TagPCM, 2, 16)[:47], 0x99), testfiles.Chunk("data", -1, data16)), "samples of the kind", &fault.UnsupportedError{}},
	"extensible, short":      {testfiles.WavFile("RIFF", testfiles.Chunk("fmt ", -1, testfiles.FmtBody(0xfffe, 2, 48000, 4, 16)), testfiles.Chunk("data", -1, data16)), "40 are needed", &fault.FormatError{}},
	"fmt of 14 bytes":        {testfiles.WavFile("RIFF", testfiles.Chunk("fmt ", -1, make([]byte, 14)), testfiles.Chunk("data", -1, data16)), "14 bytes", &fault.FormatError{}},
	"no fmt":                 {testfiles.WavFile("RIFF", testfiles.Chunk("data", -1, data16)), "no format chunk", &fault.FormatError{}},
	"no data":                {testfiles.WavFile("RIFF", fmt16), "no data chunk", &fault.FormatError{}},
	"empty data":             {testfiles.WavFile("RIFF", fmt16, testfiles.Chunk("data", -1, nil), testfiles.Chunk("LIST", -1, make([]byte, 40))), "no samples", &fault.FormatError{}},
	"nothing after header":   {testfiles.SizedWAV("RIFF", 36, fmt16, testfiles.Chunk("data", 0, nil)), "no samples", &fault.FormatError{}},
	"less than one frame":    {testfiles.WavFile("RIFF", fmt16, testfiles.Chunk("data", -1, []byte{1, 2, 3})), "no samples", &fault.FormatError{}},
	"one channel":            {testfiles.WavFile("RIFF", testfiles.FmtChunk(TagPCM, 1, 48000, 2, 16), testfiles.Chunk("data", -1, data16)), "one channel", &fault.UnsupportedError{}},
	"three channels":         {testfiles.WavFile("RIFF", testfiles.FmtChunk(TagPCM, 3, 48000, 6, 16), testfiles.Chunk("data", -1, data24)), "3 channels", &fault.UnsupportedError{}},
	"no channels":            {testfiles.WavFile("RIFF", testfiles.FmtChunk(TagPCM, 0, 48000, 4, 16), testfiles.Chunk("data", -1, data16)), "no channels", &fault.FormatError{}},
	"65535 channels":         {testfiles.WavFile("RIFF", testfiles.FmtChunk(TagPCM, 65535, 48000, 65535, 8), testfiles.Chunk("data", -1, data16)), "65535 channels", &fault.UnsupportedError{}},
	"rate 0":                 {testfiles.WavFile("RIFF", testfiles.FmtChunk(TagPCM, 2, 0, 4, 16), testfiles.Chunk("data", -1, data16)), "0 Hz", &fault.FormatError{}},
	"rate 4294967295":        {testfiles.WavFile("RIFF", testfiles.FmtChunk(TagPCM, 2, 4294967295, 4, 16), testfiles.Chunk("data", -1, data16)), "4294967295 Hz", &fault.FormatError{}},
	"block align 0":          {testfiles.WavFile("RIFF", testfiles.FmtChunk(TagPCM, 2, 48000, 0, 16), testfiles.Chunk("data", -1, data16)), "0 bytes a frame", &fault.FormatError{}},
	"block align 5":          {testfiles.WavFile("RIFF", testfiles.FmtChunk(TagPCM, 2, 48000, 5, 16), testfiles.Chunk("data", -1, data16)), "5 bytes a frame", &fault.FormatError{}},
	"16 bits in 1 byte":      {testfiles.WavFile("RIFF", testfiles.FmtChunk(TagPCM, 2, 48000, 2, 16), testfiles.Chunk("data", -1, data16)), "16-bit PCM samples in 1 bytes", &fault.FormatError{}},
	"4 bits":                 {testfiles.WavFile("RIFF", testfiles.FmtChunk(TagPCM, 2, 48000, 2, 4), testfiles.Chunk("data", -1, data16)), "4-bit PCM", &fault.FormatError{}},
	"PCM 64":                 {testfiles.WavFile("RIFF", testfiles.FmtChunk(TagPCM, 2, 48000, 16, 64), testfiles.Chunk("data", -1, dataF8)), "64-bit PCM", &fault.FormatError{}},
	"float 16":               {testfiles.WavFile("RIFF", testfiles.FmtChunk(tagFloat, 2, 48000, 4, 16), testfiles.Chunk("data", -1, data16)), "16-bit float", &fault.FormatError{}},
	"float 32 in 8 bytes":    {testfiles.WavFile("RIFF", testfiles.FmtChunk(tagFloat, 2, 48000, 16, 32), testfiles.Chunk("data", -1, dataF8)), "32-bit float samples in 8 bytes", &fault.FormatError{}},
	"fmt of 2 GB":            {testfiles.WavFile("RIFF", testfiles.Chunk("fmt ", 0x7FFFFFF0, testfiles.FmtBody(TagPCM, 2, 48000, 4, 16)), testfiles.Chunk("data", -1, data16)), "2147483632 bytes", &fault.FormatError{}},
	"fmt of 4 GB":            {testfiles.WavFile("RIFF", testfiles.Chunk("fmt ", 0xFFFFFFF0, testfiles.FmtBody(TagPCM, 2, 48000, 4, 16)), testfiles.Chunk("data", -1, data16)), "4294967280 bytes", &fault.FormatError{}},
	"LIST of 4 GB":           {testfiles.WavFile("RIFF", fmt16, testfiles.Chunk("LIST", 0xFFFFFFF0, make([]byte, 6000)), testfiles.Chunk("data", -1, data16)), "no data chunk", &fault.FormatError{}},
	"smpl of 4 GB":           {testfiles.WavFile("RIFF", testfiles.Chunk("smpl", 0xFFFFFFFF, make([]byte, 60)), fmt16, testfiles.Chunk("data", -1, data16)), "no format chunk", &fault.FormatError{}},
	"a hundred thousand":     {testfiles.WavFile("RIFF", bytes.Repeat(testfiles.Chunk("JUNK", -1, nil), 100_000), fmt16, testfiles.Chunk("data", -1, data16)), "more than", &fault.FormatError{}},
	"cut after the data tag": {testfiles.WavFile("RIFF", fmt16, []byte("data")), "no data chunk", &fault.FormatError{}},
}

func TestReadWAVRefuses(t *testing.T) {
	for name, c := range badWAVs {
		t.Run(name, func(t *testing.T) {
			rec, err := ReadWAV(bytes.NewReader(c.file), int64(len(c.file)), "x.wav")
			if rec != nil || err == nil {
				t.Fatalf("got %v, %v, want an error and nothing else", rec, err)
			}
			testfiles.CheckError(t, err, c.kind, c.want)
		})
	}
}

// A damaged header must not cost memory. Every file of the tables above is far
// below a megabyte, whatever it claims.
func TestWAVMemoryIsBounded(t *testing.T) {
	const bound = 1 << 20
	for name, file := range allWAVs() {
		if got := testfiles.Allocated(func() { readAll(file) }); got > bound {
			t.Errorf("%s: %d bytes were allocated for a file of %d", name, got, len(file))
		}
	}
}

func allWAVs() map[string][]byte {
	all := map[string][]byte{}
	for name, c := range goodWAVs {
		all[name] = c.file
	}
	for name, c := range badWAVs {
		all[name] = c.file
	}
	return all
}

// readAll reads a WAV file and all of its samples.
func readAll(file []byte) {
	rec, err := ReadWAV(bytes.NewReader(file), int64(len(file)), "x.wav")
	if err != nil {
		return
	}
	n := min(rec.Frames, 1000)
	_ = rec.Read(make([]float64, n), make([]float64, n), 0)
}

func TestReadWAVBeyond4GB(t *testing.T) {
	const data = 6 << 30
	head := testfiles.SizedWAV("RF64", 0xFFFFFFFF, testfiles.Ds64(data), testfiles.FmtChunk(TagPCM, 2, 96000, 6, 24), testfiles.Chunk("data", 0xFFFFFFFF, nil))
	src := testfiles.Sparse{Head: head, Size: int64(len(head)) + data}
	rec, err := ReadWAV(src, src.Size, "long.wav")
	if err != nil {
		t.Fatal(err)
	}
	if rec.Frames != data/6 || len(rec.Warnings) != 0 {
		t.Fatalf("%d frames and warnings %v, want %d and none", rec.Frames, rec.Warnings, data/6)
	}
	buf := make([]float64, 100_000)
	used := testfiles.Allocated(func() {
		if err := rec.Read(buf, buf, rec.Frames-len(buf)); err != nil {
			t.Fatal(err)
		}
	})
	if used > 1<<20 {
		t.Errorf("reading the end took %d bytes", used)
	}
}

func TestReadWAVFloatNotFinite(t *testing.T) {
	for _, bad := range []float32{float32(math.NaN()), float32(math.Inf(1)), float32(math.Inf(-1))} {
		data := bytes.Clone(dataF4)
		binary.LittleEndian.PutUint32(data[12:], math.Float32bits(bad))
		file := testfiles.WavFile("RIFF", testfiles.FmtChunk(tagFloat, 2, 48000, 8, 32), testfiles.Chunk("data", -1, data))
		rec, err := ReadWAV(bytes.NewReader(file), int64(len(file)), "x.wav")
		if err != nil {
			t.Fatal(err)
		}
		err = rec.Read(make([]float64, 2), make([]float64, 2), 0)
		if err == nil {
			t.Fatalf("a sample of %v was accepted", bad)
		}
		testfiles.CheckError(t, err, &fault.FormatError{}, "sample 2 is not a finite number")
	}
}

func TestReadWAVDiskError(t *testing.T) {
	file := goodWAVs["PCM 16"].file
	for after := range int64(len(file)) {
		rec, err := ReadWAV(testfiles.Failing{Data: file, After: after}, int64(len(file)), "x.wav")
		if err == nil {
			err = rec.Read(make([]float64, 2), make([]float64, 2), 0)
		}
		if !errors.Is(err, testfiles.ErrDisk) {
			t.Fatalf("disk failing after %d bytes: got %v", after, err)
		}
		testfiles.CheckError(t, err, &fault.FormatError{}, "disk on fire")
	}
}

// The decoder of go-audio/wav is another hand's reading of the format. Wherever
// it can be trusted, every sample agrees.
func TestReadWAVAgreesWithGoAudio(t *testing.T) {
	compared := 0
	for name, c := range goodWAVs {
		w, err := walkWAV(bytes.NewReader(c.file), int64(len(c.file)), "x.wav")
		if err != nil {
			t.Fatal(err)
		}
		form, err := parseWAVFormat(w.format, "x.wav")
		if err != nil {
			t.Fatal(err)
		}
		if form.float {
			continue
		}
		compared++
		data := c.file[w.dataStart : w.dataStart+w.dataSize/int64(form.blockAlign)*int64(form.blockAlign)]
		ch1, ch2 := goAudio(t, form, data)
		t.Run(name, func(t *testing.T) {
			rec, err := ReadWAV(bytes.NewReader(c.file), int64(len(c.file)), "x.wav")
			if err != nil {
				t.Fatal(err)
			}
			testfiles.CheckFrames(t, rec, ch1, ch2)
		})
	}
	if compared < 20 {
		t.Errorf("only %d files were compared", compared)
	}
}

// goAudio decodes frames of PCM with go-audio/wav.
func goAudio(t *testing.T, form wavFormat, data []byte) (ch1, ch2 []float64) {
	t.Helper()
	file := testfiles.WavFile("RIFF", testfiles.FmtChunk(TagPCM, 2, form.rate, form.blockAlign, 8*form.bytes), testfiles.Chunk("data", -1, data))
	d := wav.NewDecoder(testfiles.Canonical{Reader: bytes.NewReader(file)})
	buf := audio.IntBuffer{Data: make([]int, len(data)/form.bytes)}
	n, err := d.PCMBuffer(&buf)
	if err != nil || n != len(buf.Data) {
		t.Fatalf("go-audio decoded %d of %d values: %v", n, len(buf.Data), err)
	}
	for i, v := range buf.Data {
		x := float64(v)
		if form.bytes == 1 {
			x -= 128
		}
		x /= math.Exp2(float64(8*form.bytes - 1))
		if i%2 == 0 {
			ch1 = append(ch1, x)
		} else {
			ch2 = append(ch2, x)
		}
	}
	return ch1, ch2
}

func TestWriteWAVRefuses(t *testing.T) {
	one := []float64{0.5}
	for name, c := range map[string]struct {
		ch1, ch2 []float64
		rate     int
		want     string
	}{
		"empty":         {nil, nil, 48000, "0 and 0 samples"},
		"lengths":       {one, []float64{1, 0}, 48000, "1 and 2 samples"},
		"rate 0":        {one, one, 0, "0 Hz"},
		"rate 2e9":      {one, one, 2_000_000_000, "2000000000 Hz"},
		"beyond scale":  {one, []float64{1.0001}, 48000, "sample 1 of channel 2 is 1.0001"},
		"below scale":   {[]float64{-1.0001}, one, 48000, "sample 1 of channel 1 is -1.0001"},
		"not a number":  {[]float64{math.NaN()}, one, 48000, "NaN"},
		"infinite":      {one, []float64{math.Inf(1)}, 48000, "+Inf"},
		"rate too high": {one, one, maxWAVRate + 1, "2000001 Hz"},
	} {
		if c.ch2 == nil {
			c.ch2 = c.ch1
		}
		path := filepath.Join(t.TempDir(), "x.wav")
		err := WriteWAVFile(path, c.ch1, c.ch2, c.rate, false)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want an error about %q", name, err, c.want)
		}
		if left, _ := os.ReadDir(filepath.Dir(path)); len(left) != 0 {
			t.Errorf("%s: %v was left behind", name, left)
		}
	}
}

func TestWriteWAVSize(t *testing.T) {
	const most = (1<<32 - 1 - 44 + 8) / 6 // the RIFF size counts all but the first 8 bytes
	if err := checkWAVSize(most, 48000); err != nil {
		t.Error(err)
	}
	if err := checkWAVSize(most+1, 48000); err == nil || !strings.Contains(err.Error(), "do not fit") {
		t.Errorf("a file beyond 4 GiB: got %v", err)
	}
}

func TestWriteWAVFileKeepsWhatIsThere(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.wav")
	if err := os.WriteFile(path, []byte("precious"), 0o600); err != nil {
		t.Fatal(err)
	}
	one := []float64{0.5}
	err := WriteWAVFile(path, one, one, 48000, false)
	if !errors.Is(err, fs.ErrExist) {
		t.Errorf("got %v, want an error that the file exists", err)
	}
	if got, _ := os.ReadFile(path); string(got) != "precious" {
		t.Errorf("the file now holds %q", got)
	}
	if err := WriteWAVFile(path, []float64{2}, one, 48000, true); err == nil {
		t.Error("a sample beyond full scale was written")
	}
	if got, _ := os.ReadFile(path); string(got) != "precious" {
		t.Errorf("after a failed overwrite the file holds %q", got)
	}
	if err := WriteWAVFile(path, one, one, 48000, true); err != nil {
		t.Error(err)
	}
	if got, _ := os.ReadFile(path); len(got) != 50 {
		t.Errorf("the file has %d bytes, want 50", len(got))
	}
	if left, _ := os.ReadDir(filepath.Dir(path)); len(left) != 1 {
		t.Errorf("%v lie in the folder", left)
	}
}

// The encoder would reserve a minute of audio, 35 MB here.
func TestWriteWAVMemoryIsBounded(t *testing.T) {
	f, err := os.Create(filepath.Join(t.TempDir(), "x.wav"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	ch := make([]float64, 100)
	if got := testfiles.Allocated(func() { err = WriteWAV(f, ch, ch, 96000) }); err != nil || got > 4<<20 {
		t.Errorf("%d bytes were allocated, error %v", got, err)
	}
}
