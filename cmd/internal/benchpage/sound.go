package benchpage

import (
	"context"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"time"

	"conewright/cmd/internal/benchjob"
	"conewright/cmd/internal/savefile"
	"conewright/cmd/internal/sound"
	"conewright/cmd/internal/take"
	"conewright/cmd/internal/wording"
	"conewright/sweeps"
	"conewright/sweeps/bench"
	"conewright/sweeps/live"
	"conewright/ts"
	"conewright/ts/measured"
	"conewright/ts/notice"
)

// run is one use of the sound device.
type run struct {
	what string // "levels", "tone", "run-in", "sweep", "check" or "save"
	page string // that began it
	stop context.CancelCauseFunc
	done chan struct{}
}

// records says whether something is recorded that an action must not disturb.
func (r *run) records() bool { return slices.Contains([]string{"sweep", "check", "save"}, r.what) }

// unsaved is a sweep that could not be written.
type unsaved struct {
	take  *take.Take
	sweep benchjob.Sweep
}

// tones are the steady tones by what they are for, in Hz: between the harmonics of the
// mains to set the level by, and low to run a suspension in.
var tones = map[string]float64{"tone": 80, "run-in": 25}

const (
	curveEvery = 120 * time.Millisecond // while a sweep plays
	levelEvery = 100 * time.Millisecond
	toneRise   = 0.5 // s in which a tone swells
)

var (
	errStopped  = notice.New("sweep-stopped", nil)
	errPageGone = notice.New("page-gone", nil)
)

func noticeOf(err error) *notice.Notice {
	var n *notice.Notice
	errors.As(err, &n)
	return n
}

// begin takes the sound device for a page and carries out work with it. What the same page
// did before ends first; another page keeps what it has. The desk is locked.
func (d *Desk) begin(what, page string, work func(ctx context.Context, line sound.Line) error) error {
	if !d.pages[page] {
		return errPageGone
	}
	for d.run != nil {
		if d.run.page != page {
			return errBusy
		}
		d.end(errStopped)
	}
	ctx, stop := context.WithCancelCause(d.quit)
	r := &run{what: what, page: page, stop: stop, done: make(chan struct{})}
	d.run, d.problem, d.live = r, nil, liveView{}
	output, input := d.output, d.input
	d.show()
	go func() {
		line, err := d.opt.System.Open(ctx, output, input)
		if err == nil {
			err = work(ctx, line)
		}
		stop(nil)
		d.mu.Lock()
		defer d.mu.Unlock()
		d.run = nil
		if err != nil && !errors.Is(err, context.Canceled) && noticeOf(err) != errStopped {
			d.problem = said(err)
		}
		close(r.done)
		d.show()
	}()
	return nil
}

// end stops the sound and waits until it is silent. The desk is locked.
func (d *Desk) end(why error) {
	r := d.run
	if r == nil {
		return
	}
	r.stop(why)
	d.mu.Unlock()
	<-r.done
	d.mu.Lock()
}

// play plays silence, to show the levels, or a steady tone.
func (d *Desk) play(what, page string) error {
	return d.begin(what, page, func(ctx context.Context, line sound.Line) error {
		rate := line.Rate()
		samples := make([]float64, rate) // a whole number of periods, so that it goes round without a click
		for i := range samples {
			samples[i] = math.Sin(2 * math.Pi * tones[what] * float64(i) / float64(rate))
		}
		began := time.Now()
		gain := func() float64 {
			d.mu.Lock()
			defer d.mu.Unlock()
			if ctx.Err() != nil || d.quit.Err() != nil {
				return 0
			}
			return min(1, time.Since(began).Seconds()/toneRise) * math.Pow(10, d.job.Level/20)
		}
		var peak [2]float64
		shown := began
		return line.Run(ctx, sound.Play{Samples: samples, Loop: true, Gain: gain}, func(ch1, ch2 []float64) error {
			peak = [2]float64{max(peak[0], take.Peak(ch1)), max(peak[1], take.Peak(ch2))}
			if time.Since(shown) < levelEvery {
				return nil
			}
			d.mu.Lock()
			d.live.Peak = peak
			d.showLive()
			d.mu.Unlock()
			peak, shown = [2]float64{}, time.Now()
			return nil
		})
	})
}

// sweep records the next sweep.
func (d *Desk) sweep(kind benchjob.Kind, page, goesWrong string) error {
	if d.unsaved != nil {
		return notice.New("job-unsaved", notice.Facts{"file": d.unsaved.sweep.File})
	}
	next, err := d.job.Plan(kind, d.taken)
	if err != nil {
		return err
	}
	connected, cond, err := d.opt.Workshop.Settings(d.job.Typed)
	if err != nil {
		return err
	}
	if next.Mass != "" {
		if _, err := d.opt.Workshop.Mass(next.Mass); err != nil {
			return err
		}
	}
	if err := os.MkdirAll(d.dir(), 0o777); err != nil {
		return notice.New("save-failed", notice.Facts{"path": d.dir()}).Because(err)
	}
	signal := d.opt.Sweep
	signal.Level = math.Pow(10, d.job.Level/20)
	return d.begin("sweep", page, func(ctx context.Context, line sound.Line) error {
		d.opt.Workshop.Prepare(next, goesWrong)
		signal.Rate = line.Rate()
		signal := signal.Defaults()
		curve, err := live.NewCurve(connected, signal, signal.Rate)
		if err != nil {
			return err
		}
		state := &liveState{desk: d, curve: curve, cond: cond, free: next.Phase == benchjob.Before || next.Phase == benchjob.After}
		if next.Phase == benchjob.OfParts { // nothing is known of its curve before the known things are counted
			state.curve = nil
		}
		took, err := take.Sweep(ctx, line, signal, state.see)
		if err != nil {
			return err
		}
		return d.keep(unsaved{took, next})
	})
}

