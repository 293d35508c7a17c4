package book

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"conewright/cmd/internal/saved"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
)

var day = time.Date(2026, 3, 4, 10, 0, 0, 0, time.UTC)

// suite are the tests that every home of a book must pass; place makes one where no book is yet.
var suite = []struct {
	name string
	test func(t *testing.T, place func(t *testing.T) string)
}{
	{"what is added is there after opening again", testOpeningAgain},
	{"additions that are refused", testRefusedAdditions},
	{"find", testFind},
	{"units", testUnits},
	{"change and describe", testChange},
	{"renew", testRenew},
	{"archive", testArchive},
	{"deletion", testDeletion},
	{"several at once", testSeveralAtOnce},
	{"one driver from several", testOneDriverFromSeveral},
	{"additions and deletions at once", testDeletionsAtOnce},
	{"sent from a folder", testSend},
	{"steps that the other book refuses", testSendRefused},
	{"several send at once", testSendAtOnce},
	{"one job received several times at once", testReceivedAtOnce},
	{"results of some days", testDaysAreFound},
	{"parts and cabinets", testParts},
	{"an older book", testOlder},
	{"a newer book", testNewer},
	{"a large book", testLarge},
	{"killed while writing", testKilledWhileWriting},
}

func runSuite(t *testing.T, place func(t *testing.T) string) {
	for _, s := range suite {
		t.Run(s.name, func(t *testing.T) { s.test(t, place) })
	}
}

func tempFolder(t *testing.T) string { return t.TempDir() }

func TestBookInFolder(t *testing.T) { runSuite(t, tempFolder) }

func open(t *testing.T, place string) *Book {
	t.Helper()
	b, err := Open(context.Background(), place)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	return b
}

func hashOf(content string) string {
	sum := sha256.Sum256([]byte(content))
	return hex.EncodeToString(sum[:])
}

// file writes a file and returns it as something to be kept.
func file(t testing.TB, name, content string) File {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
		t.Fatal(err)
	}
	return File{path, hashOf(content)}
}

// sweepOf is a new sweep with this content.
func sweepOf(t testing.TB, content string, load measured.Load) NewSweep {
	f := file(t, "sweep.csv", content)
	return NewSweep{f, Sweep{SHA256: f.SHA256, Name: "sweep.csv", Load: load, Repeat: "again", Operator: "Ilse", Added: day, Version: "test"}}
}

func resultOf(fs float64) *Result {
	return &Result{Made: day, Version: "test", Verdict: "in-spec", Values: map[param.ID]Value{param.Fs: {fs, 0.1}, param.Re: {5.6, 0.01}}, Fit: []byte(`{"schema":"conewright/fit/1"}`)}
}

