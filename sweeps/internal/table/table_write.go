package table

import (
	"bufio"
	"fmt"
	"io"
	"net/url"
	"os"
	"slices"
	"strconv"
	"strings"

	"conewright/sweeps/internal/savefile"
	"conewright/ts/measured"
)

// writtenHere marks a table that was written by WriteTable, in which no point is
// doubtful.
const writtenHere = "impedance sweep written by conewright"

// WriteTable writes a sweep as a text table that [ReadTable] reads back without
// loss: every digit, the noise and the systematic errors. Warnings and the name
// of the source are not part of it.
func WriteTable(w io.Writer, z measured.Impedance) error {
	out := bufio.NewWriter(w)
	fmt.Fprintf(out, "# %s\n", writtenHere)
	names := []string{"f[Hz]", "re[ohm]", "im[ohm]"}
	if z.MagnitudeOnly {
		names = []string{"f[Hz]", "|Z|[ohm]"}
	}
	if z.Sigma != nil {
		names = append(names, "sigma[ohm]")
	}
	for _, s := range z.Systematic {
		names = append(names, systematicName(s.Source, "re"), systematicName(s.Source, "im"))
	}
	fmt.Fprintf(out, "# %s\n", strings.Join(names, ","))
	var line []byte
	number := func(v float64) {
		line = append(strconv.AppendFloat(line, v, 'g', -1, 64), ',')
	}
	for i, f := range z.Freq {
		line = line[:0]
		number(f)
		number(real(z.Z[i]))
		if !z.MagnitudeOnly {
			number(imag(z.Z[i]))
		}
		if z.Sigma != nil {
			number(z.Sigma[i])
		}
		for _, s := range z.Systematic {
			number(real(s.Effect[i]))
			number(imag(s.Effect[i]))
		}
		line[len(line)-1] = '\n'
		out.Write(line)
	}
	return out.Flush()
}

// WriteTableFile is [WriteTable] into a file, which appears under its name only
// when it is complete. An existing file is refused unless overwrite is set.
func WriteTableFile(path string, z measured.Impedance, overwrite bool) error {
	return savefile.Save(path, overwrite, func(f *os.File) error { return WriteTable(f, z) })
}

// systematicName is the name of a column with the real or the imaginary part of
// a systematic error. The source is escaped, so that it may hold separators.
func systematicName(source, part string) string {
	return "error:" + url.QueryEscape(source) + ":" + part + "[ohm]"
}

// parseSystematicName takes such a name apart.
func parseSystematicName(name string) (source string, imaginary, ok bool) {
	name, isError := strings.CutPrefix(name, "error:")
	name, isRe := strings.CutSuffix(name, ":re[ohm]")
	if !isRe {
		name, imaginary = strings.CutSuffix(name, ":im[ohm]")
	}
	source, err := url.QueryUnescape(name)
	return source, imaginary, isError && (isRe || imaginary) && err == nil
}

// errorColumns are the two columns of one systematic error.
type errorColumns struct {
	source string
	re, im int
}

// errorColumns returns the systematic errors that the table has columns for.
func (t *table) errorColumns() (pairs []errorColumns, err error) {
	parts := 0
	for _, c := range t.cols {
		if c.role == errorRe || c.role == errorIm {
			parts++
		}
	}
	for i, c := range t.cols {
		j := slices.IndexFunc(t.cols, func(d column) bool { return d.role == errorIm && d.source == c.source })
		if c.role == errorRe && j >= 0 {
			pairs = append(pairs, errorColumns{c.source, i, j})
		}
	}
	if 2*len(pairs) != parts {
		return nil, t.errorAt(t.headed, "keep all columns of a table that was written here", "an error column lacks its real or its imaginary part")
	}
	return pairs, nil
}
