package book

import (
	"context"
	"database/sql"
	"encoding/json"
	"path/filepath"
	"strings"
	"time"
)

// Part is a part of the network that was measured out of its circuit, at the stage [Parts].
type Part struct {
	SHA256 string `json:"sha256"` // of its recording
	Name   string `json:"name"`   // of the file when it was added
	// Known things that were recorded with the same leads, as SHA-256 among the raw files; "" for none.
	Open      string `json:"open_sha256"`
	Short     string `json:"short_sha256"`
	Load      string `json:"load_sha256"`
	LoadValue string `json:"load_value"` // resistance of the known resistor, as stated
	// What it should be, as stated; empty where it was not said.
	Kind      string `json:"kind"`
	Nominal   string `json:"nominal"`
	Tolerance string `json:"tolerance"`

	Operator string          `json:"operator"`
	Added    time.Time       `json:"added"`
	Made     time.Time       `json:"made"`
	Version  string          `json:"version"`
	Verdict  string          `json:"verdict"` // by nominal value and tolerance; "" without
	Report   json.RawMessage `json:"report"`  // conewright/part/1
}

// Label is what the part is called: the name of its file without the ending.
func (p Part) Label() string { return strings.TrimSuffix(p.Name, filepath.Ext(p.Name)) }

// SameKnown says whether two parts were measured with the same recordings of known things.
func (p Part) SameKnown(q Part) bool {
	return p.Open == q.Open && p.Short == q.Short && p.Load == q.Load && p.LoadValue == q.LoadValue
}

// NewPart is a part with the files of its recordings.
type NewPart struct {
	Part
	Files []File
}

// Parts are the parts of the network of the loudspeaker in which the driver works.
func (d Driver) Parts() []Part {
	s, _ := d.Stage(Parts)
	return s.Parts
}

// savePart adds a part, or says anew of one that is there what it should be and what it is.
func savePart(ctx context.Context, tx *sql.Tx, stage int64, p Part) error {
	report, err := compacted(p.Report)
	if err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, `INSERT INTO part (stage, sha256, name, open, short, load, load_value, kind, nominal, tolerance, operator, added, made, version, verdict, report)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16)
		ON CONFLICT (stage, sha256) DO UPDATE SET open = $4, short = $5, load = $6, load_value = $7, kind = $8, nominal = $9, tolerance = $10,
		made = $13, version = $14, verdict = $15, report = $16`,
		stage, p.SHA256, p.Name, p.Open, p.Short, p.Load, p.LoadValue, p.Kind, p.Nominal, p.Tolerance, p.Operator, stamp(p.Added), stamp(p.Made), p.Version, p.Verdict, report)
	return err
}

// readParts returns the parts of such drivers by stage.
func readParts(ctx context.Context, tx *sql.Tx, where string, args ...any) (map[int64][]Part, error) {
	found := map[int64][]Part{}
	err := eachRow(ctx, tx, func(rows *sql.Rows) error {
		var stage int64
		var p Part
		var added, made, report string
		if err := rows.Scan(&stage, &p.SHA256, &p.Name, &p.Open, &p.Short, &p.Load, &p.LoadValue, &p.Kind, &p.Nominal, &p.Tolerance,
			&p.Operator, &added, &made, &p.Version, &p.Verdict, &report); err != nil {
			return err
		}
		p.Added, p.Made, p.Report = moment(added), moment(made), json.RawMessage(report)
		found[stage] = append(found[stage], p)
		return nil
	}, `SELECT p.stage, p.sha256, p.name, p.open, p.short, p.load, p.load_value, p.kind, p.nominal, p.tolerance, p.operator, p.added, p.made, p.version, p.verdict, p.report
		FROM part p JOIN stage s ON s.id = p.stage JOIN driver d ON d.id = s.driver WHERE `+where+` ORDER BY p.id`, args...)
	return found, err
}
