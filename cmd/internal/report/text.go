package report

import (
	"bufio"
	"io"
	"strings"
	"unicode/utf8"

	"conewright/cmd/internal/printable"
)

// textWidth is the width that running text is wrapped to.
const textWidth = 88

// Text writes the report for a terminal.
func Text(w io.Writer, r *Report) error {
	out := bufio.NewWriter(w)
	out.WriteString(printable.Line(r.Title) + "\n")
	if r.Headline != "" {
		out.WriteString("\n")
		writeWrapped(out, "", r.Headline)
	}
	for _, p := range r.Body {
		out.WriteString("\n")
		writeWrapped(out, "", p)
	}
	for _, t := range r.Tables {
		out.WriteString("\n")
		writeTable(out, t)
	}
	var next []string
	for _, s := range r.Next {
		next = append(next, joined(s.Do, ": ", s.Gain))
	}
	writeList(out, "What to do next", next)
	writeList(out, "Caution", r.Cautions)
	writeList(out, "Notes", r.Notes())
	return out.Flush()
}

// writeList writes a title with its points, or nothing where there are none.
func writeList(out *bufio.Writer, title string, points []string) {
	if len(points) > 0 {
		out.WriteString("\n" + title + "\n")
	}
	for _, p := range points {
		writeWrapped(out, "  - ", p)
	}
}

// joined puts the second text behind the first, if there is one.
func joined(first, between, second string) string {
	if second == "" {
		return first
	}
	return first + between + second
}

// writeTable writes a table with its columns aligned.
func writeTable(out *bufio.Writer, t Table) {
	if t.Title != "" {
		out.WriteString(printable.Line(t.Title) + "\n")
	}
	lines := make([]string, len(t.Rows)+1) // the heads first
	for i, c := range t.Columns {
		cells := make([]string, len(t.Rows))
		for k, r := range t.Rows {
			cells[k] = printable.Line(r.Cells[i])
		}
		if c.Align == Point {
			alignPoints(cells)
		}
		width := utf8.RuneCountInString(c.Head)
		for _, cell := range cells {
			width = max(width, utf8.RuneCountInString(cell))
		}
		if width == 0 {
			continue
		}
		for k, cell := range append([]string{c.Head}, cells...) {
			pad := strings.Repeat(" ", width-utf8.RuneCountInString(cell))
			if c.Align == Left {
				lines[k] += "  " + cell + pad
			} else {
				lines[k] += "  " + pad + cell
			}
		}
	}
	for k, line := range lines {
		line = strings.TrimRight(line, " ")
		if k > 0 || line != "" {
			out.WriteString(line + "\n")
		}
	}
	if t.Note != "" {
		out.WriteString("\n")
		writeWrapped(out, "  ", t.Note)
	}
}

// alignPoints pads numbers on the right so that their decimal points stand
// below one another once they are aligned to the right.
func alignPoints(cells []string) {
	longest := 0
	behind := make([]int, len(cells))
	for i, c := range cells {
		number, _, _ := strings.Cut(c, " ")
		if p := strings.IndexByte(number, '.'); p >= 0 {
			behind[i] = len(number) - p
		}
		longest = max(longest, behind[i])
	}
	for i, c := range cells {
		if c != "" && c[len(c)-1] <= '9' {
			cells[i] = c + strings.Repeat(" ", longest-behind[i])
		}
	}
}

// writeWrapped writes a paragraph; lines after the first are indented as far
// as the bullet reaches.
func writeWrapped(out *bufio.Writer, bullet, text string) {
	indent := strings.Repeat(" ", utf8.RuneCountInString(bullet))
	line, n := bullet, 0
	for _, word := range strings.Fields(text) {
		if n > 0 && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > textWidth {
			out.WriteString(line + "\n")
			line, n = indent, 0
		}
		if n > 0 {
			line += " "
		}
		line += word
		n++
	}
	out.WriteString(line + "\n")
}
