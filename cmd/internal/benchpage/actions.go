package benchpage

import (
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"

	"conewright/cmd/internal/benchjob"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/sound"
	"conewright/ts/notice"
)

// request is what a page sends when something was pressed; each action uses a part of it.
type request struct {
	Screen    benchjob.Screen   `json:"screen"`
	Typed     map[string]string `json:"typed"`
	Name      string            `json:"name"`
	Sheet     string            `json:"sheet"`
	Paper     map[string]string `json:"paper"` // nil: a sheet is named
	Level     float64           `json:"level"`
	Sure      bool              `json:"sure"`
	Mass      string            `json:"mass"`
	Kind      benchjob.Kind     `json:"kind"`
	File      string            `json:"file"`
	Aside     bool              `json:"aside"`
	Output    string            `json:"output"`
	Input     string            `json:"input"`
	GoesWrong string            `json:"goesWrong"`
	Part      Part              `json:"part"`
	Ohm       string            `json:"ohm"`
	Box       benchjob.Box      `json:"box"`
	Of        benchjob.Part     `json:"of"` // what is recorded on the screen of parts
}

// action carries out what was pressed on a page. The desk is locked.
type action func(d *Desk, page string, r request) error

// actions by their names. Those that are not in whileSweeping wait for the end of a sweep.
var actions = map[string]action{
	"show": func(d *Desk, _ string, r request) error { return d.step(d.job.Show(r.Screen)) },
	"bench": func(d *Desk, _ string, r request) error {
		next, err := d.job.WithBench(r.Typed)
		if err != nil {
			return err
		}
		if _, _, err := d.opt.Workshop.Settings(next.Typed); err != nil {
			return err
		}
		if err := d.opt.Workshop.Keep(next.Typed); err != nil {
			return err
		}
		d.end(errStopped) // levels and tones were for setting up
		return d.step(next, nil)
	},
	"check": func(d *Desk, page string, r request) error { return d.check(r.Part, r.Typed, r.Ohm, page) },
	"driver": func(d *Desk, _ string, r request) error {
		if r.Sheet != "" && !slices.ContainsFunc(d.opt.Workshop.Sheets(), func(s Sheet) bool { return s.Path == r.Sheet }) {
			return notice.New("job-no-sheet", notice.Facts{"path": r.Sheet})
		}
		next, err := d.job.WithDriver(r.Name, r.Sheet, r.Typed)
		if err != nil {
			return err
		}
		if _, _, err := d.opt.Workshop.Settings(next.Typed); err != nil {
			return err
		}
		if err := d.free(next); err != nil {
			return err
		}
		if r.Paper != nil {
			if next.Sheet, err = d.opt.Workshop.NewSheet(d.dirOf(next), named(r.Paper, next.Name)); err != nil {
				return err
			}
			next.Paper = r.Paper
		} else if next.Sheet, err = d.opt.Workshop.OwnSheet(d.dirOf(next), r.Sheet); err != nil {
			return err
		}
		return d.step(next, nil)
	},
	"level": func(d *Desk, _ string, r request) error { return d.step(d.job.WithLevel(r.Level, r.Sure)) },
	"devices": func(d *Desk, _ string, r request) error {
		d.end(errStopped)
		for _, c := range []struct {
			list []sound.Device
			id   string
			what string
		}{{d.devices.Outputs, r.Output, "output"}, {d.devices.Inputs, r.Input, "input"}} {
			if c.id != "" && !slices.ContainsFunc(c.list, func(e sound.Device) bool { return e.ID == c.id }) {
				return notice.New("sound-unknown-device", notice.Facts{"what": c.what, "device": c.id})
			}
		}
		d.output, d.input = r.Output, r.Input
		d.checked, d.found = Checked{}, nil // was recorded by others
		d.show()
		return nil
	},
	"look": func(d *Desk, _ string, _ request) error {
		d.mu.Unlock()
		d.look()
		d.mu.Lock()
		return nil
	},
	"levels": func(d *Desk, page string, _ request) error { return d.play("levels", page) },
	"tone":   func(d *Desk, page string, _ request) error { return d.play("tone", page) },
	"run-in": func(d *Desk, page string, _ request) error { return d.play("run-in", page) },
	"stop": func(d *Desk, _ string, _ request) error {
		d.end(errStopped)
		return nil
	},
	"parts": func(d *Desk, _ string, _ request) error { return d.step(d.job.ToParts()) },
	"sweep": func(d *Desk, page string, r request) error {
		if d.job.Screen == benchjob.Parts {
			next, err := d.job.WithPart(r.Of)
			if err != nil {
				return err
			}
			if err := d.opt.Workshop.Part(next.Part); err != nil {
				return err
			}
			d.job = next
		}
		return d.sweep(cmp.Or(r.Kind, benchjob.First), page, r.GoesWrong)
	},
	"save": func(d *Desk, page string, _ request) error { return d.save(page) },
	"aside": func(d *Desk, _ string, r request) error {
		if !r.Aside && !d.sweeps[r.File].usable {
			return notice.New("job-unusable", notice.Facts{"file": r.File})
		}
		return d.step(d.job.SetAside(r.File, r.Aside))
	},
	"mass": func(d *Desk, _ string, r request) error {
		if r.Mass != "" {
			if _, err := d.opt.Workshop.Mass(r.Mass); err != nil {
				return &FieldError{"mass", err}
			}
		}
		return d.step(d.job.WithMass(r.Mass))
	},
	"cabinet": func(d *Desk, _ string, r request) error {
		next, err := d.job.WithBox(r.Box)
		if err != nil {
			return err
		}
		if err := d.opt.Workshop.Box(next.Box); err != nil {
			return err
		}
		return d.step(next, nil)
	},
	"judge-cabinet": func(d *Desk, _ string, _ request) error {
		next, err := d.job.JudgeBox()
		if err != nil {
			return err
		}
		return d.say(next, d.opt.Workshop.Cabinet)
	},
	"judge-parts": func(d *Desk, _ string, _ request) error {
		next, err := d.job.JudgeParts()
		if err != nil {
			return err
		}
		return d.say(next, d.opt.Workshop.PartsAnswer)
	},
	"continue": func(d *Desk, _ string, r request) error { return d.goOn(r.File) },
	"repaired": func(d *Desk, _ string, _ request) error { return d.step(d.job.Repaired()) },
	"judge":    func(d *Desk, _ string, _ request) error { return d.judge() },
	"book":     func(d *Desk, _ string, _ request) error { return d.book() },
	"next":     func(d *Desk, _ string, _ request) error { return d.next() },
}

