//go:build outside && work && unix

package main

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/pgtest"
	"conewright/cmd/internal/s3test"
)

// workKills is how often workers and, as often, the server are killed; docs/reliability.md has the figures of a long run.
var workKills = flag.Int("work-kills", 3, "how often to kill a worker, and how often PostgreSQL")

// sharedBook is a book on a server for a test, and units to be put into it.
type sharedBook struct {
	t       *testing.T
	server  *pgtest.Server
	address string
}

// newSharedBook begins one with a job.
func newSharedBook(t *testing.T, raw string) *sharedBook {
	t.Helper()
	s := &sharedBook{t: t, server: pgtest.Start(t)}
	s.address = s.server.Database(t)
	t.Setenv("CONEWRIGHT_BOOK", s.address)
	t.Setenv("CONEWRIGHT_RAW", raw)
	s.says("job:1 begun", "job", "new", "Lot")
	return s
}

// start starts the program in a process of its own.
func (s *sharedBook) start(out *bytes.Buffer, args ...string) *exec.Cmd {
	s.t.Helper()
	cmd := exec.Command("conewright", args...)
	cmd.Stdout, cmd.Stderr = out, out
	if err := cmd.Start(); err != nil {
		s.t.Fatal(err)
	}
	s.t.Cleanup(func() { cmd.Process.Kill() })
	return cmd
}

// says runs the program, which must succeed and say this.
func (s *sharedBook) says(want string, args ...string) string {
	s.t.Helper()
	var out bytes.Buffer
	if err := s.start(&out, args...).Wait(); err != nil || !strings.Contains(out.String(), want) {
		s.t.Fatalf("%v: %v, without %q:\n%s", args, err, want, out.String())
	}
	return out.String()
}

// tables writes tables of n drivers into a folder, with a manifest.
func tables(t *testing.T, n int) (manifest string) {
	t.Helper()
	folder := t.TempDir()
	lines := "unit,file,serial,dc,station\n"
	for i := range n {
		r, err := parseRecipe(strings.Fields(fmt.Sprintf("seed=%d Mms=%gg", i+1, 42+0.1*float64(i%9))))
		if err != nil {
			t.Fatal(err)
		}
		data, err := r.table()
		if err != nil {
			t.Fatal(err)
		}
		name := fmt.Sprintf("u%d.txt", i)
		if err := os.WriteFile(filepath.Join(folder, name), data, 0o600); err != nil {
			t.Fatal(err)
		}
		lines += fmt.Sprintf("u%d,%s,S-%d,%s,%s\n", i, name, i, map[bool]string{true: "5.58ohm"}[i%4 == 0], stationOf(i))
	}
	manifest = filepath.Join(folder, "lot.csv")
	if err := os.WriteFile(manifest, []byte(lines), 0o600); err != nil {
		t.Fatal(err)
	}
	return manifest
}

// stationOf is the station of a unit of these; some have none.
func stationOf(i int) string { return []string{"line-1", "line-2", ""}[i%3] }

// inFolder is the beginning of the name of a file as job add shows it.
var inFolder = regexp.MustCompile(`"path":"[^"]*/`)

// results are what a book says of the units of a job, in their order, without times.
func results(t *testing.T, place string, job int) []string {
	t.Helper()
	b, err := book.OpenExisting(context.Background(), place)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	var list []string
	err = b.EachUnit(context.Background(), book.Which{Job: job, FitOf: 1}, func(u book.Unit) error {
		list = append(list, fmt.Sprintln(u.Ref.Side, u.Ref.Stage, u.Serial, u.Verdict, u.Values, inFolder.ReplaceAllString(string(u.Fit), `"path":"`)))
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// stations are those of the units of a book that have a result, in the order of their names.
func stations(t *testing.T, place string) []string {
	t.Helper()
	b, err := book.OpenExisting(context.Background(), place)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	of := map[string]string{}
	err = b.EachMeasured(context.Background(), book.Days{}, func(m book.Measured) error { of[m.Ref.Side] = m.Station; return nil })
	if err != nil {
		t.Fatal(err)
	}
	var list []string
	for _, side := range slices.Sorted(maps.Keys(of)) {
		list = append(list, of[side])
	}
	return list
}

// same fails unless two lists of results are equal.
func same(t *testing.T, got, want []string) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%d results, want %d", len(got), len(want))
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("unit %d:\n%.300s\n%.300s", i, got[i], want[i])
		}
	}
}