// keep writes a sweep and takes it into the job.
func (d *Desk) keep(u unsaved) error {
	d.mu.Lock()
	path := filepath.Join(d.dir(), u.sweep.File)
	typed := d.job.Typed
	d.mu.Unlock()
	err := savefile.Write(path, false, func(w io.WriteSeeker) error {
		return sweeps.WriteWAV(w, u.take.Ch1, u.take.Ch2, u.take.Rate)
	})
	if err != nil {
		d.mu.Lock()
		defer d.mu.Unlock()
		d.unsaved = &u
		return err
	}
	r := d.readNew(u, typed)
	d.mu.Lock()
	defer d.mu.Unlock()
	d.unsaved = nil
	u.sweep.Aside = !r.usable
	d.sweeps[u.sweep.File] = r
	return d.step(d.job.Recorded(u.sweep), nil)
}

// save writes the sweep that could not be written before. It keeps others waiting as the sweep
// did: a second one would find the file in its way. The desk is locked.
func (d *Desk) save(page string) error {
	for d.run != nil {
		if d.run.records() {
			return errBusy
		}
		d.end(errStopped)
	}
	if d.unsaved == nil {
		return nil
	}
	u, r := *d.unsaved, &run{what: "save", page: page, stop: func(error) {}, done: make(chan struct{})}
	d.run = r
	d.mu.Unlock()
	err := d.keep(u)
	d.mu.Lock()
	d.run = nil
	close(r.done)
	d.show()
	return err
}

// readNew turns a sweep that was just made into its impedance; what was seen while it played is
// among its notes, but for a loose contact where the whole sweep tells that as well, and what came of it.
func (d *Desk) readNew(u unsaved, typed map[string]string) recorded {
	var found []wording.Said
	for _, n := range u.take.Found {
		found = append(found, wording.Notice(*n))
	}
	rec, err := bench.NewRecording(u.take.Ch1, u.take.Ch2, float64(u.take.Rate), u.sweep.File)
	if err != nil {
		return recorded{notes: append(found, *said(err))}
	}
	r := d.read(rec, u.sweep, typed)
	if slices.ContainsFunc(r.notes, func(s wording.Said) bool { return s.Code == "unsteady-contact" }) {
		found = slices.DeleteFunc(found, func(s wording.Said) bool { return s.Code == "live-contact" })
	}
	r.notes = append(found, r.notes...)
	return r
}

// read turns a sweep into its impedance.
func (d *Desk) read(rec *bench.Recording, s benchjob.Sweep, typed map[string]string) recorded {
	var r recorded
	if s.Phase == benchjob.OfParts {
		r.usable = true // what it says is found with the known things, all together
		return r
	}
	z, err := func() (measured.Impedance, error) {
		connected, _, err := d.opt.Workshop.Settings(typed)
		if err != nil {
			return measured.Impedance{}, err
		}
		if s.Mass != "" {
			if r.load, err = d.opt.Workshop.Mass(s.Mass); err != nil {
				return measured.Impedance{}, err
			}
		}
		return sweeps.Measure(rec, connected)
	}()
	if err != nil {
		r.notes = append(r.notes, *said(err))
		return r
	}
	r.impedance, r.usable = z, true
	r.notes = append(r.notes, wording.Notices(z.Warnings)...)
	return r
}

// liveState follows a sweep while it plays.
type liveState struct {
	desk  *Desk
	curve *live.Curve // nil: nothing is drawn
	cond  measured.Conditions
	free  bool // the driver is in free air, and its values are shown

	shown time.Time
	peak  [2]float64
	live  liveView
}

// see takes in a block; the curve and the values that it gives are shown some times a second.
func (s *liveState) see(b take.Block) {
	if s.curve != nil {
		s.curve.Push(b.Ch1, b.Ch2)
	}
	for c, p := range b.Peak {
		s.peak[c] = max(s.peak[c], p)
	}
	for _, n := range b.Found {
		s.live.Found = append(s.live.Found, wording.Notice(*n))
	}
	if time.Since(s.shown) < curveEvery {
		return
	}
	s.live.Peak, s.live.Passing, s.live.Part = s.peak, b.Passing, b.Part
	if b.Heard && s.curve != nil {
		if z, err := s.curve.Impedance(b.Began); err == nil {
			s.live.Curve = curveOf(z)
			if s.free {
				if f, err := ts.Fit([]measured.Sweep{{Impedance: z}}, s.cond); err == nil {
					s.live.Values = valuesOf(f.Parameters)
				}
			}
		}
		s.live.Tip = nil
		if z, ok := s.curve.Tip(b.Passing); ok {
			s.live.Tip = pointOf(b.Passing, z)
		}
	}
	s.shown, s.peak = time.Now(), [2]float64{}
	s.desk.mu.Lock()
	defer s.desk.mu.Unlock()
	s.desk.live = s.live
	s.desk.showLive()
}
