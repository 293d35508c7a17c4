package table

import (
	"bytes"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"conewright/ts/notice"
)

// textLines returns the lines of a text file.
func textLines(data []byte, source string) ([]string, error) {
	tooLarge := func(count int, of string) error {
		return notice.New("text-too-large", notice.Facts{"count": count, "of": of}).In(source)
	}
	if len(data) > MaxBytes {
		return nil, tooLarge(len(data), "bytes")
	}
	text, ok := decodeText(data)
	if !ok {
		return nil, notice.New("text-not", nil).In(source)
	}
	if n := strings.Count(text, "\n") + strings.Count(text, "\r"); n > 2*maxLines {
		return nil, tooLarge(n, "lines")
	}
	lines := splitLines(text)
	if len(lines) > maxLines {
		return nil, tooLarge(len(lines), "lines")
	}
	for i, line := range lines {
		if len(line) > maxLineBytes {
			return nil, notice.New("line-too-long", notice.Facts{"characters": len(line)}).At(source, i+1)
		}
	}
	return lines, nil
}

// decodeText turns the bytes of a text file into a string: UTF-8 with or
// without a byte order mark, UTF-16 with one or recognised by its zero bytes,
// otherwise Latin-1. It reports false for bytes that are no text at all.
func decodeText(data []byte) (string, bool) {
	switch {
	case bytes.HasPrefix(data, []byte("\xef\xbb\xbf")):
		data = data[3:]
	case bytes.HasPrefix(data, []byte("\xff\xfe")):
		data = utf16Bytes(data[2:], false)
	case bytes.HasPrefix(data, []byte("\xfe\xff")):
		data = utf16Bytes(data[2:], true)
	case len(data) >= 4 && data[0] == 0 && data[1] != 0 && data[2] == 0:
		data = utf16Bytes(data, true)
	case len(data) >= 4 && data[0] != 0 && data[1] == 0 && data[3] == 0:
		data = utf16Bytes(data, false)
	}
	for _, b := range data {
		if b < ' ' && b != '\t' && b != '\n' && b != '\r' && b != '\f' && b != 0x1a {
			return "", false
		}
	}
	if utf8.Valid(data) {
		return string(data), true
	}
	var b strings.Builder
	b.Grow(len(data) + len(data)/8)
	for _, c := range data {
		b.WriteRune(rune(c))
	}
	return b.String(), true
}

// utf16Bytes returns UTF-16 as UTF-8.
func utf16Bytes(data []byte, bigEndian bool) []byte {
	hi, lo := 1, 0
	if bigEndian {
		hi, lo = 0, 1
	}
	unit := func(i int) rune {
		if i+1 >= len(data) {
			return 0
		}
		return rune(data[i+hi])<<8 | rune(data[i+lo])
	}
	out := make([]byte, 0, len(data)/2+len(data)/16)
	for i := 0; i+1 < len(data); i += 2 {
		r := unit(i)
		if utf16.IsSurrogate(r) {
			if r = utf16.DecodeRune(r, unit(i+2)); r != utf8.RuneError {
				i += 2
			}
		}
		out = utf8.AppendRune(out, r)
	}
	return out
}

// splitLines cuts text at CR LF, LF or CR.
func splitLines(text string) []string {
	lines := make([]string, 0, strings.Count(text, "\n")+1)
	for len(text) > 0 {
		i := strings.IndexAny(text, "\r\n")
		if i < 0 {
			return append(lines, text)
		}
		lines = append(lines, text[:i])
		if text[i] == '\r' && i+1 < len(text) && text[i+1] == '\n' {
			i++
		}
		text = text[i+1:]
	}
	return lines
}