// Workers compute what job add computes; a file that is no sweep is recorded, and the rest is done.
func TestOutsideWork(t *testing.T) {
	const units = 6
	s := newSharedBook(t, s3test.Start(t).Place)
	manifest := tables(t, units)
	bad := filepath.Join(filepath.Dir(manifest), "bad.txt")
	if err := os.WriteFile(bad, []byte("no sweep at all\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	s.says("6 of 6 units added to job:1, 6 stages to be computed", "work", "add", "job:1", manifest, "--type", "Larch-25", "--operator", "Ilse")
	s.says("0 of 6 units added to job:1, 0 stages to be computed", "work", "add", "job:1", manifest, "--type", "Larch-25", "--operator", "Ilse")
	s.says("1 of 1 units added to job:1, 1 stage to be computed", "work", "add", "job:1", bad)
	wrong := filepath.Join(filepath.Dir(manifest), "wrong.csv")
	if err := os.WriteFile(wrong, []byte("unit,file,station\nu9,u0.txt,line 9\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	var refusal bytes.Buffer
	if err := s.start(&refusal, "work", "add", "job:1", wrong).Wait(); err == nil || !strings.Contains(refusal.String(), `the unit u9: "line 9" is no name for a station`) {
		t.Errorf("%v\n%s", err, refusal.String())
	}
	s.says("7 waiting, 0 worked on, 0 done, 0 failed", "work", "list")
	out := s.says("6 stages computed, 1 failed", "work", "run", "--until-done", "--jobs", "2")
	if !strings.Contains(out, "job:1/bad/as-received failed") {
		t.Error(out)
	}
	if out := s.says("0 waiting, 0 worked on, 6 done, 1 failed", "work", "list"); !regexp.MustCompile(`job:1/bad/as-received .*bad.txt`).MatchString(out) {
		t.Error(out)
	}
	if got, want := stations(t, s.address), []string{"line-1", "line-2", "", "line-1", "line-2", ""}; !slices.Equal(got, want) {
		t.Errorf("stations %q, want %q", got, want)
	}
	got := results(t, s.address, 1)
	s.says("1 stage of 7 to be computed anew", "work", "again", "job:1") // the one that failed
	s.says("nothing came out differently", "job", "recompute", "job:1/u3")
	r, err := parseRecipe(strings.Fields("box=60L leak=15 seed=3"))
	if err != nil {
		t.Fatal(err)
	}
	data, err := r.table()
	if err != nil {
		t.Fatal(err)
	}
	boxed := filepath.Join(filepath.Dir(manifest), "boxed.txt")
	if err := os.WriteFile(boxed, data, 0o600); err != nil {
		t.Fatal(err)
	}
	s.says("1 sweep added", "job", "add", "job:1/u3/in-cabinet", boxed, "--volume", "60L")
	out = s.says("1 stage of cabinets and parts left out: conewright job recompute computes them anew", "work", "again", "job:1/u3")
	if !strings.Contains(out, "of 1 to be computed anew") {
		t.Error(out)
	}

	alone := filepath.Join(t.TempDir(), "book")
	t.Setenv("CONEWRIGHT_BOOK", alone)
	s.says("job:1 begun", "job", "new", "Lot")
	for i := range units {
		name := fmt.Sprintf("u%d", i)
		args := []string{"job", "add", "job:1/" + name + "/as-received", filepath.Join(filepath.Dir(manifest), name+".txt"), "--serial", fmt.Sprintf("S-%d", i), "--type", "Larch-25"}
		if i%4 == 0 {
			args = append(args, "--dc", "5.58ohm")
		}
		if station := stationOf(i); station != "" {
			args = append(args, "--station", station)
		}
		s.says("1 sweep added", args...)
	}
	same(t, got, results(t, alone, 1))
}

// Users in the role of workers, with the SQL that the document shows, may do what workers do.
func TestOutsideWorkersRole(t *testing.T) {
	s := newSharedBook(t, t.TempDir())
	s.says("0 waiting", "work", "list")
	const doc = "../../docs/many-benches.md"
	s.server.SQL(t, s.address, pgtest.Documented(t, doc, "conewright_inspector")+pgtest.Documented(t, doc, "conewright_worker")+
		`CREATE ROLE worker LOGIN IN ROLE conewright_worker; CREATE ROLE bench LOGIN IN ROLE conewright_bench`)
	as := func(user string) {
		t.Setenv("CONEWRIGHT_BOOK", strings.Replace(s.address, pgtest.Owner+"@", user+"@", 1))
	}
	as("worker")
	s.says("2 of 2 units added to job:1, 2 stages to be computed", "work", "add", "job:1", tables(t, 2))
	s.says("2 stages computed, 0 failed", "work", "run", "--until-done")
	as("bench")
	s.says("0 waiting, 0 worked on, 2 done, 0 failed", "work", "list")
	var out bytes.Buffer
	if err := s.start(&out, "work", "again", "job:1", "--book", os.Getenv("CONEWRIGHT_BOOK")).Wait(); err == nil || !strings.Contains(out.String(), "this user may not do that") {
		t.Errorf("a bench gives work:\n%s", out.String())
	}
}

// A worker that is asked to terminate ends within five seconds; what it had begun is done or waits, and another
// worker does the rest.
func TestOutsideWorkerEnds(t *testing.T) {
	s := newSharedBook(t, t.TempDir())
	s.says("60 of 60 units added", "work", "add", "job:1", tables(t, 60))
	var out bytes.Buffer
	worker := s.start(&out, "work", "run", "--jobs", "2")
	s.await(func(done, running int) bool { return done >= 3 })
	asked := time.Now()
	if err := worker.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	if err := worker.Wait(); err != nil {
		t.Errorf("%v\n%s", err, out.String())
	}
	t.Logf("ended after %v", time.Since(asked))
	if time.Since(asked) > 5*time.Second {
		t.Errorf("it took %v to end", time.Since(asked))
	}
	said := s.says(" 0 worked on", "work", "list")
	if !strings.Contains(out.String(), " stages computed, 0 failed") || strings.HasPrefix(said, "0 waiting") {
		t.Errorf("%s\n%s", out.String(), said)
	}
	s.says(" 0 failed", "work", "run", "--until-done")
	s.says("0 waiting, 0 worked on, 60 done, 0 failed", "work", "list")
	if n := len(results(t, s.address, 1)); n != 60 {
		t.Errorf("%d results", n)
	}
}

// await waits until the queue is as wanted.
func (s *sharedBook) await(wanted func(done, running int) bool) {
	s.t.Helper()
	for range 600 {
		counts := strings.Split(s.server.SQL(s.t, s.address, `SELECT count(*) FILTER (WHERE state = 'completed'), count(*) FILTER (WHERE state = 'running') FROM conewright.river_job`), "|")
		done, _ := strconv.Atoi(counts[0])
		running, _ := strconv.Atoi(counts[1])
		if wanted(done, running) {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	s.t.Fatal("the workers do not get on")
}

// worker is a worker that will be killed.
type worker struct {
	cmd   *exec.Cmd
	ended chan bool // closed when it has
}

func (s *sharedBook) worker() worker {
	w := worker{s.start(new(bytes.Buffer), "work", "run", "--jobs", "1", "--limit", "3s"), make(chan bool)}
	go func() {
		w.cmd.Wait()
		close(w.ended)
	}()
	return w
}

func (w worker) kill() {
	w.cmd.Process.Kill()
	<-w.ended
}

// Workers and the server are killed at random moments: in the end every unit is computed once, with the results of a
// run that nobody disturbed.
func TestOutsideWorkersAndServerKilled(t *testing.T) {
	s := newSharedBook(t, t.TempDir())
	units := 30 * *workKills
	manifest := tables(t, units)
	s.says("job:2 begun", "job", "new", "Undisturbed")
	s.says("units added", "work", "add", "job:2", manifest)
	s.says(" 0 failed", "work", "run", "--until-done")
	want := results(t, s.address, 2)

	s.says("units added", "work", "add", "job:1", manifest)
	var out bytes.Buffer
	workers := make([]worker, 2)
	for i := range workers {
		workers[i] = s.worker()
	}
	gone := 0
	for k := range 2 * *workKills {
		time.Sleep(time.Duration(100+rand.IntN(1200)) * time.Millisecond)
		if k%2 == 0 {
			i := rand.IntN(len(workers))
			workers[i].kill()
			workers[i] = s.worker()
			continue
		}
		s.server.Kill(t)
		time.Sleep(time.Duration(rand.IntN(500)) * time.Millisecond)
		s.server.Run(t)
		for i, w := range workers { // one that had only begun may find no server, and ends
			select {
			case <-w.ended:
				gone++
				workers[i] = s.worker()
			default:
			}
		}
	}
	for _, w := range workers {
		w.kill()
	}
	if err := s.start(&out, "work", "run", "--until-done", "--limit", "3s").Wait(); err != nil || !strings.Contains(out.String(), " 0 failed") {
		t.Errorf("%v\n%s", err, out.String())
	}
	again := s.server.SQL(t, s.address, `SELECT count(*) FROM conewright.river_job WHERE state = 'completed' AND args ->> 'job' = '1' AND attempt > 1`)
	t.Logf("%d kills of workers and %d of the server, %d units, %s of them begun more than once; %d workers found no server and ended", *workKills, *workKills, units, again, gone)
	same(t, results(t, s.address, 1), want)
	if states := s.server.SQL(t, s.address, `SELECT DISTINCT state, count(*) OVER () FROM conewright.river_job WHERE args ->> 'job' = '1' GROUP BY state, id`); states != fmt.Sprintf("completed|%d", units) {
		t.Error(states)
	}
}
