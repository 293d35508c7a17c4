// Package benchpage is the page at the bench: a server on this machine only, which plays and
// records, keeps the job of package benchjob, and shows it in a browser.
//
// Everything that is decided is decided here; the scripts of the page draw what they are
// told and send what was pressed.
package benchpage

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"sync"

	"conewright/cmd/internal/benchjob"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/sound"
	"conewright/cmd/internal/wording"
	"conewright/sweeps/bench"
	"conewright/sweeps/signal"
	"conewright/ts/measured"
	"conewright/ts/notice"
)

// Workshop is what the page leaves to the commands, so that both say the same.
type Workshop interface {
	// Settings reads what was typed, by the names of the bench options.
	Settings(typed map[string]string) (bench.Bench, measured.Conditions, error)
	// Mass reads a mass on the cone.
	Mass(text string) (measured.Load, error)
	// Sheets are the spec sheets to choose from.
	Sheets() []Sheet
	// OwnSheet makes the sheet that was chosen one that the driver in the folder dir can rely on.
	OwnSheet(dir, path string) (string, error)
	// Paper are the values of a printed data sheet that can be typed instead.
	Paper() []PaperValue
	// NewSheet makes a spec sheet of such values, by their names, in the folder dir.
	NewSheet(dir string, typed map[string]string) (path string, err error)
	// Keep writes down the bench, so that it is known the next time.
	Keep(typed map[string]string) error
	// Answer reads the sweeps of the job from dir and says what they say; command is what
	// gives the same on the command line, run in dir.
	Answer(dir string, j benchjob.Job) (r *report.Report, command string, err error)
	// Box reads what was typed of the cabinet.
	Box(b benchjob.Box) error
	// Cabinet is Answer of the sweeps in the cabinet.
	Cabinet(dir string, j benchjob.Job) (r *report.Report, command string, err error)
	// Part reads what was typed of a part or a known thing.
	Part(p benchjob.Part) error
	// Parts says what the recordings of parts in dir say.
	Parts(dir string, j benchjob.Job) (PartsFound, error)
	// PartsAnswer is Answer of the parts.
	PartsAnswer(dir string, j benchjob.Job) (r *report.Report, command string, err error)
	// Book reads the job in dir into the book; what is there already is not added once more.
	Book(dir string) (Kept, error)
	// CustomerSheet writes the sheet of a job in the book as PDF.
	CustomerSheet(w io.Writer, k Kept) error
	// Prepare is told before each sweep; only a virtual bench has something to do.
	Prepare(next benchjob.Sweep, goesWrong string)
	// PrepareCheck is told before each part of the check of the bench; it refuses a resistor
	// that it cannot read.
	PrepareCheck(part Part, ohm string) error
	// Check says how the bench is connected and corrects it: what is typed then, and in words
	// what was found.
	Check(typed map[string]string, c Checked) (better map[string]string, found []string, err error)
	// Mishaps are what can go wrong on a virtual bench when asked to; nil on a real one.
	Mishaps() []string
}

// Sheet is a spec sheet.
type Sheet struct {
	Path string `json:"path"`
	Name string `json:"name"`
}

// PaperValue is a value of a printed data sheet.
type PaperValue struct {
	Name  string `json:"name"`
	Title string `json:"title"`
	Usual string `json:"usual"` // its unit and its tolerance where it has none of its own
}

// PartsFound is what the recordings of parts say.
type PartsFound struct {
	Lines []PartLine `json:"lines"`
	Pairs []string   `json:"pairs"` // in words
	Notes []string   `json:"notes"`
}

// PartLine is one part in words.
type PartLine struct {
	Name    string `json:"name"`
	What    string `json:"what"`
	Value   string `json:"value"`
	Loss    string `json:"loss"`
	Should  string `json:"should"`
	Verdict string `json:"verdict"`
	Mark    string `json:"mark"` // "good", "bad", "open" or ""
}

// Kept is where a job stands in the book.
type Kept struct {
	Job  int      `json:"job"`
	Says string   `json:"says"` // in words, with what was added
	More []string `json:"more"` // commands that go on with it
}

// FieldError is what is wrong with what was typed into one field of a form.
type FieldError struct {
	Field string // its name
	Err   error
}

func (e *FieldError) Error() string { return e.Err.Error() }

