// Package tables reads the CSV files of testdata, for tests only. It imports nothing of the module, so that every test
// can use it.
package tables

import (
	"encoding/csv"
	"os"
	"strconv"
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
