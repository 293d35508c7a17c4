package main

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	_ "modernc.org/sqlite"
)

// The lot of TestLotOfTheBook; docs/performance.md has the figures of 100,000 units, in a folder that stays.
var (
	lotUnits  = flag.Int("lot-units", 300, "how many units the book of the test has")
	lotFolder = flag.String("lot-folder", "", "`folder` in which the book of the test stays")
)

// conewright runs a command and returns what it says.
func conewright(t *testing.T, wantCode int, args ...string) (said, complaints string) {
	t.Helper()
	var out, errs bytes.Buffer
	if code := run(args, strings.NewReader(""), &out, &errs); code != wantCode {
		t.Fatalf("%s: exit code %d\n%s", strings.Join(args, " "), code, errs.String())
	}
	return out.String(), errs.String()
}

// bookOfUnits makes a book with one real unit of the type Larch-25 and copies of it whose values of Fs
// run through a range of 10 %, every tenth out of spec and every twentieth undecided.
func bookOfUnits(t *testing.T, folder string, units int) {
	t.Helper()
	makeLot(t, 1)
	if err := os.WriteFile("fs.toml", []byte("[limits]\nFs = { nominal = \"31 Hz\", tolerance = \"10 %\" }\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	conewright(t, 0, "job", "new", "Lot", "--book", folder)
	conewright(t, 0, "job", "add", "job:1/u1/as-received", "u000.csv", "--type", "Larch-25", "--spec", "fs.toml", "--book", folder)
	db, err := sql.Open("sqlite", filepath.Join(folder, "book.sqlite"))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	tx, err := db.BeginTx(context.Background(), nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, statement := range []string{
		`INSERT INTO driver (id, job, side, type, serial, sheet, sheet_name) SELECT i, job, 'u' || i, type, 's' || i, sheet, sheet_name FROM driver, n WHERE id = 1`,
		`INSERT INTO stage (id, driver, name, bench, calibration) SELECT i, i, name, bench, calibration FROM stage, n WHERE id = 1`,
		`INSERT INTO sweep (stage, sha256, name, load, load_value, load_std, repeat, operator, added, version)
			SELECT i, sha256, name, load, load_value, load_std, repeat, operator, added, version FROM sweep, n WHERE id = 1`,
		`INSERT INTO result SELECT i, measured, made, version, CASE WHEN i % 20 = 0 THEN 'undecided' WHEN i % 10 = 5 THEN 'out-of-spec' ELSE verdict END,
			Re, Re_std, Fs * (0.95 + 0.1 * (i * 37 % 101) / 100.0), Fs_std, Qms, Qms_std, Qes, Qes_std, Qts, Qts_std, Mms, Mms_std, Cms, Cms_std, Rms, Rms_std, BL, BL_std, Vas, Vas_std
			FROM result, n WHERE stage = 1`,
		`INSERT INTO report SELECT i, fit FROM report, n WHERE stage = 1`,
	} {
		numbers := fmt.Sprintf(`WITH RECURSIVE n(i) AS (SELECT 2 UNION ALL SELECT i + 1 FROM n WHERE i < %d) `, units)
		if _, err := tx.Exec(numbers + statement); err != nil {
			t.Fatal(err)
		}
	}
	if err := tx.Commit(); err != nil {
		t.Fatal(err)
	}
}

// TestLotOfTheBook: units, verdicts and statistics are those that the book keeps, without a sweep being
// read again.
func TestLotOfTheBook(t *testing.T) {
	folder := *lotFolder
	if folder == "" {
		folder = t.TempDir()
	}
	n := *lotUnits
	bookOfUnits(t, folder, n)
	var one struct {
		Parameters struct{ Fs struct{ Value float64 } }
	}
	fit, _ := conewright(t, 0, "fit", "job:1/u1", "--book", folder, "--json")
	if err := json.Unmarshal([]byte(fit), &one); err != nil {
		t.Fatal(err)
	}
	said, _ := conewright(t, 3, "batch", "book:Larch-25", "--book", folder, "--json")
	lines := strings.Split(strings.TrimSpace(said), "\n")
	if len(lines) != n+1 {
		t.Fatalf("%d lines for %d units", len(lines), n)
	}
	var unit struct {
		Unit, Verdict string
		About         map[string]string
	}
	if err := json.Unmarshal([]byte(lines[4]), &unit); err != nil || unit.Unit != "job:1/u5" || unit.Verdict != "out-of-spec" || unit.About["serial"] != "s5" || unit.About["stage"] != "as-received" {
		t.Errorf("%+v, %v", unit, err)
	}
	var sum struct {
		Units, Undecided int
		Out              int `json:"out_of_spec"`
		Statistics       struct{ Fs struct{ Median, Std float64 } }
		Process          struct {
			Fs struct {
				Pp       struct{ Value float64 }
				Measured float64 `json:"measured_share"`
			}
		}
		Pairs []any
	}
	if err := json.Unmarshal([]byte(lines[n]), &sum); err != nil {
		t.Fatal(err)
	}
	if sum.Units != n || sum.Undecided != n/20 || sum.Out != (n+5)/10 || len(sum.Pairs) != 0 {
		t.Errorf("%+v", sum)
	}
	// Fs runs evenly through 10 %: a standard deviation of 10 %/sqrt(12).
	wantStd := one.Parameters.Fs.Value * 0.1 / math.Sqrt(12)
	if math.Abs(sum.Statistics.Fs.Median/one.Parameters.Fs.Value-1) > 2e-3 || math.Abs(sum.Statistics.Fs.Std/wantStd-1) > 0.05 {
		t.Errorf("Fs: median %.4f, std %.4f, wanted %.4f, %.4f", sum.Statistics.Fs.Median, sum.Statistics.Fs.Std, one.Parameters.Fs.Value, wantStd)
	}
	// What the measurement scatters is known from the fits, and is not the process's: 6.2 Hz in six standard
	// deviations of the rest.
	m := sum.Process.Fs.Measured
	if want := 6.2 / (6 * wantStd * math.Sqrt(1-m)); !(m > 0.02 && m < 0.5) || math.Abs(sum.Process.Fs.Pp.Value/want-1) > 0.05 {
		t.Errorf("share of the measurement %.3f, Pp %.3f, wanted %.3f", m, sum.Process.Fs.Pp.Value, want)
	}
}

// TestLotOfTheBookRefusals: what is no lot, and another sheet.
func TestLotOfTheBookRefusals(t *testing.T) {
	folder := t.TempDir()
	bookOfUnits(t, folder, 30)
	if _, said := conewright(t, 2, "batch", "book:", "--book", folder); !strings.Contains(said, "several types") {
		t.Error(said)
	}
	if _, said := conewright(t, 1, "batch", "book:Oak-10", "--book", folder, "--tables", "oak"); !strings.Contains(said, `no unit of the type "Oak-10"`) {
		t.Error(said)
	}
	if files, err := filepath.Glob("oak/*"); err != nil || len(files) > 0 {
		t.Errorf("tables of no unit: %v, %v", files, err)
	}
	// What would change nothing is not passed over in silence.
	for _, c := range []struct {
		more []string
		want string
	}{
		{[]string{"u000.csv"}, "book:Larch-25 is not a file"},
		{[]string{"--groups", "shift"}, `no column "shift"`},
		{[]string{"--leads", "0.1ohm"}, "bench options change nothing"},
		{[]string{"--resume", "-o", "lot.txt"}, "leave --resume out"},
	} {
		if _, said := conewright(t, 2, append([]string{"batch", "book:Larch-25", "--book", folder}, c.more...)...); !strings.Contains(said, c.want) {
			t.Error(said)
		}
	}
	if err := os.WriteFile("tight.toml", []byte("[limits]\nFs = { max = \"20 Hz\" }\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	if said, _ := conewright(t, 3, "batch", "book:Larch-25", "--book", folder, "--spec", "tight.toml"); !strings.Contains(said, "0 in spec, 30 out of spec") {
		t.Error(said)
	}
	conewright(t, 0, "job", "set", "job:1/u7", "--spec", "tight.toml", "--book", folder)
	if _, said := conewright(t, 2, "batch", "book:Larch-25", "--book", folder); !strings.Contains(said, "2 different sheets") {
		t.Error(said)
	}
}
