// Package tables reads the tables of numbers in testdata, for tests only. It imports nothing of the module, so that every test
// can use it.
package tables

import (
	"encoding/csv"
	"os"
	"strconv"
	"strings"
	"testing"
)

// Read returns the names of the columns and the rows below them; path is that from the folder of the test.
func Read(t testing.TB, path string) (head []string, rows [][]string) {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil || len(all) < 2 {
		t.Fatalf("%s: %d lines, %v", path, len(all), err)
	}
	return all[0], all[1:]
}

// Number is the number in a cell.
func Number(t testing.TB, cell string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(cell, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// Numbers returns what a circuit simulator printed: rows of numbers with blanks between, no head.
func Numbers(t testing.TB, path string) (rows [][]float64) {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(text)) {
		var row []float64
		for _, word := range strings.Fields(line) {
			row = append(row, Number(t, word))
		}
		rows = append(rows, row)
	}
	return rows
}
