// Package customer makes the sheet that a customer takes home: what was done to which driver,
// whether it is right again, in one sentence, before and after in one picture, and what it
// means in the cabinet. It is one value with two renderings, HTML and PDF, and has one page
// for each driver. What only a technician needs does not stand on it.
package customer

import (
	"time"

	"conewright/cmd/internal/plot"
	"conewright/cmd/internal/report"
)

// Sheet is everything that is printed.
type Sheet struct {
	Workshop Workshop
	Title    string // the job: "Stage woofers, Brindle Hall"
	Facts    []Line // customer, job, date, technician
	Work     string // what was done, free text; may be empty
	Made     time.Time
	Parts    []Part // one a page
	Print    []Line // small print: files with their hashes, limits, program
}

// Workshop is who makes the sheet.
type Workshop struct {
	Name    string
	Address []string
}

// Line is a label with its text.
type Line struct{ Label, Text string }

// Part is one driver.
type Part struct {
	Title   string // "Larch 25, left"
	Facts   []Line // serial number, stages
	Mark    report.Mark
	Verdict string      // one sentence
	Picture plot.Figure // nil: none
	Values  report.Table
	Cabinet *Cabinet  // nil: not asked
	Others  []Section // what was measured beside: the cabinet, parts of the network
}

// Cabinet is what the change means where the driver works.
type Cabinet struct {
	Title, Says string
	Picture     plot.Figure
}
