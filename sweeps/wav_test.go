package sweeps

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/go-audio/audio"
	"github.com/go-audio/wav"

	"conewright/ts"
)

// chunk is one chunk of a hand-made WAV file. Size -1 stands for the true one.
func chunk(id string, size int64, body []byte) []byte {
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

// wavFile wraps chunks in a RIFF header with the true size.
func wavFile(form string, chunks ...[]byte) []byte {
	body := bytes.Join(chunks, nil)
	return sizedWAV(form, uint32(len(body)+4), body)
}

func sizedWAV(form string, size uint32, chunks ...[]byte) []byte {
	out := append([]byte(form), 0, 0, 0, 0, 'W', 'A', 'V', 'E')
	binary.LittleEndian.PutUint32(out[4:], size)
	return append(out, bytes.Join(chunks, nil)...)
}

// fmtChunk is a plain format chunk.
func fmtChunk(tag, channels int, rate uint32, blockAlign, bits int) []byte {
	return chunk("fmt ", -1, fmtBody(tag, channels, rate, blockAlign, bits))
}

func fmtBody(tag, channels int, rate uint32, blockAlign, bits int) []byte {
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

// extensible is an extensible format chunk for two channels at 48 kHz.
func extensible(tag, bytesEach, valid int) []byte {
	b := fmtBody(tagExtensible, 2, 48000, 2*bytesEach, 8*bytesEach)
	b = append(b, 22, 0, byte(valid), 0, 3, 0, 0, 0, byte(tag), 0)
	return chunk("fmt ", -1, append(b, "\x00\x00\x00\x00\x10\x00\x80\x00\x00\xaa\x00\x38\x9b\x71"...))
}

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

	fmt16 = fmtChunk(tagPCM, 2, 48000, 4, 16)
)

func ds64(dataSize uint64) []byte {
	b := make([]byte, 28)
	binary.LittleEndian.PutUint64(b, dataSize+1000)
	binary.LittleEndian.PutUint64(b[8:], dataSize)
	return chunk("ds64", -1, b)
}

// goodWAVs hold the two frames above in every format and wrapping that has to
// be read, with the codes of the warnings that come with them.
var goodWAVs = map[string]struct {
	file []byte
	warn string
}{
	"PCM 8":                     {file: wavFile("RIFF", fmtChunk(tagPCM, 2, 48000, 2, 8), chunk("data", -1, data8))},
	"PCM 16":                    {file: wavFile("RIFF", fmt16, chunk("data", -1, data16))},
	"PCM 24":                    {file: wavFile("RIFF", fmtChunk(tagPCM, 2, 48000, 6, 24), chunk("data", -1, data24))},
	"PCM 32":                    {file: wavFile("RIFF", fmtChunk(tagPCM, 2, 48000, 8, 32), chunk("data", -1, data32))},
	"float 32":                  {file: wavFile("RIFF", fmtChunk(tagFloat, 2, 48000, 8, 32), chunk("data", -1, dataF4))},
	"float 64":                  {file: wavFile("RIFF", fmtChunk(tagFloat, 2, 48000, 16, 64), chunk("data", -1, dataF8))},
	"float 32 with fact":        {file: wavFile("RIFF", chunk("fmt ", -1, append(fmtBody(tagFloat, 2, 48000, 8, 32), 0, 0)), chunk("fact", -1, []byte{2, 0, 0, 0}), chunk("data", -1, dataF4))},
	"extensible 16":             {file: wavFile("RIFF", extensible(tagPCM, 2, 16), chunk("data", -1, data16))},
	"extensible 24":             {file: wavFile("RIFF", extensible(tagPCM, 3, 24), chunk("data", -1, data24))},
	"extensible 32":             {file: wavFile("RIFF", extensible(tagPCM, 4, 32), chunk("data", -1, data32))},
	"extensible 24 in 32":       {file: wavFile("RIFF", extensible(tagPCM, 4, 24), chunk("data", -1, data32))},
	"extensible float 32":       {file: wavFile("RIFF", extensible(tagFloat, 4, 32), chunk("data", -1, dataF4))},
	"extensible float 64":       {file: wavFile("RIFF", extensible(tagFloat, 8, 64), chunk("data", -1, dataF8))},
	"plain 24 in 32":            {file: wavFile("RIFF", fmtChunk(tagPCM, 2, 48000, 8, 24), chunk("data", -1, data32))},
	"plain 12 in 16":            {file: wavFile("RIFF", fmtChunk(tagPCM, 2, 48000, 4, 12), chunk("data", -1, data16))},
	"plain 20 in 24":            {file: wavFile("RIFF", fmtChunk(tagPCM, 2, 48000, 6, 20), chunk("data", -1, data24))},
	"RF64":                      {file: sizedWAV("RF64", 0xFFFFFFFF, ds64(8), fmt16, chunk("data", 0xFFFFFFFF, data16))},
	"BW64":                      {file: sizedWAV("BW64", 0xFFFFFFFF, ds64(8), fmt16, chunk("data", 0xFFFFFFFF, data16))},
	"RF64, size in 32 bits":     {file: sizedWAV("RF64", 0xFFFFFFFF, ds64(99), fmt16, chunk("data", -1, data16))},
	"RF64, ds64 never finished": {file: sizedWAV("RF64", 0xFFFFFFFF, ds64(0), fmt16, chunk("data", 0xFFFFFFFF, data16)), warn: "wav-unfinished"},
	"RF64 without ds64":         {file: sizedWAV("RF64", 0xFFFFFFFF, fmt16, chunk("data", 0xFFFFFFFF, data16)), warn: "wav-unfinished"},
	"RF64, ds64 beyond 2^63":    {file: sizedWAV("RF64", 0xFFFFFFFF, ds64(1<<63+5), fmt16, chunk("data", 0xFFFFFFFF, data16)), warn: "wav-unfinished"},
	"chunks before fmt":         {file: wavFile("RIFF", chunk("LIST", -1, []byte("INFOIART\x02\x00\x00\x00me")), chunk("bext", -1, make([]byte, 602)), chunk("JUNK", -1, make([]byte, 28)), fmt16, chunk("data", -1, data16))},
	"chunks before data":        {file: wavFile("RIFF", fmt16, chunk("LIST", -1, make([]byte, 26)), chunk("odd ", -1, []byte{1, 2, 3}), chunk("data", -1, data16))},
	"odd chunk without pad":     {file: wavFile("RIFF", fmt16, chunk("odd ", -1, []byte{1, 2, 3})[:11], chunk("data", -1, data16))},
	"fmt after data":            {file: wavFile("RIFF", chunk("data", -1, data16), fmt16)},
	"chunk after data":          {file: wavFile("RIFF", fmt16, chunk("data", -1, data16), chunk("LIST", -1, make([]byte, 26)))},
	"two data chunks":           {file: wavFile("RIFF", fmt16, chunk("data", -1, data16), chunk("data", -1, data16)), warn: "wav-second-data"},
	"two fmt chunks":            {file: wavFile("RIFF", fmt16, fmtChunk(tagPCM, 2, 8000, 2, 8), chunk("data", -1, data16))},
	"data size 0, pipe":         {file: sizedWAV("RIFF", 0, fmt16, chunk("data", 0, data16)), warn: "wav-unfinished"},
	"data size 0, header only":  {file: sizedWAV("RIFF", 36, fmt16, chunk("data", 0, data16)), warn: "wav-unfinished"},
	"data size 0xFFFFFFFF":      {file: sizedWAV("RIFF", 0xFFFFFFFF, fmt16, chunk("data", 0xFFFFFFFF, data16)), warn: "wav-unfinished"},
	"data size 0xFFFFFFFE":      {file: sizedWAV("RIFF", 0xFFFFFFFF, fmt16, chunk("data", 0xFFFFFFFE, data16)), warn: "wav-unfinished"},
	"data size 0x7FFFFFFF":      {file: sizedWAV("RIFF", 0x7FFFFFFF, fmt16, chunk("data", 0x7FFFFFFF, data16)), warn: "wav-unfinished"},
	"data size 0x7FFFF000":      {file: sizedWAV("RIFF", 0x7FFFF024, fmt16, chunk("data", 0x7FFFF000, data16)), warn: "wav-unfinished"},
	"cut between frames":        {file: wavFile("RIFF", fmt16, chunk("data", 400, data16)), warn: "wav-truncated"},
	"cut inside a frame":        {file: wavFile("RIFF", fmt16, chunk("data", 400, append(data16[:len(data16):len(data16)], 1, 2))), warn: "wav-truncated"},
	"partial frame at the end":  {file: wavFile("RIFF", fmt16, chunk("data", -1, append(data16[:len(data16):len(data16)], 1, 2, 3)))},
	"LIST of 4 GB after data":   {file: wavFile("RIFF", fmt16, chunk("data", -1, data16), chunk("LIST", 0xFFFFFFF0, make([]byte, 20)))},
	"INFO parts of 4 GB":        {file: wavFile("RIFF", chunk("LIST", -1, []byte("INFOIART\xff\xff\xff\xf0ICMT\xff\xff\xff\xf0")), fmt16, chunk("data", -1, data16))},
	"garbage after data":        {file: append(wavFile("RIFF", fmt16, chunk("data", -1, data16)), 0xFF, 0xFE, 0xFD)},
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
			checkFrames(t, rec, wantCh1, wantCh2)
			if got := warningCodes(rec.Warnings); got != c.warn {
				t.Errorf("warnings %q, want %q", got, c.warn)
			}
		})
	}
}

