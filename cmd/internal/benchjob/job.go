// Package benchjob is the work at the bench as a value: which screen is shown, what was
// typed, and which sweeps there are. A step of the work makes a new value of it, or an error
// that says what is missing.
package benchjob

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"

	"conewright/ts/notice"
)

// Screen is one screen of the page.
type Screen string

// The screens in the order of the work.
const (
	Bench   Screen = "bench"
	Driver  Screen = "driver"
	Sweeps  Screen = "sweep"
	Mass    Screen = "mass"
	Verdict Screen = "verdict"
)

// Phase says when a driver was swept.
type Phase string

// The phases.
const (
	Before Phase = "before"
	After  Phase = "after"
)

// Kind says what a sweep repeats.
type Kind string

// The kinds: the first of its phase and load, the same again without touching anything, and
// once more after the driver was taken off the bench and put back.
const (
	First     Kind = "first"
	Again     Kind = "again"
	Reclamped Kind = "re-clamped"
)

// Sweep is one sweep of the job.
type Sweep struct {
	File   string `json:"file"` // in the folder of the job
	Phase  Phase  `json:"phase"`
	Mass   string `json:"mass"` // on the cone, as it was typed; "" is none
	Kind   Kind   `json:"kind"`
	Number int    `json:"number"` // of those with the same phase and mass, from 1
	Aside  bool   `json:"aside"`  // it was set aside: kept on the disk, not used
	Part   Part   `json:"part,omitzero"`
}

// Levels, in dB below full scale of the output.
const (
	FirstLevel = -34.0
	SafeLevel  = -20.0 // louder is asked about first
	LeastLevel = -60.0
	MostLevel  = -3.0
)

// Job is the state of the work.
type Job struct {
	Screen  Screen            `json:"screen"`
	Reached []Screen          `json:"reached"` // that were shown
	Typed   map[string]string `json:"typed"`
	Name    string            `json:"name"`  // of the driver
	Sheet   string            `json:"sheet"` // path of its spec sheet; "" is none
	Paper   map[string]string `json:"paper"` // values of a printed data sheet, of which that one was made
	Level   float64           `json:"level_db"`
	Phase   Phase             `json:"phase"`
	Mass    string            `json:"mass"`
	Box     Box               `json:"box"`
	Part    Part              `json:"part"` // that the next recording is of
	Sweeps  []Sweep           `json:"sweeps"`
}

// New begins a job with what is known of the bench.
func New(typed map[string]string) Job {
	return Job{Screen: Bench, Reached: []Screen{Bench}, Typed: maps.Clone(typed), Level: FirstLevel, Phase: Before}
}

// on shows a screen.
func (j Job) on(s Screen) Job {
	j.Screen = s
	if !slices.Contains(j.Reached, s) {
		j.Reached = append(slices.Clone(j.Reached), s)
	}
	return j
}

// Show goes to a screen that was reached before.
func (j Job) Show(s Screen) (Job, error) {
	if !slices.Contains(j.Reached, s) {
		return j, notice.New("job-order", nil)
	}
	if s == Sweeps || s == Cabinet || s == Parts {
		j.Mass = ""
	}
	return j.on(s), nil
}

// typed takes over what was typed, by the names of the bench options; empty takes away.
func (j Job) typed(what map[string]string, names ...string) Job {
	j.Typed = maps.Clone(j.Typed)
	if j.Typed == nil {
		j.Typed = map[string]string{}
	}
	for _, name := range names {
		if v := strings.TrimSpace(what[name]); v != "" {
			j.Typed[name] = v
		} else {
			delete(j.Typed, name)
		}
	}
	return j
}

// BenchNames are the options that belong to the bench, DriverNames those of the driver.
var (
	BenchNames  = []string{"wiring", "resistor", "resistor-tolerance", "swap-channels", "calibration"}
	DriverNames = []string{"diameter", "dc", "temperature", "alone"}
)

