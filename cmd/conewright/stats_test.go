package main

import (
	"database/sql"
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// The month of TestStatsOfAMonth; docs/performance.md has the figures of a million units, in a folder that stays.
var (
	monthUnits    = flag.Int("month-units", 3000, "how many units the simulated month of the test has")
	monthDays     = flag.Int("month-days", 20, "on how many days they were measured")
	monthStations = flag.Int("month-stations", 20, "at how many stations")
	monthFolder   = flag.String("month-folder", "", "`folder` in which the month of the test stays")
)

// monthStatements put a month of units of the type Larch-25 into an empty book that has job:1, in SQL that both homes of
// a book understand. Values scatter by 2 % as a sine at scattered places does; on the 13th Fs is 3 % high, and station 17 measures
// 5 % too much of it. Every tenth unit is out of spec.
func monthStatements(units int) []string {
	values := ""
	for i, q := range []string{"6.2", "31.0", "4.1", "0.45", "0.405", "0.042", "0.00063", "2.0", "10.5", "0.12"} {
		high := ""
		if i == 1 {
			high = fmt.Sprintf(" * (CASE WHEN %s = 13 THEN 1.03 ELSE 1 END) * (CASE WHEN id %% %d = 17 THEN 1.05 ELSE 1 END)", monthDay(units), *monthStations)
		}
		values += fmt.Sprintf(", %s * (1 + 0.02 * sin(id * (id %% 1009) * %.1f))%s, %s * 0.005", q, 1.3+0.7*float64(i), high, q)
	}
	stamp := fmt.Sprintf(`'2026-11-' || CASE WHEN %[1]s < 10 THEN '0' ELSE '' END || %[1]s || 'T12:00:00Z'`, monthDay(units))
	return []string{
		fmt.Sprintf(`WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < %d)
			INSERT INTO driver (job, side, type, serial, sheet, sheet_name) SELECT 1, 'u' || i, 'Larch-25', 's' || i, '', '' FROM n ORDER BY i`, units),
		fmt.Sprintf(`INSERT INTO stage (driver, name, bench, calibration) SELECT id, 'as-received', '{"resistor": "10 ohm", "station": "' || (id %% %d) || '"}', '' FROM driver ORDER BY id`, *monthStations),
		`INSERT INTO result SELECT id, ` + stamp + `, ` + stamp + `, 'test', CASE WHEN id % 10 = 5 THEN 'out-of-spec' ELSE 'in-spec' END` + values + ` FROM stage ORDER BY id`,
	}
}

// monthDay is the day of a stage.
func monthDay(units int) string { return fmt.Sprintf("(1 + (id - 1) * %d / %d)", *monthDays, units) }

// bookOfAMonth makes the book of a month in a folder.
func bookOfAMonth(t *testing.T, folder string) *sql.DB {
	t.Helper()
	conewright(t, 0, "job", "new", "November", "--book", folder)
	db, err := sql.Open("sqlite", filepath.Join(folder, "book.sqlite"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	for _, statement := range monthStatements(*monthUnits) {
		if _, err := db.Exec(statement); err != nil {
			t.Fatal(err)
		}
	}
	return db
}

// monthStats is what the JSON of a month has.
type monthStats struct {
	Units      int
	InSpec     int `json:"in_spec"`
	Statistics map[string]struct {
		Units     int
		Mean, Std float64
	}
	Process map[string]map[string]struct{ Value, Low, High float64 }
	Charts  []struct {
		Quantity, Of string
		Points       []struct {
			Day, Station string
			Units        int
			Mean, Std    float64
		}
		Means struct {
			Centre, Low, High float64
			Signals           []struct {
				Day, Station string
				Rule         int
			}
		}
	}
}

func readStats(t *testing.T, text string) (s monthStats) {
	t.Helper()
	if err := json.Unmarshal([]byte(text), &s); err != nil {
		t.Fatal(err)
	}
	return s
}

// checkMonth compares statistics with what the database says by its own functions, and looks for the day and
// the station that are high.
func checkMonth(t *testing.T, s monthStats, sums func(query string) float64) {
	t.Helper()
	n := *monthUnits
	if s.Units != n || s.InSpec != n-n/10 || s.Statistics["Fs"].Units != n {
		t.Fatalf("%d units, %d in spec, %d with Fs", s.Units, s.InSpec, s.Statistics["Fs"].Units)
	}
	near := func(what string, got, want, relative float64) {
		t.Helper()
		if !(math.Abs(got-want) <= relative*math.Abs(want)) {
			t.Errorf("%s: %.12g, and the database says %.12g", what, got, want)
		}
	}
	near("mean of ln Fs", math.Log(s.Statistics["Fs"].Mean), sums(`SELECT avg(ln(Fs)) FROM result`), 1e-12)
	near("mean of ln Qts", math.Log(s.Statistics["Qts"].Mean), sums(`SELECT avg(ln(Qts)) FROM result`), 1e-12)
	variance := sums(`SELECT sum((Fs - m) * (Fs - m)) / (count(*) - 1) FROM result, (SELECT avg(Fs) AS m FROM result) AS a`)
	near("Pp of Fs", s.Process["Fs"]["Pp"].Value, (33.0-29.0)/(6*math.Sqrt(variance)), 1e-9)
	near("Ppk of Fs", s.Process["Fs"]["Ppk"].Value, (33.0-sums(`SELECT avg(Fs) FROM result`))/(3*math.Sqrt(variance)), 1e-9)

	found := map[string]string{}
	for _, c := range s.Charts {
		if c.Quantity != "Fs" {
			continue
		}
		var high []string
		for _, x := range c.Means.Signals {
			if x.Rule == 1 {
				high = append(high, x.Day+x.Station)
			}
		}
		found[c.Of] = strings.Join(high, " ")
		switch first := c.Points[0]; c.Of {
		case "day":
			near("mean of the 1st", first.Mean, sums(`SELECT avg(Fs) FROM result WHERE measured < '2026-11-02'`), 1e-12)
			if len(c.Points) != *monthDays || first.Day != "2026-11-01" {
				t.Errorf("%d days from %s", len(c.Points), first.Day)
			}
		case "station":
			near("mean of station 0", first.Mean, sums(fmt.Sprintf(`SELECT avg(Fs) FROM result WHERE stage %% %d = 0`, *monthStations)), 1e-12)
			if len(c.Points) != *monthStations || first.Station != "0" {
				t.Errorf("%d stations from %s", len(c.Points), first.Station)
			}
		}
	}
	if found["day"] != "2026-11-13" || found["station"] != "17" {
		t.Errorf("beyond the limits: %v", found)
	}
}

func monthSheet(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "fs.toml")
	if err := os.WriteFile(path, []byte("[limits]\nFs = { min = \"29 Hz\", max = \"33 Hz\" }\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

// TestStatsOfAMonth: the same statistics come from the book and from its Parquet files, and they are those that SQL
// has of the same rows.
func TestStatsOfAMonth(t *testing.T) {
	place := *monthFolder
	if place == "" {
		place = t.TempDir()
	}
	folder, tables, sheet := filepath.Join(place, "book"), filepath.Join(place, "units"), monthSheet(t)
	db := bookOfAMonth(t, folder)
	sums := func(query string) (v float64) {
		t.Helper()
		if err := db.QueryRow(query).Scan(&v); err != nil {
			t.Fatal(err)
		}
		return v
	}
	said, _ := conewright(t, 0, "job", "units", tables, "--book", folder)
	if want := fmt.Sprintf("%d files are new (%d units), 0 written anew (0), 0 as they were (0)\n", *monthDays**monthStations, *monthUnits); !strings.HasSuffix(said, want) {
		t.Errorf("%q", said[max(0, len(said)-200):])
	}
	fromBook, _ := conewright(t, 0, "stats", "book:Larch-25", "--book", folder, "--spec", sheet, "--json")
	fromFiles, _ := conewright(t, 0, "stats", tables, "--spec", sheet, "--json")
	if fromBook != fromFiles {
		t.Errorf("the book says\n%.600s\nand its files\n%.600s", fromBook, fromFiles)
	}
	checkMonth(t, readStats(t, fromFiles), sums)

	text, _ := conewright(t, 0, "stats", tables, "--spec", sheet)
	for _, want := range []string{fmt.Sprintf("units of Larch-25, days: %d, stations: %d", *monthDays, *monthStations), "yield 90 %", "Not steady in Fs: day 2026-11-13", "Unlike the other stations in Fs: station 17 (mean", "Control charts of the means"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}

	one, _ := conewright(t, 0, "stats", tables, "--from", "2026-11-02", "--to", "2026-11-02", "--station", "3", "--json")
	if got, want := readStats(t, one).Units, int(sums(fmt.Sprintf(`SELECT count(*) FROM result WHERE measured LIKE '2026-11-02%%' AND stage %% %d = 3`, *monthStations))); got != want || want == 0 {
		t.Errorf("%d units of one day and station, and the database says %d", got, want)
	}
	inBook, _ := conewright(t, 0, "stats", "book:Larch-25", "--book", folder, "--from", "2026-11-02", "--to", "2026-11-02", "--station", "3", "--json")
	if inBook != one {
		t.Errorf("of one day and station the book says\n%s\nand the files\n%s", inBook, one)
	}
}
