package main

import (
	"bytes"
	"encoding/json"
	"io"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"conewright/cmd/internal/benchjob"
	"conewright/cmd/internal/savefile"
	"conewright/cmd/internal/wording"
	"conewright/sweeps"
)

// pageFolder is a folder of the page that is filled with sweeps of the virtual bench.
type pageFolder struct {
	t    *testing.T
	w    *workshop
	job  benchjob.Job
	path string
}

// sweep takes one and writes down the job, as the page does.
func (f *pageFolder) sweep(k benchjob.Kind) {
	f.t.Helper()
	next, err := f.job.Plan(k, func(string) bool { return false })
	if err != nil {
		f.t.Fatal(err)
	}
	f.w.Prepare(next, "")
	took := takeOne(f.t, f.w)
	err = savefile.Write(filepath.Join(f.path, next.File), false, func(w io.WriteSeeker) error {
		return sweeps.WriteWAV(w, took.Ch1, took.Ch2, took.Rate)
	})
	if err != nil {
		f.t.Fatal(err)
	}
	f.job = f.job.Recorded(next)
	f.write()
}

func (f *pageFolder) write() {
	f.t.Helper()
	data, err := json.Marshal(map[string]any{"schema": "conewright/bench-job/1", "job": f.job})
	if err == nil {
		err = os.WriteFile(filepath.Join(f.path, "job.json"), data, 0o666)
	}
	if err != nil {
		f.t.Fatal(err)
	}
}

// keep keeps the folder in the book.
func (f *pageFolder) keep(want string) {
	f.t.Helper()
	if kept, err := f.w.Book(f.path); err != nil || kept.Says != "this is "+want {
		f.t.Errorf("it says %q, %v; wanted %q", kept.Says, err, want)
	}
}

// in counts in the book what a command with --json says of it.
func (f *pageFolder) in(text string) int {
	f.t.Helper()
	said, _ := conewright(f.t, 0, "job", "show", "job:1", "--json", "--book", filepath.Join(f.w.folder, inventedBook))
	return strings.Count(said, text)
}

