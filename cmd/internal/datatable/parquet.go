package datatable

import (
	"io"
	"reflect"

	"github.com/parquet-go/parquet-go"
)

// rowsInGroup is after how many rows what was written goes to the file: memory does not grow with the
// table.
const rowsInGroup = 10000

// ParquetWriter writes a table as Parquet.
type ParquetWriter struct {
	out     *parquet.GenericWriter[any]
	columns []Column
	rows    int
}

// NewParquet writes a table as Apache Parquet: numbers as DOUBLE, null where they are not known, texts as
// UTF-8 strings, compressed with Zstandard.
func NewParquet(w io.Writer, name string, columns []Column) *ParquetWriter {
	return &ParquetWriter{out: parquet.NewGenericWriter[any](w, parquet.NewSchema(name, root{columns: columns}), parquet.Compression(&parquet.Zstd)), columns: columns}
}

// Row writes a row.
func (p *ParquetWriter) Row(cells []Cell) error {
	row := make(parquet.Row, len(cells))
	for i, cell := range cells {
		switch {
		case !p.columns[i].Number:
			row[i] = parquet.ByteArrayValue([]byte(cell.Text)).Level(0, 0, i)
		case cell.known():
			row[i] = parquet.DoubleValue(cell.Number).Level(0, 1, i)
		default:
			row[i] = parquet.NullValue().Level(0, 0, i)
		}
	}
	if _, err := p.out.WriteRows([]parquet.Row{row}); err != nil {
		return err
	}
	if p.rows++; p.rows%rowsInGroup == 0 {
		return p.out.Flush()
	}
	return nil
}

// Note keeps a text with the table, for who reads it.
func (p *ParquetWriter) Note(key, text string) { p.out.SetKeyValueMetadata(key, text) }

// Close writes the end of the file, without which it cannot be read.
func (p *ParquetWriter) Close() error { return p.out.Close() }

// root is a table with its columns in their order; the group of the library sorts them by name.
type root struct {
	parquet.Group // what a group is beside its fields
	columns       []Column
}

func (r root) Fields() []parquet.Field {
	var list []parquet.Field
	for _, c := range r.columns {
		node := parquet.String()
		if c.Number {
			node = parquet.Optional(parquet.Leaf(parquet.DoubleType))
		}
		list = append(list, field{node, c.Name})
	}
	return list
}

// GoType is that of no Go value: rows are written as they are.
func (r root) GoType() reflect.Type { return reflect.TypeFor[struct{}]() }

type field struct {
	parquet.Node
	name string
}

func (f field) Name() string                      { return f.name }
func (f field) Value(reflect.Value) reflect.Value { return reflect.Value{} }
