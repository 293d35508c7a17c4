package book

import (
	"context"
	"database/sql"
	"encoding/json"
	"strings"
	"time"
)

// Cabinet is what is known of the box in which the sweeps of a stage were made, and what they say.
type Cabinet struct {
	Kind    string          `json:"kind"`   // as stated: "closed", "vented"; "" if not said
	Volume  string          `json:"volume"` // as stated, with its unit; "" if not said
	Tuning  string          `json:"tuning"`
	Free    string          `json:"free_air_stage"` // whose driver it was held against; "" for none
	Made    time.Time       `json:"made"`
	Version string          `json:"version"`
	Verdict string          `json:"verdict"` // by the limits for the box in the sheet of the driver; "" without one
	Report  json.RawMessage `json:"report"`  // conewright/cabinet/1
}

// IsInCabinet says whether a stage of this name is in the cabinet: "in-cabinet", or "in-cabinet-" and a word where there are
// several.
func IsInCabinet(stage string) bool {
	return stage == InCabinet || strings.HasPrefix(stage, InCabinet+"-")
}

// InCabinet are the stages in the cabinet that have sweeps, in the order of the work.
func (d Driver) InCabinet() []Stage {
	var list []Stage
	for _, s := range d.Stages {
		if IsInCabinet(s.Name) && len(s.Sweeps) > 0 {
			list = append(list, s)
		}
	}
	return list
}

// LastInCabinet is the last of them.
func (d Driver) LastInCabinet() (Stage, bool) {
	if all := d.InCabinet(); len(all) > 0 {
		return all[len(all)-1], true
	}
	return Stage{}, false
}

// FreeFor is the stage that shows the driver in free air as it was in the cabinet at a stage: the last one before it, and
// the first one after it where there is none before.
func (d Driver) FreeFor(stage string) (Stage, bool) {
	var last Stage
	have, passed := false, false
	for _, s := range d.Stages {
		passed = passed || s.Name == stage
		if passed && have {
			break
		}
		if isWhole(s.Name) && s.Result != nil {
			last, have = s, true
		}
	}
	return last, have
}

// saveCabinet replaces what a stage says of its box.
func saveCabinet(ctx context.Context, tx *sql.Tx, stage int64, c Cabinet) error {
	report, err := compacted(c.Report)
	if err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, `INSERT INTO cabinet (stage, kind, volume, tuning, free, made, version, verdict, report) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)
		ON CONFLICT (stage) DO UPDATE SET kind = $2, volume = $3, tuning = $4, free = $5, made = $6, version = $7, verdict = $8, report = $9`,
		stage, c.Kind, c.Volume, c.Tuning, c.Free, stamp(c.Made), c.Version, c.Verdict, report)
	return err
}

// readCabinets returns what the stages of such drivers say of their boxes, by stage.
func readCabinets(ctx context.Context, tx *sql.Tx, where string, args ...any) (map[int64]*Cabinet, error) {
	found := map[int64]*Cabinet{}
	err := eachRow(ctx, tx, func(rows *sql.Rows) error {
		var stage int64
		var c Cabinet
		var made, report string
		if err := rows.Scan(&stage, &c.Kind, &c.Volume, &c.Tuning, &c.Free, &made, &c.Version, &c.Verdict, &report); err != nil {
			return err
		}
		c.Made, c.Report = moment(made), json.RawMessage(report)
		found[stage] = &c
		return nil
	}, `SELECT c.stage, c.kind, c.volume, c.tuning, c.free, c.made, c.version, c.verdict, c.report
		FROM cabinet c JOIN stage s ON s.id = c.stage JOIN driver d ON d.id = s.driver WHERE `+where, args...)
	return found, err
}