// WithBench takes over the bench and goes on to the driver. Other sweeps of the job were
// made on it, so it stays once there is one.
func (j Job) WithBench(what map[string]string) (Job, error) {
	next := j.typed(what, BenchNames...)
	if next.Typed["resistor"] == "" {
		return j, notice.New("job-resistor", nil)
	}
	if len(j.Sweeps) > 0 && !maps.Equal(next.Typed, j.Typed) {
		return j, notice.New("job-bench-in-use", nil)
	}
	return next.on(Driver), nil
}

// Checked takes over how the bench turned out to be connected, and stays on its screen.
func (j Job) Checked(what map[string]string) (Job, error) {
	screen := j.Screen
	next, err := j.WithBench(what)
	if err != nil {
		return j, err
	}
	next.Screen, next.Reached = screen, j.Reached
	return next, nil
}

// WithDriver takes over the driver and goes on to the sweep.
func (j Job) WithDriver(name, sheet string, what map[string]string) (Job, error) {
	if !slices.Contains(j.Reached, Driver) {
		return j, notice.New("job-order", nil)
	}
	name = strings.TrimSpace(name)
	if Folder(name) == "" {
		return j, notice.New("job-name", nil)
	}
	if len(j.Sweeps) > 0 && name != j.Name {
		return j, notice.New("job-name-in-use", notice.Facts{"name": j.Name})
	}
	j = j.typed(what, DriverNames...)
	j.Name, j.Sheet, j.Mass = name, sheet, ""
	return j.on(Sweeps), nil
}

var notInNames = regexp.MustCompile(`[^\pL\pN.]+`)

// Folder is the name of the folder for a driver of that name; "" when it holds no letter.
func Folder(name string) string {
	return strings.Trim(notInNames.ReplaceAllString(strings.ToLower(name), "-"), "-.")
}

// WithLevel sets the level of the output in dB. One above the safe level must be sure.
func (j Job) WithLevel(level float64, sure bool) (Job, error) {
	level = min(MostLevel, max(LeastLevel, level))
	if level > SafeLevel && level > j.Level && !sure {
		return j, notice.New("job-level", notice.Facts{"level": level, "safe": SafeLevel})
	}
	j.Level = level
	return j, nil
}

// WithMass puts a mass on the cone, as it was typed.
func (j Job) WithMass(mass string) (Job, error) {
	if len(j.Used(j.Phase, "")) == 0 {
		return j, notice.New("job-free-first", nil)
	}
	j.Mass = strings.TrimSpace(mass)
	return j.on(Mass), nil
}

// Used are the sweeps of a phase with that mass that were not set aside.
func (j Job) Used(p Phase, mass string) []Sweep {
	var list []Sweep
	for _, s := range j.Sweeps {
		if s.Phase == p && s.Mass == mass && !s.Aside {
			list = append(list, s)
		}
	}
	return list
}

// UsedIn are all sweeps of a phase that were not set aside.
func (j Job) UsedIn(p Phase) []Sweep {
	var list []Sweep
	for _, s := range j.Sweeps {
		if s.Phase == p && !s.Aside {
			list = append(list, s)
		}
	}
	return list
}

// Options are what was typed, by the names of the bench options, and what lies between the
// repeats of the job: that the driver was clamped anew counts only where it was for all of
// them.
func (j Job) Options() map[string]string { return j.OptionsIn(Before, After) }

// OptionsIn are those of the sweeps of some phases.
func (j Job) OptionsIn(phases ...Phase) map[string]string {
	all := map[string]string{}
	maps.Copy(all, j.Typed)
	var used []Sweep
	for _, p := range phases {
		used = append(used, j.UsedIn(p)...)
	}
	for _, s := range used {
		if s.Kind == Again || s.Kind == Reclamped && all["repeat"] == "" {
			all["repeat"] = string(s.Kind)
		}
	}
	return all
}

