package book

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"fmt"
	"io"
)

// Basis is what the result of a stage rests on.
type Basis struct {
	Ref      Ref
	Content  string // hash of its sweeps and their loads
	Settings string // hash of bench, calibration and sheet
	Sheet    string // SHA-256 of the sheet, which is in the settings; "" for none
}

// EachBasis hands the stages that have sweeps to visit, in the order in which they began: those of
// a reference, or of a type; both empty: all.
func (b *Book) EachBasis(ctx context.Context, ref Ref, kind string, visit func(Basis) error) error {
	where, args := conditions("d.job", ref.Job, "d.side", ref.Side, "s.name", ref.Stage, "d.type", kind)
	var last int64
	var at Basis
	content := sha256.New()
	end := func() error {
		if last == 0 {
			return nil
		}
		at.Content = hex.EncodeToString(content.Sum(nil))
		return visit(at)
	}
	err := b.read(ctx, func(rows *sql.Rows) error {
		var id int64
		var next Basis
		var bench, calibration, sweep, load string
		var value, std float64
		if err := rows.Scan(&id, &next.Ref.Job, &next.Ref.Side, &next.Ref.Stage, &bench, &calibration, &next.Sheet, &sweep, &load, &value, &std); err != nil {
			return err
		}
		if id != last {
			if err := end(); err != nil {
				return err
			}
			settings := sha256.Sum256(fmt.Appendf(nil, "%q %s %s", bench, calibration, next.Sheet))
			next.Settings = hex.EncodeToString(settings[:])
			last, at = id, next
			content.Reset()
		}
		addContent(content, sweep, load, value, std)
		return nil
	}, `SELECT s.id, d.job, d.side, s.name, s.bench, s.calibration, d.sheet, w.sha256, w.load, w.load_value, w.load_std
		FROM stage s JOIN driver d ON d.id = s.driver JOIN sweep w ON w.stage = s.id WHERE `+where+` ORDER BY s.id, w.id`, args...)
	if err != nil {
		return err
	}
	return end()
}

// ContentOf is the hash of sweeps and their loads, as a basis has it.
func ContentOf(list []NewSweep) string {
	content := sha256.New()
	for _, w := range list {
		addContent(content, w.File.SHA256, w.Load.Kind.String(), w.Load.Value, w.Load.Std)
	}
	return hex.EncodeToString(content.Sum(nil))
}

func addContent(to io.Writer, sweep, load string, value, std float64) {
	fmt.Fprintln(to, sweep, load, value, std)
}

// conditions makes the end of a statement of pairs of a column and a value; a value that is zero asks for
// nothing.
func conditions(pairs ...any) (where string, args []any) {
	where = "true"
	for i := 0; i < len(pairs); i += 2 {
		if v := pairs[i+1]; v != 0 && v != "" {
			args = append(args, v)
			where += fmt.Sprintf(" AND %s = $%d", pairs[i], len(args))
		}
	}
	return where, args
}