// named gives the values of a data sheet the name of the driver where they have none.
func named(paper map[string]string, driver string) map[string]string {
	paper = maps.Clone(paper)
	paper["name"] = cmp.Or(strings.TrimSpace(paper["name"]), driver)
	return paper
}

var whileSweeping = []string{"stop", "level"}

// judge works out the verdict from the files on the disk.
func (d *Desk) judge() error {
	next, err := d.job.Judge()
	if err != nil {
		return err
	}
	return d.say(next, d.opt.Workshop.Answer)
}

// say goes on to what the sweeps say.
func (d *Desk) say(next benchjob.Job, answer func(dir string, j benchjob.Job) (*report.Report, string, error)) error {
	r, command, err := answer(d.dir(), next)
	if err != nil {
		return err
	}
	a, err := answerOf(r, command)
	if err != nil {
		return err
	}
	if err := d.step(next, nil); err != nil {
		return err
	}
	d.answer = a
	return nil
}

// book keeps the job in the book. What is wrong is said of the button.
func (d *Desk) book() error {
	switch {
	case d.answer == nil:
		return notice.New("job-order", nil)
	case d.unsaved != nil:
		return notice.New("job-unsaved", notice.Facts{"file": d.unsaved.sweep.File})
	}
	a := *d.answer // a page may be writing the other one
	a.Kept = nil
	err := d.remember() // the folder must say what the page shows
	if err == nil {
		var kept Kept
		if kept, err = d.opt.Workshop.Book(d.dir()); err == nil {
			a.Kept = &kept
		}
	}
	d.answer = &a
	d.show()
	if err != nil {
		return &FieldError{"book", err}
	}
	return nil
}

// next begins the job of another driver.
func (d *Desk) next() error {
	if d.unsaved != nil {
		return notice.New("job-unsaved", notice.Facts{"file": d.unsaved.sweep.File})
	}
	d.end(errStopped)
	d.sweeps, d.fits, d.parts = map[string]recorded{}, map[benchjob.Phase]fitted{}, measuredParts{}
	return d.step(d.job.Next(), nil)
}

// do carries out an action by its name.
func (d *Desk) do(name, page string, body []byte) error {
	act, ok := actions[name]
	if !ok {
		return notice.New("page-action", notice.Facts{"action": name})
	}
	var r request
	if len(body) > 0 {
		if err := json.Unmarshal(body, &r); err != nil {
			return notice.New("page-action", notice.Facts{"action": name}).Because(fmt.Errorf("reading the request: %w", err))
		}
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.run != nil && d.run.records() && !slices.Contains(whileSweeping, name) {
		return errBusy
	}
	return act(d, page, r)
}