// filled is a book with one job: two drivers, the left one at two stages.
func filled(t *testing.T, place string) (*Book, int) {
	t.Helper()
	ctx, b := context.Background(), open(t, place)
	n, err := b.NewJob(ctx, Job{Title: "Stage woofers", Customer: "Brindle Hall", Contact: "caretaker 50%", Opened: day})
	if err != nil {
		t.Fatal(err)
	}
	bench := saved.Settings{{Name: "resistor", Value: "10.02 ohm"}}
	for i, a := range []Addition{
		{Ref: Ref{n, "left", AsReceived}, Bench: bench, Sweeps: []NewSweep{sweepOf(t, "one", measured.Load{}), sweepOf(t, "two", measured.Load{Kind: measured.AddedMass, Value: 0.02, Std: 1e-5})}},
		{Ref: Ref{n, "left", RunIn}, Bench: bench, Calibration: file(t, "cal.json", "{}"), Sweeps: []NewSweep{sweepOf(t, "three", measured.Load{})}},
		{Ref: Ref{n, "right", AsReceived}, Sweeps: []NewSweep{sweepOf(t, "four", measured.Load{})}},
	} {
		a.Result = resultOf(30 + float64(i))
		if err := b.Add(ctx, a); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := b.Describe(ctx, Ref{n, "left", ""}, About{"Larch 25", "SN-7", file(t, "larch.toml", "[limits]")}, inSpec); err != nil {
		t.Fatal(err)
	}
	return b, n
}

// inSpec is a judgement.
func inSpec(Ref, json.RawMessage) (string, error) { return "in-spec", nil }

// refused fails unless err is a notice with this code.
func refused(t *testing.T, err error, code string) {
	t.Helper()
	var n *notice.Notice
	if !errors.As(err, &n) || n.Code != code {
		t.Errorf("got %v, wanted a refusal %s", err, code)
	}
}

func testOpeningAgain(t *testing.T, place func(*testing.T) string) {
	folder := place(t)
	b, n := filled(t, folder)
	want, err := b.Job(context.Background(), n)
	if err != nil {
		t.Fatal(err)
	}
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	got, err := open(t, folder).Job(context.Background(), n)
	if err != nil || !reflect.DeepEqual(got, want) {
		t.Fatalf("%v\n%+v\n%+v", err, got, want)
	}
	left := got.Drivers[0]
	if left.Type != "Larch 25" || left.Serial != "SN-7" || left.SheetName != "larch.toml" || len(left.Stages) != 2 || len(left.Stages[0].Sweeps) != 2 {
		t.Errorf("%+v", left)
	}
	if load := left.Stages[0].Sweeps[1].Load; load != (measured.Load{Kind: measured.AddedMass, Value: 0.02, Std: 1e-5}) {
		t.Errorf("load %+v", load)
	}
	if v := left.Stages[1].Result.Values[param.Fs]; v != (Value{31, 0.1}) {
		t.Errorf("Fs %+v", v)
	}
	if s, _ := left.Before(); s.Name != AsReceived {
		t.Errorf("before is %s", s.Name)
	}
	if s, _ := left.After(); s.Name != RunIn {
		t.Errorf("after is %s", s.Name)
	}
	content, err := os.ReadFile(b.RawPath(left.Stages[0].Sweeps[0].SHA256))
	if err != nil || string(content) != "one" {
		t.Errorf("raw file: %q, %v", content, err)
	}
}

func testRefusedAdditions(t *testing.T, place func(*testing.T) string) {
	ctx := context.Background()
	b, n := filled(t, place(t))
	bench := saved.Settings{{Name: "resistor", Value: "10.02 ohm"}}
	before, _ := b.Job(ctx, n)
	for code, a := range map[string]Addition{
		"book-missing":     {Ref: Ref{n + 1, "left", AsReceived}},
		"book-changed":     {Ref: Ref{n, "left", AsReceived}, Bench: bench, Known: 1},
		"book-other-bench": {Ref: Ref{n, "left", AsReceived}, Known: 2},
		"book-same-sweep":  {Ref: Ref{n, "left", NewSurround}, Sweeps: []NewSweep{sweepOf(t, "five", measured.Load{}), sweepOf(t, "one", measured.Load{})}},
	} {
		refused(t, b.Add(ctx, a), code)
	}
	if after, _ := b.Job(ctx, n); !reflect.DeepEqual(before, after) {
		t.Errorf("a refused addition left something: %+v", after)
	}
}

func testFind(t *testing.T, place func(*testing.T) string) {
	ctx := context.Background()
	b, n := filled(t, place(t))
	for query, found := range map[string]bool{"": true, "brindle": true, "sn-7 hall": true, "SN-8": false, "50%": true, "5_%": false, "care%50": false, "larch": true} {
		list, err := b.Jobs(ctx, query, 10)
		if err != nil || (len(list) == 1) != found {
			t.Errorf("%q: %d jobs, %v", query, len(list), err)
		}
		if found && (list[0].Number != n || list[0].Drivers != 2 || list[0].Last != AsReceived) {
			t.Errorf("%q: %+v", query, list[0])
		}
	}
	for hash, side := range map[string]string{hashOf("three"): "left", hashOf("nine"): ""} {
		if ref, err := b.WithSweep(ctx, hash); err != nil || ref.Side != side {
			t.Errorf("%s: %v, %v", hash, ref, err)
		}
	}
	for kind, want := range map[string]int{"": 1, "Larch 25": 1, "Larch 30": 0} {
		if jobs, err := b.WithRepeats(ctx, kind); err != nil || len(jobs) != want {
			t.Errorf("%q: jobs %v, %v", kind, jobs, err)
		}
	}
	sheets, err := b.Sheets(ctx, "Larch 25")
	if err != nil || !slices.Equal(sheets, []Sheet{{hashOf("[limits]"), "larch.toml", 1}}) {
		t.Errorf("%v, %v", sheets, err)
	}
}

func testUnits(t *testing.T, place func(*testing.T) string) {
	ctx := context.Background()
	b, n := filled(t, place(t))
	left, in, right := "left/as-received", "left/run-in", "right/as-received"
	for _, c := range []struct {
		which Which
		want  []string
	}{
		{Which{}, []string{left, in, right}},
		{Which{Job: n, Last: true}, []string{in, right}},
		{Which{Job: n + 1}, nil},
		{Which{Type: "Larch 25", Serial: "SN-7", Verdict: "in-spec"}, []string{left, in}},
		{Which{Verdict: "out-of-spec"}, nil},
		{Which{Serial: "SN-7", Last: true, FitOf: 1}, []string{in}},
	} {
		var got []string
		err := b.EachUnit(ctx, c.which, func(u Unit) error {
			got = append(got, u.Ref.Side+"/"+u.Ref.Stage)
			if (string(u.Fit) == `{"schema":"conewright/fit/1"}`) != (c.which.FitOf == 1) || !u.Measured.Equal(day) || len(u.Values) != 2 {
				t.Errorf("%+v: %+v", c.which, u)
			}
			return nil
		})
		if err != nil || !slices.Equal(got, c.want) {
			t.Errorf("%+v: %v, %v", c.which, got, err)
		}
	}
}

// What is not said stays as it was.
func testChange(t *testing.T, place func(*testing.T) string) {
	ctx := context.Background()
	b, n := filled(t, place(t))
	_, err := b.Describe(ctx, Ref{n, "left", ""}, About{"", "SN-8", File{}}, nil)
	if err := errors.Join(err, b.Change(ctx, n, "", "Moor Hall", "", "Coils centred.")); err != nil {
		t.Fatal(err)
	}
	j, err := b.Job(ctx, n)
	if err != nil || j.Title != "Stage woofers" || j.Customer != "Moor Hall" || j.Work != "Coils centred." || j.Drivers[0].Type != "Larch 25" || j.Drivers[0].Serial != "SN-8" || j.Drivers[0].SheetName != "larch.toml" {
		t.Errorf("%+v, %v", j, err)
	}
	refused(t, b.Change(ctx, n+1, "x", "", "", ""), "book-missing")
	_, err = b.Describe(ctx, Ref{n + 1, "left", ""}, About{"x", "", File{}}, nil)
	refused(t, err, "book-missing")

	// Another sheet judges every stage anew.
	judged, err := b.Describe(ctx, Ref{n, "left", ""}, About{Sheet: file(t, "other.toml", "[limits] ")}, func(of Ref, fit json.RawMessage) (string, error) {
		if string(fit) != `{"schema":"conewright/fit/1"}` {
			t.Errorf("%v: %s", of, fit)
		}
		return map[string]string{AsReceived: "out-of-spec", RunIn: "undecided"}[of.Stage], nil
	})
	want := []Judged{{AsReceived, "in-spec", "out-of-spec"}, {RunIn, "in-spec", "undecided"}}
	j, _ = b.Job(ctx, n)
	if err != nil || !slices.Equal(judged, want) || j.Drivers[0].Stages[0].Result.Verdict != "out-of-spec" || j.Drivers[0].SheetName != "other.toml" {
		t.Errorf("%v, %+v, %v", judged, j.Drivers[0], err)
	}
}

// A stage gets another bench and another result, if it is still the one that was computed.
func testRenew(t *testing.T, place func(*testing.T) string) {
	ctx := context.Background()
	b, n := filled(t, place(t))
	bench := saved.Settings{{Name: "resistor", Value: "10.12 ohm"}}
	again := Addition{Ref: Ref{n, "left", AsReceived}, Bench: bench, Known: 2, Result: resultOf(29)}
	if err := b.Renew(ctx, again); err != nil {
		t.Fatal(err)
	}
	j, err := b.Job(ctx, n)
	if s := j.Drivers[0].Stages[0]; err != nil || !slices.Equal(s.Bench, bench) || s.Result.Values[param.Fs] != (Value{29, 0.1}) || len(s.Sweeps) != 2 {
		t.Errorf("%+v, %v", s, err)
	}
	again.Known = 1
	refused(t, b.Renew(ctx, again), "book-changed")
	again.Ref.Stage = "none"
	refused(t, b.Renew(ctx, again), "book-missing")
}

func testArchive(t *testing.T, place func(*testing.T) string) {
	ctx := context.Background()
	b, n := filled(t, place(t))
	var z bytes.Buffer
	if err := b.Export(ctx, n, "test", &z); err != nil {
		t.Fatal(err)
	}
	other := open(t, place(t))
	if _, err := other.NewJob(ctx, Job{Title: "takes number 1", Opened: day}); err != nil {
		t.Fatal(err)
	}
	got, err := other.Import(ctx, bytes.NewReader(z.Bytes()), int64(z.Len()), "job.zip")
	if err != nil {
		t.Fatal(err)
	}
	want, _ := b.Job(ctx, n)
	have, err := other.Job(ctx, got)
	want.Number = got
	if err != nil || !reflect.DeepEqual(have, want) {
		t.Fatalf("%v\n%+v\n%+v", err, have, want)
	}
	for _, h := range hashesOf(have) {
		if _, err := os.Stat(other.RawPath(h)); err != nil {
			t.Error(err)
		}
	}
	// A damaged archive, and what is no archive.
	damaged := bytes.Replace(z.Bytes(), []byte("PK\x03\x04"), []byte("PK\x03\x05"), 1)
	_, err = open(t, place(t)).Import(ctx, bytes.NewReader(damaged), int64(len(damaged)), "job.zip")
	refused(t, err, "book-bad-archive")
	_, err = other.Import(ctx, strings.NewReader("no archive"), 10, "job.zip")
	refused(t, err, "book-bad-archive")
}

// What belongs to a deleted job is gone, and what others have stays.
func testDeletion(t *testing.T, place func(*testing.T) string) {
	ctx := context.Background()
	b, n := filled(t, place(t))
	before, err := b.Job(ctx, n)
	if err != nil {
		t.Fatal(err)
	}
	other, shared := withShared(t, b)
	if err := b.Delete(ctx, n); err != nil {
		t.Fatal(err)
	}
	for _, hash := range hashesOf(before) {
		if have, err := b.raw.Has(ctx, hash); err != nil || have != (hash == shared) {
			t.Errorf("%s: %v, %v", hash, have, err)
		}
	}
	if content, err := os.ReadFile(b.RawPath(shared)); err != nil || string(content) != "one" {
		t.Errorf("the file of another job: %q, %v", content, err)
	}
	units := 0
	if err := b.EachUnit(ctx, Which{}, func(Unit) error { units++; return nil }); err != nil || units != 0 {
		t.Errorf("%d units left, %v", units, err)
	}
	_, err = b.Job(ctx, n)
	refused(t, err, "book-missing")
	refused(t, b.Delete(ctx, n), "book-missing")
	if again, err := b.NewJob(ctx, Job{Opened: day}); err != nil || again <= other {
		t.Errorf("the number %d is given again, %v", again, err)
	}
}

// withShared adds a job with a file that the one of filled has too.
func withShared(t *testing.T, b *Book) (job int, hash string) {
	t.Helper()
	job, err := b.NewJob(context.Background(), Job{Title: "Another", Customer: "Moorland Club", Opened: day})
	if err != nil {
		t.Fatal(err)
	}
	shared := sweepOf(t, "one", measured.Load{})
	if err := b.Add(context.Background(), Addition{Ref: Ref{job, "left", AsReceived}, Sweeps: []NewSweep{shared}}); err != nil {
		t.Fatal(err)
	}
	return job, shared.File.SHA256
}

// Nothing of a deleted job is left in any file of a folder.
func TestDeletionOverwrites(t *testing.T) {
	folder := t.TempDir()
	b, n := filled(t, folder)
	withShared(t, b)
	if err := b.Delete(context.Background(), n); err != nil {
		t.Fatal(err)
	}
	raw := 0
	err := filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		if strings.Contains(path, rawFolder+string(filepath.Separator)) {
			raw++
		}
		content, err := os.ReadFile(path)
		for _, word := range []string{"Brindle", "SN-7", "caretaker"} {
			if bytes.Contains(content, []byte(word)) {
				t.Errorf("%s still has %q", path, word)
			}
		}
		return err
	})
	if err != nil || raw != 1 {
		t.Errorf("%d raw files are left, %v", raw, err)
	}
}

