package benchfile

import (
	"bytes"
	"io"
	"strings"

	"conewright/cmd/internal/savefile"
	"conewright/cmd/internal/settings"
	"conewright/ts/notice"
	"conewright/ts/repeat"
)

// CanSave says whether a table can be written into the bench file at path: a table that it
// has is kept unless replace is set.
func CanSave(path string, replace bool) error {
	_, _, err := split(path, replace)
	return err
}

// Save writes the table into the bench file at path and leaves the rest of it as it is.
func Save(path string, b repeat.Bench, replace bool) error {
	before, after, err := split(path, replace)
	if err != nil {
		return err
	}
	var text bytes.Buffer
	text.WriteString(strings.TrimRight(before, "\n") + "\n")
	text.WriteString(Repeatability(b))
	if after != "" {
		text.WriteString("\n" + after)
	}
	if _, err := settings.Parse(text.Bytes(), path); err != nil {
		return err
	}
	return savefile.Write(path, true, func(w io.WriteSeeker) error {
		_, err := w.Write(text.Bytes())
		return err
	})
}

// split returns what stands before and after the table in the file.
func split(path string, replace bool) (before, after string, err error) {
	_, data, err := settings.ReadFile(path)
	if err != nil {
		return "", "", err
	}
	inside, had := false, false
	var out [2]strings.Builder
	for line := range strings.Lines(string(data)) {
		if head := strings.TrimSpace(line); strings.HasPrefix(head, "[") {
			inside = strings.HasPrefix(head, "["+Table+".") || strings.HasPrefix(head, "["+Table+"]")
			had = had || inside
		}
		switch {
		case inside:
		case had:
			out[1].WriteString(line)
		default:
			out[0].WriteString(line)
		}
	}
	if had && !replace {
		return "", "", notice.New("bench-has-repeatability", notice.Facts{"path": path})
	}
	return out[0].String(), out[1].String(), nil
}
