package book

import (
	"context"
	"database/sql"
	"fmt"
	"os"
	"reflect"
	"slices"
	"sync"
	"testing"

	"conewright/cmd/internal/saved"
	"conewright/ts/measured"
)

// send sends a book and returns the steps that changed the other one, and those that it refused.
func send(t testing.TB, from, to *Book, all bool) (made []string, refused map[string]error) {
	t.Helper()
	refused = map[string]error{}
	err := from.Send(context.Background(), to, all, func(s Sent) {
		switch {
		case s.Err != nil:
			refused[s.Ref.String()] = s.Err
		case s.New:
			made = append(made, s.Ref.String())
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	return made, refused
}

// sameJobs fails unless the jobs of two books, from the first on, are the same in all but their numbers, and
// their raw files.
func sameJobs(t testing.TB, got, want *Book) {
	t.Helper()
	if g, w := allJobs(t, got), allJobs(t, want); !reflect.DeepEqual(g, w) {
		t.Errorf("\n%+v\n%+v", g, w)
	}
}

// allJobs are the jobs of a book in their order, without their numbers.
func allJobs(t testing.TB, b *Book) []Job {
	t.Helper()
	ctx := context.Background()
	list, err := b.Jobs(ctx, "", 100000)
	if err != nil {
		t.Fatal(err)
	}
	var jobs []Job
	for _, s := range slices.Backward(list) {
		j, err := b.Job(ctx, s.Number)
		if err != nil {
			t.Fatal(err)
		}
		for _, hash := range hashesOf(j) {
			if _, err := b.RawFile(ctx, hash); err != nil {
				t.Error(err)
			}
		}
		j.Number = 0
		jobs = append(jobs, j)
	}
	return jobs
}

// stagesInOrder are the stages of a book in the order in which they began, with the titles of their jobs.
func stagesInOrder(t testing.TB, b *Book) []string {
	t.Helper()
	var list []string
	err := b.read(context.Background(), func(rows *sql.Rows) error {
		var title, side, stage string
		err := rows.Scan(&title, &side, &stage)
		list = append(list, title+"/"+side+"/"+stage)
		return err
	}, `SELECT j.title, d.side, s.name FROM stage s JOIN driver d ON d.id = s.driver JOIN job j ON j.number = d.job ORDER BY s.id`)
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// left is what a book still has to send.
func left(t testing.TB, b *Book) (jobs, stages int) {
	t.Helper()
	o, err := b.Outgoing(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range o.Stages {
		stages += n
	}
	return len(o.Jobs), stages
}

func testSend(t *testing.T, place func(*testing.T) string) {
	ctx := context.Background()
	from, n := filled(t, t.TempDir())
	to := open(t, place(t))
	if _, err := to.NewJob(ctx, Job{Title: "of the other", Opened: day}); err != nil {
		t.Fatal(err)
	}
	if err := to.Delete(ctx, 1); err != nil { // numbers are not the same there
		t.Fatal(err)
	}
	second, err := from.NewJob(ctx, Job{Title: "second", Opened: day})
	if err != nil {
		t.Fatal(err)
	}
	add := func(number int, stage, content string, known int) {
		t.Helper()
		a := Addition{Ref: Ref{number, "left", stage}, Sweeps: []NewSweep{sweepOf(t, content, measured.Load{})}, Known: known}
		if IsInCabinet(stage) {
			a.Cabinet = boxOf("")
		} else {
			a.Result = resultOf(40 + float64(known))
		}
		if err := from.Add(ctx, a); err != nil {
			t.Fatal(err)
		}
	}
	add(second, AsReceived, "second, one", 0)
	add(n, InCabinet, "first, in the cabinet", 0) // after the first stage of another job

	made, refused := send(t, from, to, false)
	want := []string{"job:1", "job:1/left/as-received", "job:1/left/run-in", "job:1/right/as-received", "job:2", "job:2/left/as-received", "job:1/left/in-cabinet"}
	if !slices.Equal(made, want) || len(refused) > 0 {
		t.Errorf("%v, %v", made, refused)
	}
	sameJobs(t, to, from)
	if got, want := stagesInOrder(t, to), stagesInOrder(t, from); !slices.Equal(got, want) {
		t.Errorf("%v\n%v", got, want)
	}
	for _, all := range []bool{false, true} {
		if made, refused := send(t, from, to, all); len(made)+len(refused) > 0 {
			t.Errorf("again: %v, %v", made, refused)
		}
	}
	o, err := from.Outgoing(ctx)
	if err != nil || o.There[n] != 2 || o.There[second] != 3 || len(o.Jobs)+len(o.Stages) > 0 {
		t.Errorf("%+v, %v", o, err)
	}

	for _, change := range []struct {
		name string
		make func() error
		want []string
	}{
		{"text", func() error { return from.Change(ctx, n, "", "Oxmoor Hall", "", "") }, []string{"job:1"}},
		{"sweep", func() error { add(second, AsReceived, "second, two", 1); return nil }, []string{"job:2/left/as-received"}},
		{"stage", func() error { add(second, RunIn, "second, run in", 0); return nil }, []string{"job:2/left/run-in"}},
		{"result", func() error {
			return from.Renew(ctx, Addition{Ref: Ref{n, "right", AsReceived}, Known: 1, Result: resultOf(77)})
		}, []string{"job:1/right/as-received"}},
		{"no result", func() error { return from.Renew(ctx, Addition{Ref: Ref{n, "right", AsReceived}, Known: 1}) }, []string{"job:1/right/as-received"}},
		{"bench", func() error {
			return from.Renew(ctx, Addition{Ref: Ref{n, "right", AsReceived}, Known: 1, Bench: saved.Settings{{Name: "dc", Value: "5.6ohm"}}})
		}, []string{"job:1/right/as-received"}},
		{"sweep without a result", func() error {
			return from.Add(ctx, Addition{Ref: Ref{n, "right", AsReceived}, Known: 1, Bench: saved.Settings{{Name: "dc", Value: "5.6ohm"}}, Sweeps: []NewSweep{sweepOf(t, "right, two", measured.Load{})}})
		}, []string{"job:1/right/as-received"}},
		{"first result", func() error {
			return from.Renew(ctx, Addition{Ref: Ref{n, "right", AsReceived}, Known: 2, Bench: saved.Settings{{Name: "dc", Value: "5.6ohm"}}, Result: resultOf(78)})
		}, []string{"job:1/right/as-received"}},
		{"sweep in the cabinet", func() error {
			return from.Add(ctx, Addition{Ref: Ref{n, "left", InCabinet + "-new"}, Sweeps: []NewSweep{sweepOf(t, "first, in the new cabinet", measured.Load{})}})
		}, []string{"job:1/left/in-cabinet-new"}},
		{"first cabinet", func() error {
			return from.Renew(ctx, Addition{Ref: Ref{n, "left", InCabinet + "-new"}, Known: 1, Cabinet: boxOf("")})
		}, []string{"job:1/left/in-cabinet-new"}},
		{"parts", func() error {
			return from.Add(ctx, Addition{Ref: Ref{n, "left", Parts}, Parts: []NewPart{partOf(t, "part one", "8uF"), partOf(t, "part two", "")}})
		}, []string{"job:1/left/parts"}},
		{"part", func() error {
			return from.Add(ctx, Addition{Ref: Ref{n, "left", Parts}, Parts: []NewPart{partOf(t, "part two", "6.8uF")}})
		}, []string{"job:1/left/parts"}},
		{"one part more", func() error {
			return from.Add(ctx, Addition{Ref: Ref{n, "left", Parts}, Parts: []NewPart{partOf(t, "part three", "")}})
		}, []string{"job:1/left/parts"}},
		{"cabinet", func() error {
			return from.Renew(ctx, Addition{Ref: Ref{n, "left", InCabinet}, Known: 1, Cabinet: boxOf(RunIn)})
		}, []string{"job:1/left/in-cabinet"}},
		{"cabinet anew", func() error {
			box := boxOf(RunIn)
			box.Volume = "50 L"
			return from.Renew(ctx, Addition{Ref: Ref{n, "left", InCabinet}, Known: 1, Cabinet: box})
		}, []string{"job:1/left/in-cabinet"}},
		{"driver", func() error {
			_, err := from.Describe(ctx, Ref{second, "left", ""}, About{Type: "Larch 30"}, nil)
			return err
		}, []string{"job:2/left/as-received", "job:2/left/run-in"}},
		{"sheet", func() error {
			_, err := from.Describe(ctx, Ref{second, "left", ""}, About{"", "SN-9", file(t, "larch30.toml", "[limits] ")}, inSpec)
			return err
		}, []string{"job:2/left/as-received", "job:2/left/run-in"}},
	} {
		if err := change.make(); err != nil {
			t.Fatal(err)
		}
		if jobs, stages := left(t, from); jobs+stages != len(change.want) {
			t.Errorf("%s: %d jobs and %d stages are left to send, want %v", change.name, jobs, stages, change.want)
		}
		if made, refused := send(t, from, to, false); !slices.Equal(made, change.want) || len(refused) > 0 {
			t.Errorf("%s: %v, %v", change.name, made, refused)
		}
		if jobs, stages := left(t, from); jobs+stages > 0 {
			t.Errorf("%s: %d jobs and %d stages are left to send", change.name, jobs, stages)
		}
		sameJobs(t, to, from)
	}

	// A third book has nothing yet, and gets everything.
	third := open(t, t.TempDir())
	if made, refused := send(t, from, third, false); len(made) != 10 || len(refused) > 0 {
		t.Errorf("%v, %v", made, refused)
	}
	sameJobs(t, third, from)
	// So what it has can be sent on, and is not doubled.
	if made, refused := send(t, third, to, false); len(made)+len(refused) > 0 {
		t.Errorf("by way of another: %v, %v", made, refused)
	}
	sameJobs(t, to, from)
}

func testSendRefused(t *testing.T, place func(*testing.T) string) {
	ctx := context.Background()
	from, n := filled(t, t.TempDir())
	to := open(t, place(t))
	j, err := from.Job(ctx, n)
	if err != nil {
		t.Fatal(err)
	}
	right := j.Drivers[1].Stages[0].Sweeps[0].SHA256
	// Raw files that are lost or damaged hold up their stage and nothing else.
	content, err := os.ReadFile(from.RawPath(right))
	if err != nil {
		t.Fatal(err)
	}
	const refs = "job:1/right/as-received"
	for code, spoil := range map[string]func() error{
		"book-lost-file":    func() error { return os.Remove(from.RawPath(right)) },
		"book-changed-file": func() error { return os.WriteFile(from.RawPath(right), []byte("five"), 0o600) },
	} {
		if err := spoil(); err != nil {
			t.Fatal(err)
		}
		_, no := send(t, from, to, false)
		refused(t, no[refs], code)
		if len(no) != 1 {
			t.Errorf("%v", no)
		}
	}
	if jobs, stages := left(t, from); jobs != 0 || stages != 1 {
		t.Errorf("%d jobs and %d stages are left to send", jobs, stages)
	}
	if err := os.WriteFile(from.RawPath(right), content, 0o600); err != nil {
		t.Fatal(err)
	}
	if made, no := send(t, from, to, false); !slices.Equal(made, []string{refs}) || len(no) > 0 {
		t.Errorf("%v, %v", made, no)
	}

	// Somebody has added to a stage there.
	add := func(b *Book, number int, content string) {
		t.Helper()
		if err := b.Add(ctx, Addition{Ref: Ref{number, "right", AsReceived}, Sweeps: []NewSweep{sweepOf(t, content, measured.Load{})}, Known: 1, Result: resultOf(50)}); err != nil {
			t.Fatal(err)
		}
	}
	add(to, 1, "added there")
	if made, no := send(t, from, to, true); len(made)+len(no) > 0 {
		t.Errorf("nothing has changed here: %v, %v", made, no)
	}
	add(from, n, "added here")
	_, no := send(t, from, to, false)
	refused(t, no[refs], "send-other-sweeps")
	there, err := to.Job(ctx, 1)
	if err != nil || len(there.Drivers[1].Stages[0].Sweeps) != 2 {
		t.Errorf("%+v, %v", there, err)
	}

	// A job that was deleted there does not come back by itself.
	if err := to.Delete(ctx, 1); err != nil {
		t.Fatal(err)
	}
	if err := from.Change(ctx, n, "changed", "", "", ""); err != nil {
		t.Fatal(err)
	}
	made, no := send(t, from, to, false)
	refused(t, no["job:1"], "send-deleted")
	if len(made) > 0 || len(no) != 1 {
		t.Errorf("%v, %v", made, no)
	}
	if made, no := send(t, from, to, true); len(made) != 4 || len(no) > 0 {
		t.Errorf("%v, %v", made, no)
	}
	sameJobs(t, to, from)

	refused(t, from.Send(ctx, from, false, nil), "send-itself")
	if to.FolderOf() == "" {
		refused(t, to.Send(ctx, from, false, nil), "send-from-server")
	}
}

// Benches send at the same moment, two of them the same book.
func testSendAtOnce(t *testing.T, place func(*testing.T) string) {
	at := place(t)
	open(t, at)
	const benches, jobs = 3, 6
	ctx := context.Background()
	var wait sync.WaitGroup
	for i := range benches {
		folder := t.TempDir()
		from := open(t, folder)
		for k := range jobs {
			n, err := from.NewJob(ctx, Job{Title: fmt.Sprintf("bench %d, job %d", i, k), Opened: day})
			if err != nil {
				t.Fatal(err)
			}
			a := Addition{Ref: Ref{n, "left", AsReceived}, Sweeps: []NewSweep{sweepOf(t, fmt.Sprint(i, k), measured.Load{}), sweepOf(t, fmt.Sprint("the same", k), measured.Load{})}, Result: resultOf(30)}
			if err := from.Add(ctx, a); err != nil {
				t.Fatal(err)
			}
		}
		for range 2 {
			from, to := open(t, folder), open(t, at)
			wait.Go(func() {
				err := from.Send(ctx, to, false, func(s Sent) {
					if s.Err != nil {
						t.Errorf("%s: %v", s.Ref, s.Err)
					}
				})
				if err != nil {
					t.Error(err)
				}
			})
		}
	}
	wait.Wait()
	titles := map[string]int{}
	for _, j := range allJobs(t, open(t, at)) {
		titles[j.Title]++
		if len(j.Drivers) != 1 || len(j.Drivers[0].Stages) != 1 || len(j.Drivers[0].Stages[0].Sweeps) != 2 {
			t.Errorf("%+v", j)
		}
	}
	if len(titles) != benches*jobs {
		t.Errorf("%v", titles)
	}
	for title, n := range titles {
		if n != 1 {
			t.Errorf("%s is there %d times", title, n)
		}
	}
}

// The same job arrives several times at one moment.
func testReceivedAtOnce(t *testing.T, place func(*testing.T) string) {
	at := place(t)
	var books []*Book
	for range 6 {
		books = append(books, open(t, at))
	}
	for round := range 10 {
		var wait, begin sync.WaitGroup
		begin.Add(1)
		numbers := make([]int, len(books))
		for i, b := range books {
			wait.Go(func() {
				begin.Wait()
				s, err := b.receiveJob(context.Background(), fmt.Sprint("identity ", round), Job{Title: "same", Opened: day}, false)
				if err != nil {
					t.Error(err)
				}
				numbers[i] = s.There
			})
		}
		begin.Done()
		wait.Wait()
		if n := slices.Compact(numbers); len(n) != 1 || n[0] == 0 {
			t.Errorf("round %d: %v", round, numbers)
		}
	}
	if n := len(allJobs(t, books[0])); n != 10 {
		t.Errorf("%d jobs", n)
	}
}