func newPageFolder(t *testing.T) *pageFolder {
	t.Helper()
	t.Setenv("CONEWRIGHT_BOOK", filepath.Join(t.TempDir(), "real")) // must stay away
	w := virtualShop(t)
	j := w.begin()
	j, err := j.WithBench(j.Typed)
	if err == nil {
		j, err = j.WithDriver(j.Name, j.Sheet, j.Typed)
	}
	f := &pageFolder{t: t, w: w, job: j, path: filepath.Join(w.folder, "left-woofer")}
	if err == nil {
		err = os.Mkdir(f.path, 0o777)
	}
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// The page keeps its job in the book as often as it is pressed: each sweep once, those that are new
// added to the same job. An invented driver goes into a book of its own.
func TestBenchBookAddsOnlyWhatIsNew(t *testing.T) {
	f := newPageFolder(t)
	sheet := f.job.Sheet
	f.job.Sheet = "" // is chosen later
	f.sweep(benchjob.First)
	f.keep("job:1")
	f.keep("job:1, which has all of these sweeps already; no sweep was added")
	if n := f.in(`"operator"`); n != 1 {
		t.Errorf("%d sweeps after two presses, wanted 1", n)
	}
	f.job.Sheet = sheet
	f.sweep(benchjob.Reclamped)
	f.job, _ = f.job.Repaired()
	f.sweep(benchjob.First)
	f.keep("job:1, which had sweeps of it before; 2 sweeps added")
	f.keep("job:1, which has all of these sweeps already; no sweep was added")
	if n, stages, sheets := f.in(`"operator"`), f.in(`"new-surround"`), f.in(`"sheet_name": "larch.toml"`); n != 3 || stages != 1 || sheets != 1 {
		t.Errorf("%d sweeps, %d times the stage after the repair, %d sheets", n, stages, sheets)
	}
	book := filepath.Join(f.w.folder, inventedBook)
	said, _ := conewright(t, 0, "job", "import", f.path, "--book", book)
	if said != f.path+" is job:1, which has all of these sweeps already; no sweep was added\n" {
		t.Errorf("the command says %q", said)
	}
	if said, _ = conewright(t, 0, "job", "list", "--book", book); strings.Contains(said, "job:2") || !strings.Contains(said, "job:1") {
		t.Errorf("the jobs are %s", said)
	}
	if _, err := os.Stat(os.Getenv("CONEWRIGHT_BOOK")); err == nil {
		t.Error("an invented driver has begun a real book")
	}
	kept, err := f.w.Book(f.path)
	if err != nil {
		t.Fatal(err)
	}
	var pdf bytes.Buffer
	if err := f.w.CustomerSheet(&pdf, kept); err != nil || !bytes.HasPrefix(pdf.Bytes(), []byte("%PDF-")) {
		t.Errorf("the customer's sheet: %v", err)
	}
	if words := f.w.bookWords(); !strings.Contains(words, "invented") || !strings.Contains(words, book) {
		t.Errorf("before the press it says %q", words)
	}
}

// A sheet that is chosen after the driver was kept judges what the book has, and the page says so. Sheets of the
// book can be chosen for other drivers, who get a copy of their own.
func TestBenchBookSheets(t *testing.T) {
	f := newPageFolder(t)
	path := f.job.Sheet
	f.job.Sheet = ""
	f.sweep(benchjob.First)
	f.keep("job:1")
	f.job.Sheet = path
	f.write()
	f.keep("job:1, which has all of these sweeps already; no sweep was added; as received is out of spec by its new sheet")
	if n := f.in(`"verdict": "out-of-spec"`); n != 1 {
		t.Errorf("%d verdicts, wanted 1", n)
	}

	if n := len(f.w.Sheets()); n != 1 {
		t.Errorf("%d sheets, wanted the one that is in the folder as well", n)
	}
	content, err := os.ReadFile(path)
	if err == nil {
		err = os.Remove(path)
	}
	if err != nil {
		t.Fatal(err)
	}
	sheets := f.w.Sheets()
	if len(sheets) != 1 || sheets[0].Name != "Larch 25 stage woofer (larch.toml in the book)" {
		t.Fatalf("the sheets to choose from are %v", sheets)
	}
	dir := filepath.Join(f.w.folder, "right-woofer")
	own, err := f.w.OwnSheet(dir, sheets[0].Path)
	if got, _ := os.ReadFile(own); err != nil || !bytes.Equal(got, content) || own != filepath.Join(dir, "larch-1.toml") {
		t.Errorf("%s holds %q, %v", own, got, err)
	}
	if again, err := f.w.OwnSheet(dir, own); err != nil || again != own {
		t.Errorf("its own sheet becomes %s, %v", again, err)
	}
	conewright(t, 0, "job", "delete", "job:1", "--really", "--book", filepath.Join(f.w.folder, inventedBook))
	if sheets := f.w.Sheets(); len(sheets) != 1 || sheets[0].Path != own {
		t.Errorf("after the job was deleted there are %v", sheets)
	}
}

// What the book has and the page no longer says so is refused, with the job and what to do; nothing
// changes in the book. So are a damaged book, and a folder that cannot be one.
func TestBenchBookRefuses(t *testing.T) {
	f := newPageFolder(t)
	f.sweep(benchjob.First)
	f.sweep(benchjob.Again)
	f.keep("job:1")
	before := f.job
	refused := func(what string, parts ...string) {
		t.Helper()
		_, err := f.w.Book(f.path)
		if err == nil {
			t.Errorf("%s: not refused", what)
			return
		}
		message, hint := wording.Error(err)
		for _, part := range parts {
			if !strings.Contains(message+"|"+hint, part) {
				t.Errorf("%s: %q does not say %q", what, message+"|"+hint, part)
			}
		}
		if hint == "" {
			t.Errorf("%s: nothing says what to do", what)
		}
	}
	changed := func(what string, change func(j *benchjob.Job), part string) {
		t.Helper()
		f.job = before
		change(&f.job)
		f.write()
		refused(what, "job:1", part, "nothing was added", "job delete job:1 --really")
	}
	changed("a sweep left out", func(j *benchjob.Job) { *j, _ = j.SetAside("before-free-2-again.wav", true) }, "before-free-2-again.wav, which is left out")
	changed("no sheet", func(j *benchjob.Job) { j.Sheet = "" }, "spec sheet")
	changed("a meter reading", func(j *benchjob.Job) { j.Typed = maps.Clone(j.Typed); j.Typed["dc"] = "5.6 ohm" }, "dc was typed otherwise")
	f.job = before
	f.write()
	f.keep("job:1, which has all of these sweeps already; no sweep was added")

	book := filepath.Join(f.w.folder, inventedBook, "book.sqlite")
	for _, path := range []string{book + "-wal", book + "-shm"} {
		os.Remove(path)
	}
	junk := bytes.Repeat([]byte("walnut "), 2000)
	if err := os.WriteFile(book, junk, 0o666); err != nil {
		t.Fatal(err)
	}
	refused("a damaged book", book)
	if got, _ := os.ReadFile(book); !bytes.Equal(got, junk) {
		t.Error("the damaged book was changed")
	}
	f.w.book.folder = filepath.Join(f.path, "before-free-1.wav")
	refused("a book in a file", "before-free-1.wav")
}
