package main

import (
	"encoding/csv"
	"os"
	"strconv"
	"strings"

	"conewright/ts/param"
)

// report collects the text of the report, and the outcome of each run behind it.
type report struct {
	strings.Builder
	section  string
	outcomes [][]string // section, row, driver, quantity, off, half, covered
}

// keep remembers what a fit of one driver said about one quantity.
func (r *report) keep(row string, driver int, id param.ID, o outcome) {
	number := func(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }
	r.outcomes = append(r.outcomes, []string{r.section, row, strconv.Itoa(driver), id.String(), number(o.off), number(o.half), strconv.FormatBool(o.covered)})
}

// writeOutcomes writes what was kept as a table with commas.
func (r *report) writeOutcomes(file string) error {
	f, err := os.Create(file)
	if err != nil {
		return err
	}
	w := csv.NewWriter(f)
	if err := w.WriteAll(r.outcomes); err != nil {
		f.Close()
		return err
	}
	return f.Close()
}
