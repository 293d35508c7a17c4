package benchjob_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"conewright/cmd/internal/benchjob"
	"conewright/ts/notice"
)

func code(err error) string {
	var n *notice.Notice
	if errors.As(err, &n) {
		return n.Code
	}
	return ""
}

func free(string) bool { return false }

// must carries out steps that have to work.
func must(t *testing.T, j benchjob.Job, steps ...func(benchjob.Job) (benchjob.Job, error)) benchjob.Job {
	t.Helper()
	for _, step := range steps {
		next, err := step(j)
		if err != nil {
			t.Fatal(err)
		}
		j = next
	}
	return j
}

type step = func(benchjob.Job) (benchjob.Job, error)

func withBench(j benchjob.Job) (benchjob.Job, error) {
	return j.WithBench(map[string]string{"resistor": " 10.02 ohm ", "wiring": "probes", "diameter": "1 mm"})
}

func withDriver(j benchjob.Job) (benchjob.Job, error) {
	return j.WithDriver("Left woofer", "larch.toml", map[string]string{"diameter": "210 mm"})
}

func swept(k benchjob.Kind) step {
	return func(j benchjob.Job) (benchjob.Job, error) {
		s, err := j.Plan(k, free)
		return j.Recorded(s), err
	}
}

func withMass(j benchjob.Job) (benchjob.Job, error) { return j.WithMass("20.0 g") }

// The whole job, from the bench to the verdict: each sweep has a kind and a name that says it.
func TestWholeJob(t *testing.T) {
	j := must(t, benchjob.New(nil), withBench, withDriver, swept(benchjob.First), swept(benchjob.Again), swept(benchjob.Reclamped),
		withMass, swept(benchjob.First), benchjob.Job.Repaired, swept(benchjob.First), withMass, swept(benchjob.First), benchjob.Job.Judge)
	var files []string
	for _, s := range j.Sweeps {
		files = append(files, s.File)
	}
	want := []string{"before-free-1.wav", "before-free-2-again.wav", "before-free-3-re-clamped.wav", "before-20.0g-1.wav", "after-free-1.wav", "after-20.0g-1.wav"}
	if !slices.Equal(files, want) {
		t.Errorf("the files are %q", files)
	}
	if j.Screen != benchjob.Verdict || j.Phase != benchjob.After || len(j.Reached) != 5 {
		t.Errorf("it ends on %q, %q", j.Screen, j.Phase)
	}
	if j.Typed["resistor"] != "10.02 ohm" || j.Typed["diameter"] != "210 mm" || j.Typed["wiring"] != "probes" {
		t.Errorf("typed is %q", j.Typed)
	}
	if got := j.Options()["repeat"]; got != "again" { // one of the two was not clamped anew
		t.Errorf("the repeats are %q", got)
	}
	aside, err := j.SetAside("before-free-2-again.wav", true)
	if got := aside.Options()["repeat"]; err != nil || got != "re-clamped" || j.Typed["repeat"] != "" {
		t.Errorf("without the second sweep the repeats are %q", got)
	}
	if !j.Finished() || must(t, j, func(j benchjob.Job) (benchjob.Job, error) { return j.Show(benchjob.Sweeps) }).Finished() {
		t.Error("a job is finished with the verdict after the repair, and not before")
	}
	loud := j
	loud.Level = benchjob.MostLevel
	if got := loud.GoneOnWith(); got.Screen != benchjob.Sweeps || got.Mass != "" || got.Level != benchjob.SafeLevel || len(got.Sweeps) != 6 {
		t.Errorf("after a pause it goes on with %+v", got)
	}
	next := j.Next()
	if next.Screen != benchjob.Driver || len(next.Sweeps) > 0 || next.Typed["resistor"] != "10.02 ohm" || next.Typed["diameter"] != "" || next.Phase != benchjob.Before {
		t.Errorf("the next job begins as %+v", next)
	}
}

