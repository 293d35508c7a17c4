package wav

import (
	"bytes"
	"encoding/binary"
	"errors"
	"math"
	"os"
	"path/filepath"
	"testing"

	"conewright/sweeps/internal/testfiles"
	"conewright/ts/notice"

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

	fmt16 = testfiles.FmtChunk(tagPCM, 2, 48000, 4, 16)
)

// goodWAVs hold the two frames above in every format and wrapping that has to
// be read, with the codes of the warnings that come with them.
var goodWAVs = map[string]struct {
	file []byte
	warn string
}{
	"PCM 8":                     {file: testfiles.WavFile("RIFF", testfiles.FmtChunk(tagPCM, 2, 48000, 2, 8), testfiles.Chunk("data", -1, data8))},
	"PCM 16":                    {file: testfiles.WavFile("RIFF", fmt16, testfiles.Chunk("data", -1, data16))},
	"PCM 24":                    {file: testfiles.WavFile("RIFF", testfiles.FmtChunk(tagPCM, 2, 48000, 6, 24), testfiles.Chunk("data", -1, data24))},
	"PCM 32":                    {file: testfiles.WavFile("RIFF", testfiles.FmtChunk(tagPCM, 2, 48000, 8, 32), testfiles.Chunk("data", -1, data32))},
	"float 32":                  {file: testfiles.WavFile("RIFF", testfiles.FmtChunk(tagFloat, 2, 48000, 8, 32), testfiles.Chunk("data", -1, dataF4))},
	"float 64":                  {file: testfiles.WavFile("RIFF", testfiles.FmtChunk(tagFloat, 2, 48000, 16, 64), testfiles.Chunk("data", -1, dataF8))},
	"float 32 with fact":        {file: testfiles.WavFile("RIFF", testfiles.Chunk("fmt ", -1, append(testfiles.FmtBody(tagFloat, 2, 48000, 8, 32), 0, 0)), testfiles.Chunk("fact", -1, []byte{2, 0, 0, 0}), testfiles.Chunk("data", -1, dataF4))},
	"extensible 16":             {file: testfiles.WavFile("RIFF", testfiles.Extensible(tagPCM, 2, 16), testfiles.Chunk("data", -1, data16))},
	"extensible 24":             {file: testfiles.WavFile("RIFF", testfiles.Extensible(tagPCM, 3, 24), testfiles.Chunk("data", -1, data24))},
	"extensible 32":             {file: testfiles.WavFile("RIFF", testfiles.Extensible(tagPCM, 4, 32), testfiles.Chunk("data", -1, data32))},
	"extensible 24 in 32":       {file: testfiles.WavFile("RIFF", testfiles.Extensible(tagPCM, 4, 24), testfiles.Chunk("data", -1, data32))},
	"extensible float 32":       {file: testfiles.WavFile("RIFF", testfiles.Extensible(tagFloat, 4, 32), testfiles.Chunk("data", -1, dataF4))},
	"extensible float 64":       {file: testfiles.WavFile("RIFF", testfiles.Extensible(tagFloat, 8, 64), testfiles.Chunk("data", -1, dataF8))},
	"plain 24 in 32":            {file: testfiles.WavFile("RIFF", testfiles.FmtChunk(tagPCM, 2, 48000, 8, 24), testfiles.Chunk("data", -1, data32))},
	"plain 12 in 16":            {file: testfiles.WavFile("RIFF", testfiles.FmtChunk(tagPCM, 2, 48000, 4, 12), testfiles.Chunk("data", -1, data16))},
	"plain 20 in 24":            {file: testfiles.WavFile("RIFF", testfiles.FmtChunk(tagPCM, 2, 48000, 6, 20), testfiles.Chunk("data", -1, data24))},
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
	"two fmt chunks":            {file: testfiles.WavFile("RIFF", fmt16, testfiles.FmtChunk(tagPCM, 2, 8000, 2, 8), testfiles.Chunk("data", -1, data16))},
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

func TestRead(t *testing.T) {
	for name, c := range goodWAVs {
		t.Run(name, func(t *testing.T) {
			rec, err := Read(bytes.NewReader(c.file), int64(len(c.file)), "x.wav")
			if err != nil {
				t.Fatal(err)
			}
			if rec.Rate != 48000 || rec.Frames != 2 || rec.Source != "x.wav" {
				t.Errorf("%v Hz, %d frames of %q, want 48000, 2 of x.wav", rec.Rate, rec.Frames, rec.Source)
			}
			testfiles.CheckFrames(t, rec, wantCh1, wantCh2)
			if got := testfiles.Codes(rec.Warnings); got != c.warn {
				t.Errorf("warnings %q, want %q", got, c.warn)
			}
		})
	}
}

// badWAVs are files that are refused, with the code and facts of the error.
var badWAVs = map[string]struct {
	file  []byte
	code  string
	facts notice.Facts
}{
	"empty":                  {[]byte{}, "wav-not", nil},
	"11 bytes":               {[]byte("RIFF1234WAV"), "wav-not", nil},
	"text":                   {[]byte("10 6.1 20\n20 7.2 30\n"), "wav-not", nil},
	"AVI":                    {append([]byte("RIFF\x24\x00\x00\x00AVI "), testfiles.WavFile("RIFF", fmt16, testfiles.Chunk("data", -1, data16))[12:]...), "wav-other-riff", notice.Facts{"kind": "AVI "}},
	"RIFX":                   {testfiles.WavFile("RIFX", fmt16, testfiles.Chunk("data", -1, data16)), "wav-big-endian", nil},
	"A-law":                  {testfiles.WavFile("RIFF", testfiles.FmtChunk(6, 2, 48000, 2, 8), testfiles.Chunk("data", -1, data8)), "wav-compressed", notice.Facts{"tag": 6}},
	"mu-law":                 {testfiles.WavFile("RIFF", testfiles.FmtChunk(7, 2, 48000, 2, 8), testfiles.Chunk("data", -1, data8)), "wav-compressed", notice.Facts{"tag": 7}},
	"extensible A-law":       {testfiles.WavFile("RIFF", testfiles.Extensible(6, 1, 8), testfiles.Chunk("data", -1, data8)), "wav-compressed", notice.Facts{"tag": 6}},
	"ADPCM":                  {testfiles.WavFile("RIFF", testfiles.FmtChunk(2, 2, 48000, 2, 4), testfiles.Chunk("data", -1, data8)), "wav-compressed", notice.Facts{"tag": 2}},
	"foreign GUID":           {testfiles.WavFile("RIFF", append(testfiles.Extensible(tagPCM, 2, 16)[:47], 0x99), testfiles.Chunk("data", -1, data16)), "wav-other-samples", nil},
	"extensible, short":      {testfiles.WavFile("RIFF", testfiles.Chunk("fmt ", -1, testfiles.FmtBody(0xfffe, 2, 48000, 4, 16)), testfiles.Chunk("data", -1, data16)), "wav-format-short", notice.Facts{"least": 40}},
	"fmt of 14 bytes":        {testfiles.WavFile("RIFF", testfiles.Chunk("fmt ", -1, make([]byte, 14)), testfiles.Chunk("data", -1, data16)), "wav-format-short", notice.Facts{"bytes": 14, "least": 16}},
	"no fmt":                 {testfiles.WavFile("RIFF", testfiles.Chunk("data", -1, data16)), "wav-no-format", nil},
	"no data":                {testfiles.WavFile("RIFF", fmt16), "wav-no-data", nil},
	"empty data":             {testfiles.WavFile("RIFF", fmt16, testfiles.Chunk("data", -1, nil), testfiles.Chunk("LIST", -1, make([]byte, 40))), "wav-empty", nil},
	"nothing after header":   {testfiles.SizedWAV("RIFF", 36, fmt16, testfiles.Chunk("data", 0, nil)), "wav-empty", nil},
	"less than one frame":    {testfiles.WavFile("RIFF", fmt16, testfiles.Chunk("data", -1, []byte{1, 2, 3})), "wav-empty", nil},
	"one channel":            {testfiles.WavFile("RIFF", testfiles.FmtChunk(tagPCM, 1, 48000, 2, 16), testfiles.Chunk("data", -1, data16)), "wav-mono", nil},
	"three channels":         {testfiles.WavFile("RIFF", testfiles.FmtChunk(tagPCM, 3, 48000, 6, 16), testfiles.Chunk("data", -1, data24)), "wav-many-channels", notice.Facts{"channels": 3}},
	"no channels":            {testfiles.WavFile("RIFF", testfiles.FmtChunk(tagPCM, 0, 48000, 4, 16), testfiles.Chunk("data", -1, data16)), "wav-no-channels", nil},
	"65535 channels":         {testfiles.WavFile("RIFF", testfiles.FmtChunk(tagPCM, 65535, 48000, 65535, 8), testfiles.Chunk("data", -1, data16)), "wav-many-channels", notice.Facts{"channels": 65535}},
	"rate 0":                 {testfiles.WavFile("RIFF", testfiles.FmtChunk(tagPCM, 2, 0, 4, 16), testfiles.Chunk("data", -1, data16)), "wav-rate", notice.Facts{"rate": 0.0}},
	"rate 4294967295":        {testfiles.WavFile("RIFF", testfiles.FmtChunk(tagPCM, 2, 4294967295, 4, 16), testfiles.Chunk("data", -1, data16)), "wav-rate", notice.Facts{"rate": 4294967295.0}},
	"block align 0":          {testfiles.WavFile("RIFF", testfiles.FmtChunk(tagPCM, 2, 48000, 0, 16), testfiles.Chunk("data", -1, data16)), "wav-frame-size", notice.Facts{"bytes": 0, "channels": 2}},
	"block align 5":          {testfiles.WavFile("RIFF", testfiles.FmtChunk(tagPCM, 2, 48000, 5, 16), testfiles.Chunk("data", -1, data16)), "wav-frame-size", notice.Facts{"bytes": 5, "channels": 2}},
	"16 bits in 1 byte":      {testfiles.WavFile("RIFF", testfiles.FmtChunk(tagPCM, 2, 48000, 2, 16), testfiles.Chunk("data", -1, data16)), "wav-sample-size", notice.Facts{"bits": 16, "kind": "PCM", "bytes": 1}},
	"4 bits":                 {testfiles.WavFile("RIFF", testfiles.FmtChunk(tagPCM, 2, 48000, 2, 4), testfiles.Chunk("data", -1, data16)), "wav-sample-size", notice.Facts{"bits": 4}},
	"PCM 64":                 {testfiles.WavFile("RIFF", testfiles.FmtChunk(tagPCM, 2, 48000, 16, 64), testfiles.Chunk("data", -1, dataF8)), "wav-sample-size", notice.Facts{"bits": 64}},
	"float 16":               {testfiles.WavFile("RIFF", testfiles.FmtChunk(tagFloat, 2, 48000, 4, 16), testfiles.Chunk("data", -1, data16)), "wav-sample-size", notice.Facts{"bits": 16, "kind": "float"}},
	"float 32 in 8 bytes":    {testfiles.WavFile("RIFF", testfiles.FmtChunk(tagFloat, 2, 48000, 16, 32), testfiles.Chunk("data", -1, dataF8)), "wav-sample-size", notice.Facts{"bits": 32, "kind": "float", "bytes": 8}},
	"fmt of 2 GB":            {testfiles.WavFile("RIFF", testfiles.Chunk("fmt ", 0x7FFFFFF0, testfiles.FmtBody(tagPCM, 2, 48000, 4, 16)), testfiles.Chunk("data", -1, data16)), "wav-format-cut", notice.Facts{"claimed": 2147483632.0}},
	"fmt of 4 GB":            {testfiles.WavFile("RIFF", testfiles.Chunk("fmt ", 0xFFFFFFF0, testfiles.FmtBody(tagPCM, 2, 48000, 4, 16)), testfiles.Chunk("data", -1, data16)), "wav-format-cut", notice.Facts{"claimed": 4294967280.0}},
	"LIST of 4 GB":           {testfiles.WavFile("RIFF", fmt16, testfiles.Chunk("LIST", 0xFFFFFFF0, make([]byte, 6000)), testfiles.Chunk("data", -1, data16)), "wav-no-data", nil},
	"smpl of 4 GB":           {testfiles.WavFile("RIFF", testfiles.Chunk("smpl", 0xFFFFFFFF, make([]byte, 60)), fmt16, testfiles.Chunk("data", -1, data16)), "wav-no-format", nil},
	"a hundred thousand":     {testfiles.WavFile("RIFF", bytes.Repeat(testfiles.Chunk("JUNK", -1, nil), 100_000), fmt16, testfiles.Chunk("data", -1, data16)), "wav-chunks", notice.Facts{"most": maxChunks}},
	"cut after the data tag": {testfiles.WavFile("RIFF", fmt16, []byte("data")), "wav-no-data", nil},
}

func TestReadRefuses(t *testing.T) {
	for name, c := range badWAVs {
		t.Run(name, func(t *testing.T) {
			rec, err := Read(bytes.NewReader(c.file), int64(len(c.file)), "x.wav")
			if rec != nil || err == nil {
				t.Fatalf("got %v, %v, want an error and nothing else", rec, err)
			}
			testfiles.CheckError(t, err, c.code, 0, c.facts)
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
	rec, err := Read(bytes.NewReader(file), int64(len(file)), "x.wav")
	if err != nil {
		return
	}
	n := min(rec.Frames, 1000)
	_ = rec.Read(make([]float64, n), make([]float64, n), 0)
}

func TestReadBeyond4GB(t *testing.T) {
	const data = 6 << 30
	head := testfiles.SizedWAV("RF64", 0xFFFFFFFF, testfiles.Ds64(data), testfiles.FmtChunk(tagPCM, 2, 96000, 6, 24), testfiles.Chunk("data", 0xFFFFFFFF, nil))
	src := testfiles.Sparse{Head: head, Size: int64(len(head)) + data}
	rec, err := Read(src, src.Size, "long.wav")
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

func TestReadFloatNotFinite(t *testing.T) {
	for _, bad := range []float32{float32(math.NaN()), float32(math.Inf(1)), float32(math.Inf(-1)), 1e30} {
		data := bytes.Clone(dataF4)
		binary.LittleEndian.PutUint32(data[12:], math.Float32bits(bad))
		file := testfiles.WavFile("RIFF", testfiles.FmtChunk(tagFloat, 2, 48000, 8, 32), testfiles.Chunk("data", -1, data))
		rec, err := Read(bytes.NewReader(file), int64(len(file)), "x.wav")
		if err != nil {
			t.Fatal(err)
		}
		err = rec.Read(make([]float64, 2), make([]float64, 2), 0)
		if err == nil {
			t.Fatalf("a sample of %v was accepted", bad)
		}
		testfiles.CheckError(t, err, "bad-sample", 0, notice.Facts{"sample": 2})
	}
}

func TestReadDiskError(t *testing.T) {
	file := goodWAVs["PCM 16"].file
	for after := range int64(len(file)) {
		rec, err := Read(testfiles.Failing{Data: file, After: after}, int64(len(file)), "x.wav")
		if err == nil {
			err = rec.Read(make([]float64, 2), make([]float64, 2), 0)
		}
		if !errors.Is(err, testfiles.ErrDisk) {
			t.Fatalf("disk failing after %d bytes: got %v", after, err)
		}
		testfiles.CheckError(t, err, "read-failed", 0, nil)
	}
}

// The decoder of go-audio/wav is another hand's reading of the format. Wherever
// it can be trusted, every sample agrees.
func TestReadAgreesWithGoAudio(t *testing.T) {
	compared := 0
	for name, c := range goodWAVs {
		w, err := walk(bytes.NewReader(c.file), int64(len(c.file)), "x.wav")
		if err != nil {
			t.Fatal(err)
		}
		form, err := parseFormat(w.format, "x.wav")
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
			rec, err := Read(bytes.NewReader(c.file), int64(len(c.file)), "x.wav")
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
func goAudio(t *testing.T, form format, data []byte) (ch1, ch2 []float64) {
	t.Helper()
	file := testfiles.WavFile("RIFF", testfiles.FmtChunk(tagPCM, 2, form.rate, form.blockAlign, 8*form.bytes), testfiles.Chunk("data", -1, data))
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

func TestWriteRefuses(t *testing.T) {
	one := []float64{0.5}
	for name, c := range map[string]struct {
		ch1, ch2 []float64
		rate     int
		code     string
		facts    notice.Facts
	}{
		"empty":         {nil, nil, 48000, "recording-lengths", notice.Facts{"channel-1": 0}},
		"lengths":       {one, []float64{1, 0}, 48000, "recording-lengths", notice.Facts{"channel-1": 1, "channel-2": 2}},
		"rate 0":        {one, one, 0, "wav-write-rate", notice.Facts{"rate": 0}},
		"rate 2e9":      {one, one, 2_000_000_000, "wav-write-rate", notice.Facts{"rate": 2_000_000_000}},
		"beyond scale":  {one, []float64{1.0001}, 48000, "wav-write-clipped", notice.Facts{"sample": 1, "channel": 2, "value": 1.0001}},
		"below scale":   {[]float64{-1.0001}, one, 48000, "wav-write-clipped", notice.Facts{"sample": 1, "channel": 1, "value": -1.0001}},
		"not a number":  {[]float64{math.NaN()}, one, 48000, "wav-write-clipped", nil},
		"infinite":      {one, []float64{math.Inf(1)}, 48000, "wav-write-clipped", notice.Facts{"value": math.Inf(1)}},
		"rate too high": {one, one, maxRate + 1, "wav-write-rate", nil},
	} {
		if c.ch2 == nil {
			c.ch2 = c.ch1
		}
		var file testfiles.MemoryFile
		n := testfiles.CheckNotice(t, Write(&file, c.ch1, c.ch2, c.rate))
		if n.Code != c.code || file.Len() > 0 {
			t.Errorf("%s: %v, and %d bytes were written", name, n, file.Len())
		}
		for fact, want := range c.facts {
			if n.Facts[fact] != want {
				t.Errorf("%s: %v, want %s %v", name, n, fact, want)
			}
		}
	}
}

func TestWriteSize(t *testing.T) {
	const most = (1<<32 - 1 - 44 + 8) / 6 // the RIFF size counts all but the first 8 bytes
	if err := checkSize(most, 48000); err != nil {
		t.Error(err)
	}
	if n := testfiles.CheckNotice(t, checkSize(most+1, 48000)); n.Code != "wav-write-long" {
		t.Errorf("a file beyond 4 GiB: %v", n)
	}
}

// The encoder would reserve a minute of audio, 35 MB here.
func TestWriteMemoryIsBounded(t *testing.T) {
	f, err := os.Create(filepath.Join(t.TempDir(), "x.wav"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	ch := make([]float64, 100)
	if got := testfiles.Allocated(func() { err = Write(f, ch, ch, 96000) }); err != nil || got > 4<<20 {
		t.Errorf("%d bytes were allocated, error %v", got, err)
	}
}