// warningCodes joins the codes of warnings; one without text or advice counts as
// broken.
func warningCodes(ws []ts.Warning) string {
	var codes []string
	for _, w := range ws {
		if w.Message == "" || w.Hint == "" {
			w.Code += " (without message or hint)"
		}
		codes = append(codes, w.Code)
	}
	return strings.Join(codes, " ")
}

// checkFrames reads the recording whole and from every frame onwards.
func checkFrames(t *testing.T, rec *Recording, ch1, ch2 []float64) {
	t.Helper()
	if rec.Frames != len(ch1) {
		t.Fatalf("%d frames, want %d", rec.Frames, len(ch1))
	}
	for from := 0; from < len(ch1); from += 1 + len(ch1)/5 {
		a, b := make([]float64, len(ch1)-from), make([]float64, len(ch1)-from)
		if err := rec.Read(a, b, from); err != nil {
			t.Fatal(err)
		}
		for i := range a {
			if a[i] != ch1[from+i] || b[i] != ch2[from+i] {
				t.Fatalf("frame %d is %v, %v, want %v, %v", from+i, a[i], b[i], ch1[from+i], ch2[from+i])
			}
		}
	}
}

var badWAVs = map[string]struct {
	file []byte
	want string // part of the message
	kind error
}{
	"empty":                  {[]byte{}, "not a WAV", &FormatError{}},
	"11 bytes":               {[]byte("RIFF1234WAV"), "not a WAV", &FormatError{}},
	"text":                   {[]byte("10 6.1 20\n20 7.2 30\n"), "not a WAV", &FormatError{}},
	"AVI":                    {append([]byte("RIFF\x24\x00\x00\x00AVI "), wavFile("RIFF", fmt16, chunk("data", -1, data16))[12:]...), `"AVI "`, &UnsupportedError{}},
	"RIFX":                   {wavFile("RIFX", fmt16, chunk("data", -1, data16)), "big-endian", &UnsupportedError{}},
	"A-law":                  {wavFile("RIFF", fmtChunk(tagALaw, 2, 48000, 2, 8), chunk("data", -1, data8)), "A-law", &UnsupportedError{}},
	"mu-law":                 {wavFile("RIFF", fmtChunk(tagMuLaw, 2, 48000, 2, 8), chunk("data", -1, data8)), "mu-law", &UnsupportedError{}},
	"extensible A-law":       {wavFile("RIFF", extensible(tagALaw, 1, 8), chunk("data", -1, data8)), "A-law", &UnsupportedError{}},
	"ADPCM":                  {wavFile("RIFF", fmtChunk(2, 2, 48000, 2, 4), chunk("data", -1, data8)), "0x2", &UnsupportedError{}},
	"foreign GUID":           {wavFile("RIFF", append(extensible(tagPCM, 2, 16)[:47], 0x99), chunk("data", -1, data16)), "samples of the kind", &UnsupportedError{}},
	"extensible, short":      {wavFile("RIFF", chunk("fmt ", -1, fmtBody(tagExtensible, 2, 48000, 4, 16)), chunk("data", -1, data16)), "40 are needed", &FormatError{}},
	"fmt of 14 bytes":        {wavFile("RIFF", chunk("fmt ", -1, make([]byte, 14)), chunk("data", -1, data16)), "14 bytes", &FormatError{}},
	"no fmt":                 {wavFile("RIFF", chunk("data", -1, data16)), "no format chunk", &FormatError{}},
	"no data":                {wavFile("RIFF", fmt16), "no data chunk", &FormatError{}},
	"empty data":             {wavFile("RIFF", fmt16, chunk("data", -1, nil), chunk("LIST", -1, make([]byte, 40))), "no samples", &FormatError{}},
	"nothing after header":   {sizedWAV("RIFF", 36, fmt16, chunk("data", 0, nil)), "no samples", &FormatError{}},
	"less than one frame":    {wavFile("RIFF", fmt16, chunk("data", -1, []byte{1, 2, 3})), "no samples", &FormatError{}},
	"one channel":            {wavFile("RIFF", fmtChunk(tagPCM, 1, 48000, 2, 16), chunk("data", -1, data16)), "one channel", &UnsupportedError{}},
	"three channels":         {wavFile("RIFF", fmtChunk(tagPCM, 3, 48000, 6, 16), chunk("data", -1, data24)), "3 channels", &UnsupportedError{}},
	"no channels":            {wavFile("RIFF", fmtChunk(tagPCM, 0, 48000, 4, 16), chunk("data", -1, data16)), "no channels", &FormatError{}},
	"65535 channels":         {wavFile("RIFF", fmtChunk(tagPCM, 65535, 48000, 65535, 8), chunk("data", -1, data16)), "65535 channels", &UnsupportedError{}},
	"rate 0":                 {wavFile("RIFF", fmtChunk(tagPCM, 2, 0, 4, 16), chunk("data", -1, data16)), "0 Hz", &FormatError{}},
	"rate 4294967295":        {wavFile("RIFF", fmtChunk(tagPCM, 2, 4294967295, 4, 16), chunk("data", -1, data16)), "4294967295 Hz", &FormatError{}},
	"block align 0":          {wavFile("RIFF", fmtChunk(tagPCM, 2, 48000, 0, 16), chunk("data", -1, data16)), "0 bytes a frame", &FormatError{}},
	"block align 5":          {wavFile("RIFF", fmtChunk(tagPCM, 2, 48000, 5, 16), chunk("data", -1, data16)), "5 bytes a frame", &FormatError{}},
	"16 bits in 1 byte":      {wavFile("RIFF", fmtChunk(tagPCM, 2, 48000, 2, 16), chunk("data", -1, data16)), "16-bit PCM samples in 1 bytes", &FormatError{}},
	"4 bits":                 {wavFile("RIFF", fmtChunk(tagPCM, 2, 48000, 2, 4), chunk("data", -1, data16)), "4-bit PCM", &FormatError{}},
	"PCM 64":                 {wavFile("RIFF", fmtChunk(tagPCM, 2, 48000, 16, 64), chunk("data", -1, dataF8)), "64-bit PCM", &FormatError{}},
	"float 16":               {wavFile("RIFF", fmtChunk(tagFloat, 2, 48000, 4, 16), chunk("data", -1, data16)), "16-bit float", &FormatError{}},
	"float 32 in 8 bytes":    {wavFile("RIFF", fmtChunk(tagFloat, 2, 48000, 16, 32), chunk("data", -1, dataF8)), "32-bit float samples in 8 bytes", &FormatError{}},
	"fmt of 2 GB":            {wavFile("RIFF", chunk("fmt ", 0x7FFFFFF0, fmtBody(tagPCM, 2, 48000, 4, 16)), chunk("data", -1, data16)), "2147483632 bytes", &FormatError{}},
	"fmt of 4 GB":            {wavFile("RIFF", chunk("fmt ", 0xFFFFFFF0, fmtBody(tagPCM, 2, 48000, 4, 16)), chunk("data", -1, data16)), "4294967280 bytes", &FormatError{}},
	"LIST of 4 GB":           {wavFile("RIFF", fmt16, chunk("LIST", 0xFFFFFFF0, make([]byte, 6000)), chunk("data", -1, data16)), "no data chunk", &FormatError{}},
	"smpl of 4 GB":           {wavFile("RIFF", chunk("smpl", 0xFFFFFFFF, make([]byte, 60)), fmt16, chunk("data", -1, data16)), "no format chunk", &FormatError{}},
	"a hundred thousand":     {wavFile("RIFF", bytes.Repeat(chunk("JUNK", -1, nil), 100_000), fmt16, chunk("data", -1, data16)), "more than", &FormatError{}},
	"cut after the data tag": {wavFile("RIFF", fmt16, []byte("data")), "no data chunk", &FormatError{}},
}

