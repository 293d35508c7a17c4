package datatable

import (
	"fmt"
	"io"
	"math"

	"github.com/parquet-go/parquet-go"
)

// ParquetFile is a table that was written as Parquet, read column by column.
type ParquetFile struct {
	file   *parquet.File
	values []parquet.Value // room for some, of one column after the other
}

// OpenParquet reads the end of a file, which says what is in it.
func OpenParquet(r io.ReaderAt, size int64) (*ParquetFile, error) {
	f, err := parquet.OpenFile(r, size, parquet.SkipPageIndex(true), parquet.SkipBloomFilters(true))
	return &ParquetFile{f, make([]parquet.Value, 512)}, err
}

// Rows is the number of rows.
func (p *ParquetFile) Rows() int { return int(p.file.NumRows()) }

// Note returns what the writer noted; empty: nothing.
func (p *ParquetFile) Note(key string) string {
	text, _ := p.file.Lookup(key)
	return text
}

// Numbers returns a column of numbers, NaN where one is not known.
func (p *ParquetFile) Numbers(name string) ([]float64, error) {
	list := make([]float64, 0, p.Rows())
	err := p.each(name, parquet.Double, func(v parquet.Value) {
		if v.IsNull() {
			list = append(list, math.NaN())
		} else {
			list = append(list, v.Double())
		}
	})
	return list, err
}

// Texts hands the texts of a column to visit, which must not keep them.
func (p *ParquetFile) Texts(name string, visit func(row int, text []byte)) error {
	row := 0
	return p.each(name, parquet.ByteArray, func(v parquet.Value) {
		visit(row, v.ByteArray())
		row++
	})
}

func (p *ParquetFile) each(name string, kind parquet.Kind, visit func(parquet.Value)) error {
	column, ok := p.file.Schema().Lookup(name)
	if !ok || column.Node.Type().Kind() != kind {
		return fmt.Errorf("there is no column %s of that kind", name)
	}
	for _, group := range p.file.RowGroups() {
		if err := eachValue(group.ColumnChunks()[column.ColumnIndex], p.values, visit); err != nil {
			return err
		}
	}
	return nil
}

func eachValue(chunk parquet.ColumnChunk, values []parquet.Value, visit func(parquet.Value)) error {
	pages := chunk.Pages()
	defer pages.Close()
	for {
		page, err := pages.ReadPage()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		in := page.Values()
		for err == nil {
			var n int
			n, err = in.ReadValues(values)
			for _, v := range values[:n] {
				visit(v)
			}
		}
		parquet.Release(page)
		if err != io.EOF {
			return err
		}
	}
}