func (e *FieldError) Unwrap() error { return e.Err }

// Options are what a page needs.
type Options struct {
	System   sound.System
	Workshop Workshop
	Folder   string        // where jobs are kept, each in a folder of its own
	Job      benchjob.Job  // to begin with
	Sweep    signal.Signal // without rate and level
	Book     string        // says which book jobs go into
}

// Desk is the state behind all pages that are open.
type Desk struct {
	opt  Options
	quit context.Context // ends with the server

	mu      sync.Mutex
	job     benchjob.Job
	devices sound.Devices
	output  string // of the devices; "" is the usual one
	input   string
	run     *run                // the one use of the sound device; nil: none
	sweeps  map[string]recorded // by file
	fits    map[benchjob.Phase]fitted
	parts   measuredParts
	unsaved *unsaved
	live    liveView
	problem *wording.Said // what went wrong last
	answer  *answer
	checked Checked
	found   []string // by the check of the bench
	pages   map[string]bool
	changed chan struct{} // closed when there is something new
	views   int           // counts what is shown
	lives   int           // counts what is shown while sound runs
}

// recorded is a sweep of the job as it was read.
type recorded struct {
	impedance measured.Impedance
	load      measured.Load
	notes     []wording.Said
	usable    bool
}

// fitted are the values of a phase and what they were made of.
type fitted struct {
	used   []benchjob.Sweep
	cond   measured.Conditions
	values []valueView
}

// New makes the desk; it ends with quit.
func New(quit context.Context, opt Options) *Desk {
	d := &Desk{opt: opt, quit: quit, job: opt.Job, sweeps: map[string]recorded{}, fits: map[benchjob.Phase]fitted{}, pages: map[string]bool{}, changed: make(chan struct{})}
	if b, ok := opt.System.(*Browser); ok {
		b.show = d.look
	}
	d.look()
	return d
}

// look asks for the devices.
func (d *Desk) look() {
	devices, err := d.opt.System.Devices(d.quit)
	d.mu.Lock()
	defer d.mu.Unlock()
	d.devices = devices
	if err != nil {
		d.problem = said(err)
	}
	d.show()
}

// said says an error.
func said(err error) *wording.Said {
	message, hint := wording.Error(err)
	s := wording.Said{Message: message, Hint: hint}
	if n := noticeOf(err); n != nil {
		s.Code = n.Code
	}
	return &s
}

// refusal is why an action was refused.
type refusal struct {
	wording.Said
	Field string `json:"field"` // the one to correct; "" is none
}

// fieldOf are the fields of notices that are about one.
var fieldOf = map[string]string{"job-resistor": "resistor", "job-known": "ohm", "job-part-name": "name", "job-name": "name", "job-name-in-use": "name", "job-name-taken": "name", "job-name-finished": "name", "job-unreadable": "name", "job-no-sheet": "sheet"}

func refused(err error) refusal {
	r := refusal{Said: *said(err)}
	r.Field = fieldOf[r.Code]
	var of *FieldError
	if errors.As(err, &of) {
		r.Field = of.Field
	}
	return r
}

// show tells all pages that there is something new. The desk is locked.
func (d *Desk) show() {
	d.views++
	close(d.changed)
	d.changed = make(chan struct{})
}

// showLive tells all pages that there is something new while sound runs.
func (d *Desk) showLive() {
	d.lives++
	close(d.changed)
	d.changed = make(chan struct{})
}

// step changes the job, or says why not.
func (d *Desk) step(next benchjob.Job, err error) error {
	if err != nil {
		return err
	}
	d.job, d.problem = next, nil
	if err := d.remember(); err != nil {
		d.problem = said(err)
	}
	if next.Screen != benchjob.Verdict {
		d.answer = nil
	}
	d.show()
	return nil
}

// dir is the folder of the job.
func (d *Desk) dir() string { return d.dirOf(d.job) }

func (d *Desk) dirOf(j benchjob.Job) string {
	return filepath.Join(d.opt.Folder, benchjob.Folder(j.Name))
}

// taken says whether a file is already there.
func (d *Desk) taken(file string) bool {
	_, err := os.Lstat(filepath.Join(d.dir(), file))
	return err == nil || d.unsaved != nil && d.unsaved.sweep.File == file
}

var errBusy = notice.New("sound-busy", nil)
