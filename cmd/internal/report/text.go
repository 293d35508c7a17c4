package report

import (
	"bufio"
	"io"
	"strings"
	"unicode/utf8"
)

// textWidth is the width that running text is wrapped to.
const textWidth = 88

// Text writes the report for a terminal.
func Text(w io.Writer, r *Report) error {
	out := bufio.NewWriter(w)
	out.WriteString(r.Title + "\n")
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
	if len(r.Next) > 0 {
		out.WriteString("\nWhat to do next\n")
		for _, s := range r.Next {
			line := s.Do
			if s.Gain != "" {
				line += ": " + s.Gain
			}
			writeWrapped(out, "  - ", line)
		}
	}
	if len(r.Cautions) > 0 {
		out.WriteString("\nCaution\n")
		for _, c := range r.Cautions {
			writeWrapped(out, "  - ", c)
		}
	}
	if len(r.Warnings) > 0 {
		out.WriteString("\nNotes\n")
		for _, n := range r.Warnings {
			line := n.Message
			if n.Hint != "" {
				line += "; " + n.Hint
			}
			writeWrapped(out, "  - ", line)
		}
	}
	return out.Flush()
}

// writeTable writes a table with its columns aligned.
func writeTable(out *bufio.Writer, t Table) {
	if t.Title != "" {
		out.WriteString(t.Title + "\n")
	}
	width := make([]int, len(t.Columns))
	heads := make([]string, len(t.Columns))
	anyHead := false
	for i, c := range t.Columns {
		heads[i] = c.Head
		anyHead = anyHead || c.Head != ""
		width[i] = utf8.RuneCountInString(c.Head)
		for _, r := range t.Rows {
			width[i] = max(width[i], utf8.RuneCountInString(r.Cells[i]))
		}
	}
	line := func(cells []string) {
		var b strings.Builder
		for i, c := range cells {
			if width[i] == 0 {
				continue
			}
			pad := strings.Repeat(" ", width[i]-utf8.RuneCountInString(c))
			b.WriteString("  ")
			if t.Columns[i].Right {
				b.WriteString(pad + c)
			} else {
				b.WriteString(c + pad)
			}
		}
		out.WriteString(strings.TrimRight(b.String(), " ") + "\n")
	}
	if anyHead {
		line(heads)
	}
	for _, r := range t.Rows {
		line(r.Cells)
	}
	if t.Note != "" {
		writeWrapped(out, "  ", t.Note)
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