// A book that a newer program has changed is refused and left as it is.
func testNewer(t *testing.T, place func(*testing.T) string) {
	at := place(t)
	b, n := filled(t, at)
	if _, err := b.db.Exec(`INSERT INTO goose_db_version (version_id, is_applied) VALUES (99, true)`); err != nil {
		t.Fatal(err)
	}
	_, err := Open(context.Background(), at)
	refused(t, err, "book-newer")
	if _, err := b.Job(context.Background(), n); err != nil {
		t.Error(err)
	}
}

func TestBooksThatAreRefused(t *testing.T) {
	ctx := context.Background()
	exec := func(statement string) func(path string) error {
		return func(path string) error {
			db, err := sql.Open("sqlite", source(path))
			if err != nil {
				return err
			}
			defer db.Close()
			_, err = db.Exec(statement)
			return err
		}
	}
	for code, change := range map[string]func(path string) error{
		"book-newer": exec(`INSERT INTO goose_db_version (version_id, is_applied) VALUES (99, true)`),
		"book-other": exec(`PRAGMA application_id = 0`),
		"book-damaged": func(path string) error {
			content, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			for i := range content[:4096] {
				content[i] ^= 0x5a
			}
			return os.WriteFile(path, content, 0o600)
		},
	} {
		folder := t.TempDir()
		b, _ := filled(t, folder)
		if err := b.Close(); err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(folder, fileName)
		if err := change(path); err != nil {
			t.Fatal(err)
		}
		before, _ := os.ReadFile(path)
		_, err := Open(ctx, folder)
		refused(t, err, code)
		if after, _ := os.ReadFile(path); !bytes.Equal(before, after) {
			t.Errorf("%s: the file was changed", code)
		}
	}
	_, err := OpenExisting(ctx, filepath.Join(t.TempDir(), "none"))
	refused(t, err, "book-none")
}

