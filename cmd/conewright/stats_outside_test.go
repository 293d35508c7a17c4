//go:build outside && unix

package main

import (
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/pgtest"
)

// TestOutsideStatsOfAServer: a book on a server has the same statistics as its Parquet files, those that the server
// counts itself.
func TestOutsideStatsOfAServer(t *testing.T) {
	s := pgtest.Start(t, "fsync = off")
	place := s.Database(t)
	t.Setenv(book.RawVariable, t.TempDir())
	conewright(t, 0, "job", "new", "November", "--book", place)
	s.SQL(t, place, "SET search_path = conewright; "+strings.Join(monthStatements(*monthUnits), ";\n")+"; ANALYZE;")
	sums := func(query string) float64 {
		t.Helper()
		v, err := strconv.ParseFloat(s.SQL(t, place, "SET search_path = conewright; "+query), 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	tables, sheet := filepath.Join(t.TempDir(), "units"), monthSheet(t)
	conewright(t, 0, "job", "units", tables, "--book", place)
	fromBook, _ := conewright(t, 0, "stats", "book:Larch-25", "--book", place, "--spec", sheet, "--json")
	fromFiles, _ := conewright(t, 0, "stats", tables, "--spec", sheet, "--json")
	if fromBook != fromFiles {
		t.Errorf("the book says\n%.600s\nand its files\n%.600s", fromBook, fromFiles)
	}
	checkMonth(t, readStats(t, fromFiles), sums)
	for _, table := range []string{"driver", "stage", "result"} {
		t.Logf("%s: %.0f bytes a unit", table, sums("SELECT pg_total_relation_size('"+table+"')")/float64(*monthUnits))
	}
}