// Plan is the sweep that comes next. A repeat has a kind; taken says which file names exist.
func (j Job) Plan(k Kind, taken func(file string) bool) (Sweep, error) {
	if j.Screen == Parts {
		return j.planPart(taken), nil
	}
	if j.Screen != Sweeps && j.Screen != Mass && j.Screen != Cabinet {
		return Sweep{}, notice.New("job-order", nil)
	}
	if j.Screen == Mass && j.Mass == "" {
		return Sweep{}, notice.New("job-mass", nil)
	}
	switch used := len(j.Used(j.Place(), j.Mass)); {
	case used == 0:
		k = First // nothing is left that it could repeat
	case k != Again && k != Reclamped:
		return Sweep{}, notice.New("job-kind", nil)
	}
	s := Sweep{Phase: j.Place(), Mass: j.Mass, Kind: k, Number: 1}
	for _, e := range j.Sweeps {
		if e.Phase == s.Phase && e.Mass == s.Mass {
			s.Number = e.Number + 1
		}
	}
	for s.File = s.file(); taken(s.File); s.File = s.file() {
		s.Number++
	}
	return s, nil
}

// file is the name of the sweep's file.
func (s Sweep) file() string {
	name := fmt.Sprintf("%s-free-%d", s.Phase, s.Number)
	if s.Phase.InCabinet() {
		name = fmt.Sprintf("%s-%d", s.Phase, s.Number)
	}
	if s.Mass != "" {
		name = fmt.Sprintf("%s-%s-%d", s.Phase, Folder(strings.ReplaceAll(s.Mass, " ", "")), s.Number)
	}
	if s.Kind != First {
		name += "-" + string(s.Kind)
	}
	return name + ".wav"
}

// Recorded adds a sweep that is on the disk.
func (j Job) Recorded(s Sweep) Job {
	j.Sweeps = append(slices.Clone(j.Sweeps), s)
	if s.Phase == OfParts {
		j.Part = s.Part.next()
	}
	return j
}

// SetAside leaves a sweep out, or takes it in again.
func (j Job) SetAside(file string, aside bool) (Job, error) {
	j.Sweeps = slices.Clone(j.Sweeps)
	for i := range j.Sweeps {
		if j.Sweeps[i].File == file {
			j.Sweeps[i].Aside = aside
			return j, nil
		}
	}
	return j, notice.New("job-no-sweep", notice.Facts{"file": file})
}

// Repaired goes on to the sweeps after the repair.
func (j Job) Repaired() (Job, error) {
	if len(j.Used(Before, "")) == 0 {
		return j, notice.New("job-free-first", nil)
	}
	j.Phase, j.Mass = After, ""
	return j.on(Sweeps), nil
}

// Judge goes on to the verdict, or to the values where there is nothing to judge by.
func (j Job) Judge() (Job, error) {
	if len(j.Used(j.Phase, "")) == 0 {
		return j, notice.New("job-free-first", nil)
	}
	return j.on(Verdict), nil
}

// Finished says that the job has come to its end: the driver was judged after its repair.
func (j Job) Finished() bool { return j.Screen == Verdict && j.Phase == After }

// GoneOnWith is the job as it goes on after a pause: where sweeps are made. Meanwhile somebody may
// have turned the amplifier up, so it begins no louder than what is safe.
func (j Job) GoneOnWith() Job {
	j.Level = min(j.Level, SafeLevel)
	if j.Screen == Sweeps || j.Screen == Mass || j.Screen == Cabinet || j.Screen == Parts {
		return j
	}
	j.Mass = ""
	return j.on(Sweeps)
}

// Next begins a job for another driver on the same bench.
func (j Job) Next() Job {
	bench := map[string]string{}
	for _, name := range BenchNames {
		if v := j.Typed[name]; v != "" {
			bench[name] = v
		}
	}
	next := New(bench)
	next.Level = min(j.Level, SafeLevel)
	return next.on(Driver)
}
