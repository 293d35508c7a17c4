package book

import (
	"bytes"
	"context"
	"database/sql"
	"io/fs"
	"os"
	"reflect"
	"testing"

	"conewright/cmd/internal/rawstore"
	"conewright/ts/measured"
	"conewright/ts/param"

	"github.com/pressly/goose/v3"
)

// partOf is a capacitor with the known things that were recorded with it.
func partOf(t *testing.T, content, nominal string) NewPart {
	f, open, load := file(t, "c1.wav", content), file(t, "open.wav", "open"), file(t, "load.wav", "load")
	return NewPart{Part{SHA256: f.SHA256, Name: "c1.wav", Open: open.SHA256, Load: load.SHA256, LoadValue: "100.0ohm", Nominal: nominal, Tolerance: "10 %",
		Operator: "Ilse", Added: day, Made: day, Version: "test", Verdict: "in-spec", Report: []byte(`{"schema":"conewright/part/1"}`)}, []File{f, open, load}}
}

func boxOf(free string) *Cabinet {
	return &Cabinet{Kind: "vented", Volume: "60 L", Tuning: "30 Hz", Free: free, Made: day, Version: "test", Verdict: "in-spec", Report: []byte(`{"schema":"conewright/cabinet/1"}`)}
}

// withCabinet is the filled book with a stage of parts and one in the cabinet of the left driver.
func withCabinet(t *testing.T, place string) (*Book, int) {
	t.Helper()
	ctx := context.Background()
	b, n := filled(t, place)
	for _, a := range []Addition{
		{Ref: Ref{n, "left", Parts}, Parts: []NewPart{partOf(t, "part one", "8uF"), partOf(t, "part two", "")}},
		{Ref: Ref{n, "left", InCabinet}, Sweeps: []NewSweep{sweepOf(t, "boxed", measured.Load{})}, Cabinet: boxOf(RunIn)},
	} {
		if err := b.Add(ctx, a); err != nil {
			t.Fatal(err)
		}
	}
	return b, n
}

func testParts(t *testing.T, place func(*testing.T) string) {
	ctx := context.Background()
	where := place(t)
	b, n := withCabinet(t, where)
	b.Close()
	b = open(t, where)
	j, err := b.Job(ctx, n)
	if err != nil {
		t.Fatal(err)
	}
	left, _ := j.Driver("left")
	want := []Part{partOf(t, "part one", "8uF").Part, partOf(t, "part two", "").Part}
	if got := left.Parts(); !reflect.DeepEqual(got, want) {
		t.Errorf("%+v", got)
	}
	if s, ok := left.LastInCabinet(); !ok || !reflect.DeepEqual(s.Cabinet, boxOf(RunIn)) || s.Result != nil {
		t.Errorf("%+v", s.Cabinet)
	}
	for _, content := range []string{"part one", "part two", "open", "load"} {
		if has, err := b.raw.Has(ctx, hashOf(content)); err != nil || !has {
			t.Errorf("the recording %q is not kept: %v", content, err)
		}
	}
	if s, _ := left.After(); s.Name != RunIn {
		t.Errorf("the driver as it is now is taken from %s", s.Name)
	}
	var names []string
	err = b.EachUnit(ctx, Which{Job: n, Last: true}, func(u Unit) error { names = append(names, u.Ref.String()); return nil })
	if want := []string{Ref{n, "left", RunIn}.String(), Ref{n, "right", AsReceived}.String()}; err != nil || !reflect.DeepEqual(names, want) {
		t.Errorf("units %v, %v", names, err)
	}

	// The same recording once more says anew what the part should be; nothing else changes.
	if err := b.Add(ctx, Addition{Ref: Ref{n, "left", Parts}, Parts: []NewPart{partOf(t, "part two", "6.8uF")}}); err != nil {
		t.Fatal(err)
	}
	want[1].Nominal = "6.8uF"
	if d, err := b.Driver(ctx, Ref{n, "left", ""}); err != nil || !reflect.DeepEqual(d.Parts(), want) {
		t.Errorf("%+v, %v", d.Parts(), err)
	}

	// What was computed is replaced, of parts and of the box.
	anew := partOf(t, "part one", "8uF")
	anew.Verdict = "out-of-spec"
	box := boxOf(RunIn)
	box.Verdict = "undecided"
	for _, a := range []Addition{{Ref: Ref{n, "left", Parts}, Parts: []NewPart{anew}}, {Ref: Ref{n, "left", InCabinet}, Known: 1, Cabinet: box}} {
		if err := b.Renew(ctx, a); err != nil {
			t.Fatal(err)
		}
	}
	d, err := b.Driver(ctx, Ref{n, "left", ""})
	if s, _ := d.LastInCabinet(); err != nil || d.Parts()[0].Verdict != "out-of-spec" || s.Cabinet.Verdict != "undecided" {
		t.Errorf("%+v %+v %v", d.Parts()[0], s.Cabinet, err)
	}

	// An archive has everything, and so has the job that is made of it.
	var z bytes.Buffer
	if err := b.Export(ctx, n, "test", &z); err != nil {
		t.Fatal(err)
	}
	m, err := b.Import(ctx, bytes.NewReader(z.Bytes()), int64(z.Len()), "hall.zip")
	if err != nil {
		t.Fatal(err)
	}
	same, err := b.Driver(ctx, Ref{m, "left", ""})
	if err != nil || !reflect.DeepEqual(same, d) {
		t.Errorf("%v\n%+v\n%+v", err, same, d)
	}
	// What another job uses is not deleted with a job, and what none uses is.
	for i, number := range []int{n, m} {
		if err := b.Delete(ctx, number); err != nil {
			t.Fatal(err)
		}
		for _, content := range []string{"part one", "load", "boxed"} {
			if has, err := b.raw.Has(ctx, hashOf(content)); err != nil || has != (i == 0) {
				t.Errorf("after %d deletions %q is there: %v, %v", i+1, content, has, err)
			}
		}
	}
}