func TestStepsThatAreRefused(t *testing.T) {
	bench := must(t, benchjob.New(nil), withBench)
	ready := must(t, bench, withDriver)
	once := must(t, ready, swept(benchjob.First))
	for _, c := range []struct {
		name string
		from benchjob.Job
		step step
		want string
	}{
		{"no resistor", benchjob.New(nil), func(j benchjob.Job) (benchjob.Job, error) { return j.WithBench(nil) }, "job-resistor"},
		{"the driver before the bench", benchjob.New(nil), withDriver, "job-order"},
		{"a sweep before the driver", bench, swept(benchjob.First), "job-order"},
		{"a name of marks only", bench, func(j benchjob.Job) (benchjob.Job, error) { return j.WithDriver("../..", "", nil) }, "job-name"},
		{"another bench in the middle", once, func(j benchjob.Job) (benchjob.Job, error) {
			return j.WithBench(map[string]string{"resistor": "47 ohm"})
		}, "job-bench-in-use"},
		{"another driver in the middle", once, func(j benchjob.Job) (benchjob.Job, error) { return j.WithDriver("Right woofer", "", nil) }, "job-name-in-use"},
		{"a repeat without a kind", once, swept(benchjob.First), "job-kind"},
		{"a mass before the free sweep", ready, withMass, "job-free-first"},
		{"after before before", ready, benchjob.Job.Repaired, "job-free-first"},
		{"a verdict on nothing", ready, benchjob.Job.Judge, "job-free-first"},
		{"a verdict on nothing after the repair", must(t, once, benchjob.Job.Repaired), benchjob.Job.Judge, "job-free-first"},
		{"a mass that is not said", must(t, once, func(j benchjob.Job) (benchjob.Job, error) { return j.WithMass(" ") }), swept(benchjob.First), "job-mass"},
		{"a screen that was not reached", ready, func(j benchjob.Job) (benchjob.Job, error) { return j.Show(benchjob.Verdict) }, "job-order"},
		{"a sweep that is not there", once, func(j benchjob.Job) (benchjob.Job, error) { return j.SetAside("x.wav", true) }, "job-no-sweep"},
		{"loud without being sure", ready, func(j benchjob.Job) (benchjob.Job, error) { return j.WithLevel(-10, false) }, "job-level"},
	} {
		if _, err := c.step(c.from); code(err) != c.want {
			t.Errorf("%s: %v, want %s", c.name, err, c.want)
		}
	}
}

// A step makes a new job and leaves the old one as it was.
func TestStepsLeaveTheOldJob(t *testing.T) {
	once := must(t, benchjob.New(nil), withBench, withDriver, swept(benchjob.First))
	aside := must(t, once, func(j benchjob.Job) (benchjob.Job, error) { return j.SetAside("before-free-1.wav", true) })
	must(t, once, func(j benchjob.Job) (benchjob.Job, error) {
		return j.WithDriver("Left woofer", "", map[string]string{"diameter": "9 mm"})
	})
	if once.Sweeps[0].Aside || once.Typed["diameter"] != "210 mm" || len(aside.Used(benchjob.Before, "")) != 0 {
		t.Errorf("the old job is %+v, the new one %+v", once, aside)
	}
	// What is set aside is repeated by nothing: the next sweep is a first one, with a new name.
	s, err := aside.Plan(benchjob.Again, free)
	if err != nil || s.Kind != benchjob.First || s.File != "before-free-2.wav" {
		t.Errorf("%+v, %v", s, err)
	}
}

// A file that is already on the disk is never planned for again.
func TestPlanAvoidsFiles(t *testing.T) {
	j := must(t, benchjob.New(nil), withBench, withDriver)
	s, err := j.Plan(benchjob.First, func(file string) bool { return strings.Contains(file, "-1.") || strings.Contains(file, "-2.") })
	if err != nil || s.File != "before-free-3.wav" {
		t.Errorf("%+v, %v", s, err)
	}
}

func TestLevel(t *testing.T) {
	j := benchjob.New(nil)
	for _, c := range []struct {
		level float64
		sure  bool
		want  float64
	}{{-30, false, -30}, {-20, false, -20}, {-90, false, -60}, {-10, true, -10}, {-12, false, -12}, {0, true, -3}} {
		next, err := j.WithLevel(c.level, c.sure)
		if err != nil || next.Level != c.want {
			t.Errorf("%g dB gives %g, %v", c.level, next.Level, err)
		}
		j = next
	}
}

func TestFolder(t *testing.T) {
	for name, want := range map[string]string{"Left woofer": "left-woofer", "../../etc": "etc", " Brindle Hall, 10\" (left) ": "brindle-hall-10-left", "...": "", "Größe 2": "größe-2"} {
		if got := benchjob.Folder(name); got != want {
			t.Errorf("%q is kept in %q", name, got)
		}
	}
}
