// Package dayfiles keeps the results of a book as Parquet files, one for each day and station, in the
// layout DIR/day=2026-11-27/station=3/units.parquet that programs for large tables read as one table.
package dayfiles

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/datatable"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// The names of a layout. A station without a name is written as such programs write what is not known.
const (
	dayStart, stationStart = "day=", "station="
	noStation              = "__HIVE_DEFAULT_PARTITION__"
	fileName               = "units.parquet"
)

// The columns of texts; those of numbers are named as in the tables of a lot.
const (
	unitColumn, stageColumn, typeColumn, serialColumn, measuredColumn, verdictColumn = "unit", "stage", "type", "serial", "measured", "verdict"
)

// valueColumn is the name of the column of a quantity: "Fs_Hz".
func valueColumn(id param.ID) string {
	if unit := id.Info().Unit; unit != "1" {
		return id.String() + "_" + unit
	}
	return id.String()
}

func columns() []datatable.Column {
	list := []datatable.Column{{Name: unitColumn}, {Name: stageColumn}, {Name: typeColumn}, {Name: serialColumn}, {Name: measuredColumn}, {Name: verdictColumn}}
	for _, id := range book.Kept {
		list = append(list, datatable.Column{Name: valueColumn(id), Number: true}, datatable.Column{Name: id.String() + "_std", Number: true})
	}
	return list
}

// Part is the file of one day and station.
type Part struct {
	Day, Station string
	path         string
}

// partOf is where the file of a day and station belongs.
func partOf(folder, day, station string) Part {
	name := station
	if name == "" {
		name = noStation
	}
	return Part{day, station, filepath.Join(folder, dayStart+day, stationStart+name, fileName)}
}

// Parts lists the files in a folder that d wants, in the order of days and stations.
func Parts(folder string, d book.Days) ([]Part, error) {
	if _, err := os.ReadDir(folder); err != nil {
		return nil, err
	}
	paths, err := filepath.Glob(filepath.Join(escape(folder), dayStart+"*", stationStart+"*", fileName))
	if err != nil {
		return nil, err
	}
	var list []Part
	for _, path := range paths {
		station := filepath.Dir(path)
		day := strings.TrimPrefix(filepath.Base(filepath.Dir(station)), dayStart)
		name := strings.TrimPrefix(filepath.Base(station), stationStart)
		if name == noStation {
			name = ""
		}
		if _, err := time.Parse(time.DateOnly, day); err != nil || d.From != "" && day < d.From || d.To != "" && day > d.To || d.Station != "" && name != d.Station {
			continue
		}
		list = append(list, Part{day, name, path})
	}
	slices.SortFunc(list, func(a, b Part) int { return strings.Compare(a.Day+" "+a.Station, b.Day+" "+b.Station) })
	return list, nil
}

// escape makes a path mean itself in a pattern.
func escape(path string) string {
	return strings.NewReplacer(`\`, `[\\]`, `*`, `[*]`, `?`, `[?]`, `[`, `[[]`).Replace(path)
}

// open reads the end of a file; fs.ErrNotExist where there is none.
func (p Part) open() (*datatable.ParquetFile, *os.File, error) {
	f, err := os.Open(p.path)
	if err != nil {
		return nil, nil, err
	}
	info, err := f.Stat()
	if err == nil {
		var table *datatable.ParquetFile
		if table, err = datatable.OpenParquet(f, info.Size()); err == nil {
			return table, f, nil
		}
	}
	f.Close()
	return nil, nil, p.damaged(err)
}

func (p Part) damaged(err error) error {
	return notice.New("days-damaged", notice.Facts{"path": p.path}).Because(err)
}

// sum is the checksum of the rows that the file has; empty where there is no file.
func (p Part) sum() (string, error) {
	table, f, err := p.open()
	if errors.Is(err, fs.ErrNotExist) {
		return "", nil
	}
	if err != nil {
		return "", err
	}
	defer f.Close()
	sum := table.Note(sumNote)
	if sum == "" {
		return "", notice.New("days-other", notice.Facts{"path": p.path})
	}
	return sum, nil
}
