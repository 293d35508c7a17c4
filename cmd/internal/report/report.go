// Package report turns results into what people and programs read.
//
// A [Report] is built once, by [Fit], [Check] or [Compare], from what package ts found.
// Its sentences are those of package wording, its tables are rounded when it is built.
// [Text], [JSON] and [CSV] render that one value, and so does the HTML sheet.
package report

import (
	"time"

	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/wording"
	"conewright/ts/change"
	"conewright/ts/driver"
	"conewright/ts/fitted"
	"conewright/ts/friction"
	"conewright/ts/lot"
	"conewright/ts/measured"
	"conewright/ts/param"
	"conewright/ts/part"
	"conewright/ts/repeat"
	"conewright/ts/ring"
	"conewright/ts/verdict"
)

// Report is everything that is said about one job.
type Report struct {
	Schema  string    // "conewright/fit/1": what the job was, and the version of its JSON
	Version string    // of the program
	Title   string    // what was measured, in few words
	Made    time.Time // zero: not shown; never part of text, JSON or CSV
	Inputs  []saved.Input
	Sheet   *SpecInput     // the spec sheet's file; nil: none
	Bench   saved.Settings // how it was measured, for the record

	// The verdict, where one was asked for.
	Judged   bool
	Verdict  verdict.Verdict
	Headline string   // one line: "OUT OF SPEC: Fs is 36.6 Hz, above its limit of 34 Hz"
	First    *Table   // on the sheet right below it: what has to be dealt with; nil: nothing
	Body     []string // what it means, a paragraph each
	Tables   []Table
	Next     []wording.Step
	Warnings []wording.Said
	Cautions []string // before acting on the advice

	// The results behind all this, for numbers in full precision and for plots.
	Sides    []Side
	Spec     *verdict.Spec    // nil: none was given
	Checked  *verdict.Checked // nil: nothing was checked
	Compared *change.Compared // nil: nothing was compared
	Paired   *lot.Paired      // nil: no pair
	Lot      *Lot             // nil: no batch
	Days     *Days            // nil: not a report of days and stations
	process  []capable        // behind the lot
	Cabinet  *InCabinet       // nil: not about cabinets
	Ring     *ring.Plan       // nil: no ring was asked about
	Parts    []PartSide       // parts of a network; empty: none
	Exchange *part.Exchange   // of an old part by a new one; nil: none
	Drawer   *Drawer          // many parts, matched in pairs; nil: not asked for
	Lesson   *ring.MassLine   // nil: not a lesson
	Repeat   *repeat.Learned  // nil: not a study of the bench
	Limits   []LimitShare     // of the sheet, in a study of the bench
	Truth    *driver.Driver   // the driver behind a virtual lesson; nil: a real one
}

// SpecInput is the file of the spec sheet.
type SpecInput struct {
	Path   string
	SHA256 string
	Name   string
}

// Side is one driver in one condition.
type Side struct {
	Label      string // "", "before", "after", "left", "right"
	Parameters param.Parameters
	Fitted     *fitted.Result      // nil when the parameters come from a saved fit
	Curves     []Curve             // empty when there is no fit
	MassLine   *ring.MassLine      // nil without several masses
	Travel     *fitted.Travel      // of the cone while it was measured; nil: not known
	Level      measured.Level      // of its first recording
	Friction   *friction.Found     // what its harmonics tell of the coil; nil: nothing
	Trend      *friction.Trend     // how stiffness and force factor follow the level; nil: one level
	FreeLines  *measured.FreeLines // of the first multitone in free air; nil: none
	Harmonics  *measured.Harmonics // of the first sweep in free air that has some; nil: none
	Bench      saved.Settings      // how it was measured
	Noticed    []wording.Said      // while the files were read
}

// FrictionOf is what the harmonics of both sides tell of friction.
func FrictionOf(before, after Side) change.Friction {
	share := func(s Side) float64 {
		if s.Friction == nil || !s.Friction.Rubs {
			return 0
		}
		return s.Friction.Share
	}
	return change.Friction{Before: share(before), After: share(after), Free: after.Friction != nil && after.Friction.Free()}
}

// Curve is one sweep with the fit through it.
type Curve struct {
	Name string // "after.wav, 15.0 g added"
	Load measured.Load
	fitted.Curve
}

// Table is a table with its wording and rounding done.
type Table struct {
	Title   string
	Columns []Column
	Rows    []Row
	Note    string // below the table; may be empty
	Dense   bool   // many rows: small on paper
	Early   bool   // on the sheet before the figures
}

// Column is the head of a column.
type Column struct {
	Head  string
	Align Align
}

// Align says how the cells of a column stand below one another.
type Align uint8

// The alignments.
const (
	Left  Align = iota
	Right       // at their ends
	Point       // at the decimal point
)

// Row is one line of a table.
type Row struct {
	Cells []string
	Mark  Mark
}

// Mark says which answer a row carries, for emphasis beside its words.
type Mark uint8

// The marks.
const (
	NoMark Mark = iota
	Good
	Bad
	Open
)

// markOf is the mark of a verdict.
func markOf(v verdict.Verdict) Mark {
	switch v {
	case verdict.InSpec:
		return Good
	case verdict.OutOfSpec:
		return Bad
	}
	return Open
}
