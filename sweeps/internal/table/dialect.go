package table

import (
	"math"
	"strconv"
	"strings"
)

// dialect is how the numbers of a table are written.
type dialect struct {
	sep     separator
	decimal byte // '.' or ','
}

type separator byte

const (
	tabs       separator = '\t'
	semicolons separator = ';'
	commas     separator = ','
	blanks     separator = ' '
	commaBlank separator = 'B' // a comma and a blank, beside decimal commas
)

// dialects in the order in which they are preferred when several fit equally
// well. A dialect whose separator is rarer in numbers comes first.
var dialects = [...]dialect{
	{tabs, '.'}, {tabs, ','}, {semicolons, '.'}, {semicolons, ','},
	{commaBlank, ','}, {commas, '.'}, {commas, ','}, {blanks, '.'}, {blanks, ','},
}

// split appends the fields of a line to dst, without the blanks and quotes
// around them. Separators inside quotes do not separate.
func (d dialect) split(dst []string, line string) []string {
	switch d.sep {
	case blanks:
		return append(dst, strings.Fields(line)...)
	case commaBlank:
		for {
			i := strings.Index(line, ", ")
			if i < 0 {
				return append(dst, strings.TrimSpace(line))
			}
			dst = append(dst, strings.TrimSpace(line[:i]))
			line = line[i+2:]
		}
	}
	for {
		i := separatorIndex(line, byte(d.sep))
		if i < 0 {
			break
		}
		dst = append(dst, unquote(line[:i]))
		line = line[i+1:]
	}
	return append(dst, unquote(line))
}

func separatorIndex(s string, sep byte) int {
	quoted := false
	for i := 0; i < len(s); i++ {
		switch {
		case s[i] == '"':
			quoted = !quoted
		case s[i] == sep && !quoted:
			return i
		}
	}
	return -1
}

func unquote(s string) string {
	s = strings.TrimSpace(s)
	if len(s) >= 2 && s[0] == '"' && s[len(s)-1] == '"' {
		s = strings.TrimSpace(s[1 : len(s)-1])
	}
	return s
}

// number reads a number; a missing value is NaN. It reports false for any other
// text.
func (d dialect) number(s string) (float64, bool) {
	if v, ok := d.plainNumber(s); ok {
		return v, true
	}
	switch strings.ToLower(s) {
	case "", "-", "--", "---", "nan", "-nan", "+nan", "na", "n/a", "#n/a", "inf", "+inf", "-inf", "ol", "null", "none", "1.#ind", "-1.#ind", "1.#qnan", "-1.#qnan", "1.#inf", "-1.#inf":
		return math.NaN(), true
	}
	return 0, false
}

func (d dialect) plainNumber(s string) (float64, bool) {
	if s == "" {
		return 0, false
	}
	clean := true
	for i := 0; i < len(s); i++ {
		c := s[i]
		switch {
		case c >= '0' && c <= '9', c == '+', c == '-', c == 'e', c == 'E':
		case c == d.decimal:
			if c == ',' {
				// "10," and ",5" are a separator and a number.
				if i == 0 || i == len(s)-1 || s[i-1] < '0' || s[i-1] > '9' || s[i+1] < '0' || s[i+1] > '9' {
					return 0, false
				}
				clean = false
			}
		case c == 'd', c == 'D': // the exponent of old Fortran
			clean = false
		case c == "−"[0]:
			clean = false
		case c == "−"[1], c == "−"[2]:
		default:
			return 0, false
		}
	}
	if !clean {
		s = strings.NewReplacer(",", ".", "d", "e", "D", "e", "−", "-").Replace(s)
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsInf(v, 0) {
		return 0, false
	}
	return v, true
}

// row reads a line of data: its first two fields are numbers or missing, one of
// them a number. Later fields may be text; they become NaN and are counted in
// no column that is used. With blanks between the columns every field has to be
// a number, or any sentence with figures in it would be data.
func (d dialect) row(dst []cell, line string, fields []string) ([]cell, []string, bool) {
	fields = d.split(fields[:0], line)
	dst = dst[:0]
	if len(fields) < 2 {
		return dst, fields, false
	}
	numbers := 0
	for i, s := range fields {
		v, ok := d.number(s)
		if !ok && (i < 2 || d.sep == blanks) {
			return dst, fields, false
		}
		if ok && !math.IsNaN(v) && i < 2 {
			numbers++
		}
		if !ok {
			v = math.NaN()
		}
		dst = append(dst, cell{v, s, ok})
	}
	return dst, fields, numbers > 0
}

// cell is one value of a table: NaN when it is missing or, with ok false, no
// number at all.
type cell struct {
	value float64
	text  string
	ok    bool
}

// stripComment returns the line without a comment at its end, and whether the
// whole line is one. Tabs at the ends stay: they may stand for missing values.
func stripComment(line string) (rest string, whole bool) {
	if comment(strings.TrimSpace(line)) {
		return "", true
	}
	for _, mark := range [...]string{" #", "\t#", " //", "\t//", " !", "\t!"} {
		if i := strings.Index(line, mark); i >= 0 {
			line = line[:i]
		}
	}
	return strings.Trim(line, " \f\x1a"), false
}

// comment says whether the line, without blanks around it, is a comment.
func comment(line string) bool {
	if line == "" {
		return false
	}
	if line[0] == '"' || line[0] == '\'' {
		line = line[1:]
	}
	return line != "" && strings.IndexByte("#*;%!", line[0]) >= 0 || strings.HasPrefix(line, "//")
}

// commentText returns what a comment line says.
func commentText(line string) string {
	line = strings.TrimSpace(line)
	if q := line[:1]; q == `"` || q == "'" { // the whole line is quoted
		line = strings.TrimSuffix(line[1:], q)
	}
	return strings.TrimSpace(strings.TrimLeft(line, "#*;%!/"))
}

// detect finds the dialect and the number of columns in which most lines are
// rows of numbers, and of those in which as many are, the one that leaves the fewest texts.
// It looks at a sample of the lines.
func detect(lines []string) (d dialect, columns int, ok bool) {
	const sample = 64
	step := max(1, len(lines)/sample)
	var data []string // the sample without comments
	for i := len(lines) - 1; i >= 0; i -= step {
		if line, whole := stripComment(lines[i]); !whole {
			data = append(data, line)
		}
	}
	type score struct{ rows, texts int }
	var best score
	var cells []cell
	var fields []string
	for _, cand := range dialects {
		count := map[int]score{}
		for _, line := range data {
			var isRow bool
			if cells, fields, isRow = cand.row(cells, line, fields); !isRow {
				continue
			}
			c := count[len(cells)]
			c.rows++
			for _, v := range cells {
				if !v.ok {
					c.texts++
				}
			}
			count[len(cells)] = c
		}
		for n, c := range count {
			alike := c.rows == best.rows && ok
			if c.rows > best.rows || alike && cand == d && n > columns || alike && cand != d && c.texts < best.texts {
				d, columns, best, ok = cand, n, c, true
			}
		}
	}
	return d, columns, ok
}