// A copy of the book has the recordings of the parts, and a lost one is found.
func TestBackupOfParts(t *testing.T) {
	ctx := context.Background()
	b, _ := withCabinet(t, t.TempDir())
	to := t.TempDir() + "/copy"
	if err := b.Backup(ctx, to); err != nil {
		t.Fatal(err)
	}
	copied := open(t, to)
	for _, content := range []string{"part one", "open", "load", "boxed"} {
		if has, err := copied.raw.Has(ctx, hashOf(content)); err != nil || !has {
			t.Errorf("%q is not in the copy: %v", content, err)
		}
	}
	for _, content := range []string{"load", "part two"} {
		lost, _ := withCabinet(t, t.TempDir())
		if err := os.Remove(lost.RawPath(hashOf(content))); err != nil {
			t.Fatal(err)
		}
		refused(t, lost.Check(ctx), "book-lost-file")
	}
}

// The driver of a stage in the cabinet is that of the last stage in free air before it.
func TestFreeFor(t *testing.T) {
	stage := func(name string) Stage { return Stage{Name: name, Result: resultOf(30)} }
	d := Driver{Stages: []Stage{stage("in-cabinet-before"), stage(AsReceived), stage(Stripped), stage(NewSurround), {Name: Parts}, stage(InCabinet), stage(RunIn)}}
	for in, want := range map[string]string{"in-cabinet-before": AsReceived, InCabinet: NewSurround, "in-cabinet-new": RunIn} {
		if s, ok := d.FreeFor(in); !ok || s.Name != want {
			t.Errorf("%s: %s, wanted %s", in, s.Name, want)
		}
	}
	if s, ok := (Driver{Stages: []Stage{stage(Stripped), {Name: RunIn}}}).FreeFor(InCabinet); ok {
		t.Errorf("%s is no driver in free air that was fitted", s.Name)
	}
	for name, want := range map[string]bool{InCabinet: true, "in-cabinet-before": true, "in-cabinets": false, Parts: false} {
		if IsInCabinet(name) != want {
			t.Errorf("%s: %v", name, !want)
		}
	}
}

// A book as the first version left it is brought to the newest form: what was said of a driver in the cabinet
// by its sheet for free air is gone, everything else is as it was.
func testOlder(t *testing.T, place func(*testing.T) string) {
	ctx := context.Background()
	where := place(t)
	b := firstVersion(t, where)
	if err := b.write(ctx, func(tx *sql.Tx) error {
		n, err := insert(ctx, tx, `INSERT INTO job (title, customer, contact, work, opened) VALUES ('Old', '', '', '', $1) RETURNING number`, stamp(day))
		if err != nil {
			return err
		}
		for _, name := range []string{AsReceived, InCabinet, "in-cabinet-2"} {
			w := sweepOf(t, name, measured.Load{})
			if err := rawstore.PutFile(ctx, b.raw, w.File.SHA256, w.File.Path); err != nil {
				return err
			}
			if err := b.add(ctx, tx, Addition{Ref: Ref{int(n), "left", name}, Sweeps: []NewSweep{w}, Result: resultOf(31)}); err != nil {
				return err
			}
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	b.Close()
	renewed := open(t, where)
	d, err := renewed.Driver(ctx, Ref{1, "left", ""})
	if err != nil || len(d.Stages) != 3 {
		t.Fatalf("%+v, %v", d, err)
	}
	if r := d.Stages[0].Result; r == nil || r.Values[param.Fs].Value != 31 || string(r.Fit) != `{"schema":"conewright/fit/1"}` {
		t.Errorf("%+v", r)
	}
	for _, s := range d.Stages[1:] {
		if s.Result != nil || s.Cabinet != nil || len(s.Sweeps) != 1 {
			t.Errorf("%s: %+v", s.Name, s)
		}
	}
	var identities int
	if err := renewed.db.QueryRowContext(ctx, `SELECT count(*) FROM job WHERE length(identity) >= 26`).Scan(&identities); err != nil || identities != 1 {
		t.Errorf("%d jobs have an identity, %v", identities, err)
	}
	if renewed.FolderOf() != "" {
		to := open(t, t.TempDir())
		if made, no := send(t, renewed, to, false); len(made) != 4 || len(no) > 0 {
			t.Errorf("sent %v, %v", made, no)
		}
		sameJobs(t, to, renewed)
	}
	if err := renewed.Add(ctx, Addition{Ref: Ref{1, "left", Parts}, Parts: []NewPart{partOf(t, "part", "8uF")}}); err != nil {
		t.Error(err)
	}
}

// firstVersion is a book with the first migration only.
func firstVersion(t *testing.T, place string) *Book {
	t.Helper()
	ctx := context.Background()
	h, err := homeAt(place)
	if err != nil {
		t.Fatal(err)
	}
	b := &Book{home: h}
	if b.db, err = h.connect(); err != nil {
		t.Fatal(err)
	}
	name, dialect := h.schema()
	scripts, err := fs.Sub(migrations, "migrations/"+name)
	if err != nil {
		t.Fatal(err)
	}
	if err := h.mark(ctx, b.db); err != nil {
		t.Fatal(err)
	}
	provider, err := goose.NewProvider(dialect, b.db, scripts)
	if err == nil {
		_, err = provider.UpTo(ctx, 1)
	}
	if err == nil {
		b.raw, err = h.raw(ctx, b.db)
	}
	if err != nil {
		t.Fatal(err)
	}
	return b
}
