package dayfiles

import (
	"errors"
	"flag"
	"fmt"
	"iter"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/datatable"
	"conewright/cmd/internal/wording"
	"conewright/ts/notice"
	"conewright/ts/param"
	"conewright/ts/process"
)

// The month of TestMonth; docs/performance.md has the figures of a million units, in a folder that stays.
var (
	monthUnits    = flag.Int("month-units", 2000, "how many units the simulated month of the test has")
	monthDays     = flag.Int("month-days", 4, "on how many days they were measured")
	monthStations = flag.Int("month-stations", 3, "at how many stations")
	monthFolder   = flag.String("month-folder", "", "`folder` in which the month of the test stays")
)

// month is a simulated month: normal values that scatter by 2 %, one in a hundred without Vas.
func month(units, days, stations int) iter.Seq2[book.Measured, error] {
	return func(yield func(book.Measured, error) bool) {
		r := rand.New(rand.NewPCG(19, 20261127))
		usual := []float64{6.2, 31, 4.1, 0.45, 0.405, 0.042, 0.00063, 2, 10.5, 0.12}
		u := book.Measured{Type: "Larch-25", Values: make([]book.Value, len(book.Kept))}
		for i := range units {
			day := i * days / units
			inDay := i - (day*units+days-1)/days
			station := inDay * stations / ((units + days - 1) / days)
			u.Day = fmt.Sprintf("2026-11-%02d", day+1)
			u.At = fmt.Sprintf("%sT%02d:%02d:%02dZ", u.Day, 6+i%16, i/16%60, i/960%60)
			u.Ref, u.Serial, u.Station = book.Ref{Job: 1 + i/1000, Side: fmt.Sprintf("u%d", i), Stage: book.AsReceived}, fmt.Sprintf("s%07d", i), fmt.Sprintf("%02d", station)
			if u.Verdict = "in-spec"; i%20 == 7 {
				u.Verdict = "out-of-spec"
			}
			for k, x := range usual {
				u.Values[k] = book.Value{Value: x * (1 + 0.02*r.NormFloat64()), Std: x * 0.005 * (1 + 0.1*r.NormFloat64())}
			}
			if i%100 == 50 {
				u.Values[len(usual)-1] = book.Value{Value: math.NaN(), Std: math.NaN()}
			}
			if !yield(u, nil) {
				return
			}
		}
	}
}

// write writes units and counts what became of the files.
func write(t *testing.T, folder string, units iter.Seq2[book.Measured, error]) map[State]int {
	t.Helper()
	files := map[State]int{}
	if err := Write(folder, book.Days{}, units, func(w Written) error { files[w.State]++; return nil }); err != nil {
		t.Fatal(err)
	}
	return files
}

func wantFiles(t *testing.T, what string, got, want map[State]int) {
	t.Helper()
	if fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("%s: %v files, want %v", what, got, want)
	}
}

// TestMonth: what is read is what was written, in its order.
func TestMonth(t *testing.T) {
	folder := *monthFolder
	if folder == "" {
		folder = t.TempDir()
	}
	n, parts := *monthUnits, *monthDays**monthStations
	wantFiles(t, "first", write(t, folder, month(n, *monthDays, *monthStations)), map[State]int{New: parts})
	list, err := Parts(folder, book.Days{})
	if err != nil || len(list) != parts || list[0].Day != "2026-11-01" || list[0].Station != "00" {
		t.Fatalf("%d files from %+v, %v", len(list), list[0], err)
	}
	next, stop := iter.Pull2(month(n, *monthDays, *monthStations))
	defer stop()
	var sums [param.Count]process.Sums
	units, outOfSpec, bytes := 0, 0, int64(0)
	for _, p := range list {
		info, err := os.Stat(p.path)
		if err != nil {
			t.Fatal(err)
		}
		bytes += info.Size()
		g, err := p.Read(book.Days{})
		if err != nil {
			t.Fatal(err)
		}
		units, outOfSpec = units+g.Units, outOfSpec+g.OutOfSpec
		for i := range g.Units {
			u, _, ok := next()
			if !ok || u.Day != p.Day || u.Station != p.Station {
				t.Fatalf("unit %d of %+v is %+v", i, p, u)
			}
			for k, v := range u.Values {
				if got := g.Values[k][i]; got != v.Value && !(math.IsNaN(got) && math.IsNaN(v.Value)) {
					t.Fatalf("%v of unit %d of %+v: %v, want %v", book.Kept[k], i, p, got, v.Value)
				}
			}
		}
		for k := range g.Sums {
			sums[k].Join(g.Sums[k])
		}
	}
	if units != n || outOfSpec != n/20 || sums[0].N != n || sums[len(book.Kept)-1].N != n-n/100 {
		t.Errorf("%d units, %d out of spec, %d with Re, %d with Vas", units, outOfSpec, sums[0].N, sums[len(book.Kept)-1].N)
	}
	t.Logf("%.1f bytes a unit", float64(bytes)/float64(n))
}