// Damage behind the head of the file is found by the check, and no backup is made of it.
func TestBackup(t *testing.T) {
	ctx := context.Background()
	folder := t.TempDir()
	b, n := filled(t, folder)
	to := filepath.Join(t.TempDir(), "copy")
	if err := b.Backup(ctx, to); err != nil {
		t.Fatal(err)
	}
	want, _ := b.Job(ctx, n)
	c := open(t, to)
	if got, err := c.Job(ctx, n); err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("%v\n%+v\n%+v", err, got, want)
	}
	for _, h := range hashesOf(want) {
		if _, err := os.Stat(c.RawPath(h)); err != nil {
			t.Error(err)
		}
	}
	refused(t, b.Backup(ctx, to), "book-backup-there")

	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(folder, fileName)
	content, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for i := range 100 { // the head of the last page
		content[len(content)-4096+i] = 0xff
	}
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
	refused(t, open(t, folder).Backup(ctx, filepath.Join(t.TempDir(), "another")), "book-damaged")
}

func TestRefs(t *testing.T) {
	for text, want := range map[string]Ref{"job:12": {12, "", ""}, "12/left": {12, "left", ""}, "job:3/SN-7/run-in": {3, "SN-7", "run-in"}} {
		if got, err := ParseRef(text); err != nil || got != want {
			t.Errorf("%s: %+v, %v", text, got, err)
		}
	}
	for text, code := range map[string]string{"job:": "book-bad-ref", "job:x/left": "book-bad-ref", "job:1/a/b/c": "book-bad-ref", "job:0": "book-bad-ref", "job:1/../x": "book-bad-name", "job:1/": "book-bad-name"} {
		_, err := ParseRef(text)
		refused(t, err, code)
	}
}