func TestReadWAVRefuses(t *testing.T) {
	for name, c := range badWAVs {
		t.Run(name, func(t *testing.T) {
			rec, err := ReadWAV(bytes.NewReader(c.file), int64(len(c.file)), "x.wav")
			if rec != nil || err == nil {
				t.Fatalf("got %v, %v, want an error and nothing else", rec, err)
			}
			checkError(t, err, c.kind, c.want)
		})
	}
}

// checkError checks the kind of an error, its text, that it names the file and
// that it gives advice.
func checkError(t *testing.T, err, kind error, want string) {
	t.Helper()
	if got, want := fmt.Sprintf("%T", err), fmt.Sprintf("%T", kind); got != want {
		t.Errorf("%v is a %s, want %s", err, got, want)
	}
	if !strings.HasPrefix(err.Error(), "x.") || !strings.Contains(err.Error(), want) {
		t.Errorf("error %q does not name the file or lacks %q", err, want)
	}
	if h, ok := err.(interface{ Hint() string }); !ok || h.Hint() == "" {
		t.Errorf("error %q gives no advice", err)
	}
}

// A damaged header must not cost memory. Every file of the tables above is far
// below a megabyte, whatever it claims.
func TestWAVMemoryIsBounded(t *testing.T) {
	const bound = 1 << 20
	for name, file := range allWAVs() {
		if got := allocated(func() { readAll(file) }); got > bound {
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

// allocated returns how many bytes f allocates.
func allocated(f func()) uint64 {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	f()
	runtime.ReadMemStats(&after)
	return after.TotalAlloc - before.TotalAlloc
}

// sparse is a file of the given size that holds zeros after its head, as a very
// long recording would.
type sparse struct {
	head []byte
	size int64
}

func (s sparse) ReadAt(p []byte, off int64) (int, error) {
	n := int(min(int64(len(p)), max(s.size-off, 0)))
	clear(p[:n])
	if off < int64(len(s.head)) {
		copy(p[:n], s.head[off:])
	}
	if n < len(p) {
		return n, io.EOF
	}
	return n, nil
}

func TestReadWAVBeyond4GB(t *testing.T) {
	const data = 6 << 30
	head := sizedWAV("RF64", 0xFFFFFFFF, ds64(data), fmtChunk(tagPCM, 2, 96000, 6, 24), chunk("data", 0xFFFFFFFF, nil))
	src := sparse{head, int64(len(head)) + data}
	rec, err := ReadWAV(src, src.size, "long.wav")
	if err != nil {
		t.Fatal(err)
	}
	if rec.Frames != data/6 || len(rec.Warnings) != 0 {
		t.Fatalf("%d frames and warnings %v, want %d and none", rec.Frames, rec.Warnings, data/6)
	}
	buf := make([]float64, 100_000)
	used := allocated(func() {
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
		file := wavFile("RIFF", fmtChunk(tagFloat, 2, 48000, 8, 32), chunk("data", -1, data))
		rec, err := ReadWAV(bytes.NewReader(file), int64(len(file)), "x.wav")
		if err != nil {
			t.Fatal(err)
		}
		err = rec.Read(make([]float64, 2), make([]float64, 2), 0)
		if err == nil {
			t.Fatalf("a sample of %v was accepted", bad)
		}
		checkError(t, err, &FormatError{}, "sample 2 is not a finite number")
	}
}

// failing is a disk that breaks after some bytes.
type failing struct {
	data  []byte
	after int64
}

var errDisk = errors.New("disk on fire")

func (f failing) ReadAt(p []byte, off int64) (int, error) {
	if off+int64(len(p)) > f.after {
		return 0, errDisk
	}
	return copy(p, f.data[off:]), nil
}

func TestReadWAVDiskError(t *testing.T) {
	file := goodWAVs["PCM 16"].file
	for after := range int64(len(file)) {
		rec, err := ReadWAV(failing{file, after}, int64(len(file)), "x.wav")
		if err == nil {
			err = rec.Read(make([]float64, 2), make([]float64, 2), 0)
		}
		if !errors.Is(err, errDisk) {
			t.Fatalf("disk failing after %d bytes: got %v", after, err)
		}
		checkError(t, err, &FormatError{}, "disk on fire")
	}
}

// canonical is a WAV file with the shortest header around the samples of
// another. It is what the go-audio decoder may be given: that decoder believes
// every size in a header and ignores how many bytes a Read returned, so the
// header is fresh and Read always fills its argument.
type canonical struct {
	*bytes.Reader
}

func (c canonical) Read(p []byte) (int, error) {
	n, err := io.ReadFull(c.Reader, p)
	if err == io.ErrUnexpectedEOF {
		err = nil
	}
	return n, err
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
			checkFrames(t, rec, ch1, ch2)
		})
	}
	if compared < 20 {
		t.Errorf("only %d files were compared", compared)
	}
}

// goAudio decodes frames of PCM with go-audio/wav.
func goAudio(t *testing.T, form wavFormat, data []byte) (ch1, ch2 []float64) {
	t.Helper()
	file := wavFile("RIFF", fmtChunk(tagPCM, 2, form.rate, form.blockAlign, 8*form.bytes), chunk("data", -1, data))
	d := wav.NewDecoder(canonical{bytes.NewReader(file)})
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

// The files in testdata/wav were written by sox and ffmpeg from one source.
func TestReadWAVOfCommonPrograms(t *testing.T) {
	checkCommonPrograms(t, filepath.Join("..", "testdata", "wav"))
}

func checkCommonPrograms(t *testing.T, dir string) {
	const frames = 240
	ch1, ch2 := make([]float64, frames), make([]float64, frames)
	for i := range frames {
		ch1[i] = float64(int16(37*i*i-20000*(i%3))) / 32768
		ch2[i] = float64(int16(12345*i+7)) / 32768
	}
	files := map[string]string{
		"source.wav": "", "sox-16.wav": "", "sox-24-extensible.wav": "", "sox-24-plain.wav": "", "sox-32-extensible.wav": "",
		"sox-f32.wav": "", "sox-f64.wav": "", "sox-16-pipe.wav": "wav-unfinished",
		"ffmpeg-16.wav": "", "ffmpeg-16-bext.wav": "", "ffmpeg-24-extensible.wav": "", "ffmpeg-24-rf64.wav": "",
		"ffmpeg-24-pipe.wav": "wav-unfinished", "ffmpeg-32-extensible.wav": "", "ffmpeg-f32.wav": "", "ffmpeg-f64.wav": "",
	}
	for name, warn := range files {
		rec, closer, err := OpenRecording(filepath.Join(dir, name))
		if err != nil {
			t.Error(err)
			continue
		}
		t.Run(name, func(t *testing.T) {
			if rec.Rate != 8000 {
				t.Errorf("rate %v, want 8000", rec.Rate)
			}
			checkFrames(t, rec, ch1, ch2)
			if got := warningCodes(rec.Warnings); got != warn {
				t.Errorf("warnings %q, want %q", got, warn)
			}
		})
		closer.Close()
	}

	t.Run("sox-u8.wav", func(t *testing.T) { // 8 bits cannot be exact: half a step, and one at full scale
		rec, closer, err := OpenRecording(filepath.Join(dir, "sox-u8.wav"))
		if err != nil {
			t.Fatal(err)
		}
		defer closer.Close()
		a, b := make([]float64, frames), make([]float64, frames)
		if err := rec.Read(a, b, 0); err != nil {
			t.Fatal(err)
		}
		for i := range a {
			if math.Abs(a[i]-ch1[i]) > 1./128 || math.Abs(b[i]-ch2[i]) > 1./128 {
				t.Fatalf("frame %d is %v, %v, want about %v, %v", i, a[i], b[i], ch1[i], ch2[i])
			}
		}
	})

	for name, want := range map[string]string{"sox-mono.wav": "one channel", "sox-three.wav": "3 channels", "sox-alaw.wav": "A-law", "sox-rifx.wav": "big-endian"} {
		rec, _, err := OpenRecording(filepath.Join(dir, name))
		var unsupported *UnsupportedError
		if rec != nil || !errors.As(err, &unsupported) || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: got %v, want an error about %s", name, err, want)
		}
	}
}

func TestWriteWAVThenRead(t *testing.T) {
	n := wavBlock + 17
	ch1, ch2 := make([]float64, n), make([]float64, n)
	for i := range ch1 {
		ch1[i] = float64(i*1009-4_000_000) / (1 << 23)
		ch2[i] = -ch1[i] / 2
		ch2[i] = math.Round(ch2[i]*(1<<23)) / (1 << 23)
	}
	ch1[0], ch2[0] = -1, 1 // 1 becomes the largest value below it
	path := filepath.Join(t.TempDir(), "x.wav")
	if err := WriteWAVFile(path, ch1, ch2, 96000, false); err != nil {
		t.Fatal(err)
	}
	ch2[0] = 1 - 1./(1<<23)
	rec, closer, err := OpenRecording(path)
	if err != nil {
		t.Fatal(err)
	}
	defer closer.Close()
	if rec.Rate != 96000 || len(rec.Warnings) != 0 {
		t.Errorf("%v Hz with warnings %v", rec.Rate, rec.Warnings)
	}
	checkFrames(t, rec, ch1, ch2)

	// The header, byte by byte: a plain one, tag 1, with true sizes.
	file, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	want := wavFile("RIFF", fmtChunk(tagPCM, 2, 96000, 6, 24), chunk("data", -1, file[44:]))
	if !bytes.Equal(file, want) {
		t.Errorf("header % x, want % x", file[:44], want[:44])
	}
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
	if got := allocated(func() { err = WriteWAV(f, ch, ch, 96000) }); err != nil || got > 4<<20 {
		t.Errorf("%d bytes were allocated, error %v", got, err)
	}
}