// TestAgain: only what is new or different is written once more, and what is no longer in the book is told.
func TestAgain(t *testing.T) {
	folder := t.TempDir()
	write(t, folder, month(120, 4, 3))
	at := map[string]os.FileInfo{}
	list, _ := Parts(folder, book.Days{})
	for _, p := range list {
		at[p.path], _ = os.Stat(p.path)
	}
	wantFiles(t, "the same", write(t, folder, month(120, 4, 3)), map[State]int{Same: 12})
	other := func(yield func(book.Measured, error) bool) {
		i := 0
		for u := range month(120, 4, 3) {
			i++
			switch {
			case i == 15: // in the second file
				u.Verdict = "undecided"
			case u.Day == "2026-11-03" && u.Station == "01":
				continue
			case u.Day == "2026-11-04" && u.Station == "02":
				u.Station = ""
			}
			if !yield(u, nil) {
				return
			}
		}
	}
	wantFiles(t, "different", write(t, folder, other), map[State]int{Same: 9, New: 1, Changed: 1, Gone: 2})
	changed := 0
	for path, before := range at {
		if after, err := os.Stat(path); err != nil || !os.SameFile(before, after) {
			changed++
		}
	}
	if changed != 1 {
		t.Errorf("%d files were replaced", changed)
	}
	unnamed, err := Parts(folder, book.Days{From: "2026-11-04"})
	if err != nil || len(unnamed) != 4 || unnamed[0].Station != "" {
		t.Errorf("%+v, %v", unnamed, err)
	}
	if left, _ := filepath.Glob(filepath.Join(folder, "*", "*", ".*")); left != nil {
		t.Errorf("left behind: %v", left)
	}
}

// TestRefused: files of another origin and damaged ones stay, and a book that cannot be read leaves no half file.
func TestRefused(t *testing.T) {
	nothing := func(Written) error { return nil }
	refused := func(what string, err error, code, hint string) {
		t.Helper()
		var n *notice.Notice
		if !errors.As(err, &n) || n.Code != code {
			t.Errorf("%s: %v, want %s", what, err, code)
			return
		}
		if _, says := wording.Error(err); !strings.Contains(says, hint) {
			t.Errorf("%s: the hint is %q", what, says)
		}
	}
	folder := t.TempDir()
	path := partOf(folder, "2026-11-01", "00").path
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		t.Fatal(err)
	}
	for content, code := range map[string]string{"no table": "days-damaged", foreign(t): "days-other"} {
		if err := os.WriteFile(path, []byte(content), 0o666); err != nil {
			t.Fatal(err)
		}
		refused(code, Write(folder, book.Days{}, month(10, 1, 1), nothing), code, "move")
		if now, _ := os.ReadFile(path); string(now) != content {
			t.Errorf("%s: the file was replaced", code)
		}
		_, err := partOf(folder, "2026-11-01", "00").Read(book.Days{})
		refused("read", err, "days-damaged", "job units")
	}

	lost := errors.New("lost")
	folder = t.TempDir()
	err := Write(folder, book.Days{}, func(yield func(book.Measured, error) bool) {
		for u := range month(10, 1, 1) {
			if !yield(u, nil) || u.Serial == "s0000005" && !yield(book.Measured{}, lost) {
				return
			}
		}
	}, nothing)
	if list, _ := filepath.Glob(filepath.Join(folder, "*", "*", "*")); !errors.Is(err, lost) || list != nil {
		t.Errorf("%v, and %v is left", err, list)
	}
}

// foreign is a Parquet file of another origin.
func foreign(t *testing.T) string {
	t.Helper()
	var b strings.Builder
	w := datatable.NewParquet(&b, "x", []datatable.Column{{Name: "x"}})
	if err := errors.Join(w.Row([]datatable.Cell{datatable.Text("1")}), w.Close()); err != nil {
		t.Fatal(err)
	}
	return b.String()
}
