package datatable

import (
	"bytes"
	"io"
	"math"
	"testing"

	"github.com/parquet-go/parquet-go"
)

var columns = []Column{{"unit", false}, {"Fs_Hz", true}, {`=what "else", über`, false}}

func TestCSV(t *testing.T) {
	var b bytes.Buffer
	w, err := NewCSV(&b, columns)
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range [][]Cell{{Text("=a1"), Number(1. / 3), Text("x,y")}, {Text("b"), Missing, Text("")}, {Text("c"), Number(math.Inf(1)), Text("")}} {
		if err := w.Row(row); err != nil {
			t.Fatal(err)
		}
	}
	if got, want := b.String(), "unit,Fs_Hz,\"'=what \"\"else\"\", über\"\n'=a1,0.3333333333333333,\"x,y\"\nb,,\nc,,\n"; got != want || w.Close() != nil {
		t.Errorf("%q, want %q", got, want)
	}
}

// TestParquet reads back what was written, over more than one group of rows, with the reader of the
// library; docs/formats.md says how another program read it.
func TestParquet(t *testing.T) {
	const rows = rowsInGroup + 3
	var b bytes.Buffer
	w := NewParquet(&b, "units", columns)
	for i := range rows {
		value := Number(float64(i) / 7)
		if i%5 == 0 {
			value = Missing
		}
		if err := w.Row([]Cell{Text("=u"), value, Text("größe")}); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	f, err := parquet.OpenFile(bytes.NewReader(b.Bytes()), int64(b.Len()))
	if err != nil {
		t.Fatal(err)
	}
	if f.NumRows() != rows || len(f.RowGroups()) != 2 {
		t.Errorf("%d rows in %d groups", f.NumRows(), len(f.RowGroups()))
	}
	for i, c := range f.Root().Columns() {
		if c.Name() != columns[i].Name || (c.Type().Kind() == parquet.Double) != columns[i].Number {
			t.Errorf("column %d is %s, %v", i+1, c.Name(), c.Type())
		}
	}
	at := 0
	for _, g := range f.RowGroups() {
		in := g.Rows()
		for {
			some := make([]parquet.Row, 100)
			n, err := in.ReadRows(some)
			for _, row := range some[:n] {
				if unknown := at%5 == 0; row[1].IsNull() != unknown || !unknown && row[1].Double() != float64(at)/7 {
					t.Fatalf("row %d: %v", at+1, row)
				}
				if string(row[0].ByteArray()) != "=u" || string(row[2].ByteArray()) != "größe" {
					t.Fatalf("row %d: %v", at+1, row)
				}
				at++
			}
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
		}
		in.Close()
	}
	if at != rows {
		t.Errorf("%d rows read", at)
	}
}
