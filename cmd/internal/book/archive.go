package book

import (
	"archive/zip"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path"
	"regexp"

	"conewright/cmd/internal/jsonout"
	"conewright/cmd/internal/rawstore"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// An archive is a ZIP file with job.json, which says everything about the job, and every raw
// file in the folder files, by the beginning of its hash and its old name.

// archiveSchema is the first field of job.json.
const archiveSchema = "conewright/job/1"

// archived is job.json.
type archived struct {
	Schema  string            `json:"schema"`
	Version string            `json:"version"` // of the program that wrote it
	Files   map[string]string `json:"files"`   // name in the archive by SHA-256
	Job     Job               `json:"job"`
}

const archiveWords = `This archive holds one job of a book that the program Conewright keeps:
job.json has everything that is known about it, in SI units and UTC, and the
folder files has the recordings, tables, spec sheets and calibrations as they
were added. "conewright job import" reads it into another book.
`

// Export writes a job as an archive.
func (b *Book) Export(ctx context.Context, number int, version string, w io.Writer) error {
	j, err := b.Job(ctx, number)
	if err != nil {
		return err
	}
	names := map[string]string{}
	for _, d := range j.Drivers {
		names[d.Sheet] = d.SheetName
		for _, s := range d.Stages {
			names[s.Calibration] = "calibration.json"
			for _, sweep := range s.Sweeps {
				names[sweep.SHA256] = sweep.Name
			}
			for _, p := range s.Parts {
				names[p.SHA256], names[p.Open], names[p.Short], names[p.Load] = p.Name, "open.wav", "short.wav", "load.wav"
			}
		}
	}
	out := archived{Schema: archiveSchema, Version: version, Files: map[string]string{}, Job: j}
	z := zip.NewWriter(w)
	for _, hash := range hashesOf(j) {
		out.Files[hash] = "files/" + hash[:12] + "-" + safeName(names[hash])
		if err := b.packRaw(ctx, z, hash, out.Files[hash], j); err != nil {
			return err
		}
	}
	data, err := json.Marshal(out)
	if err != nil {
		return err
	}
	for name, content := range map[string][]byte{"job.json": jsonout.Spread(data), "README.txt": []byte(archiveWords)} {
		f, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: j.Opened})
		if err != nil {
			return err
		}
		if _, err := f.Write(content); err != nil {
			return err
		}
	}
	return z.Close()
}

// packRaw puts a raw file into the archive.
func (b *Book) packRaw(ctx context.Context, z *zip.Writer, hash, name string, j Job) error {
	if err := b.Fetch(ctx, hash); err != nil {
		return err
	}
	raw, err := os.Open(b.RawPath(hash))
	if err != nil {
		return notice.New("book-lost-file", notice.Facts{"path": b.RawPath(hash)}).Because(err)
	}
	defer raw.Close()
	f, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: j.Opened})
	if err != nil {
		return err
	}
	sum := sha256.New()
	if _, err := io.Copy(io.MultiWriter(f, sum), raw); err != nil {
		return err
	}
	if hex.EncodeToString(sum.Sum(nil)) != hash {
		return notice.New("book-changed-file", notice.Facts{"path": b.RawPath(hash)})
	}
	return nil
}

var unsafeLetters = regexp.MustCompile(`[^\pL\pN._ +-]+`)

// safeName is a file name that no system takes for a folder.
func safeName(name string) string { return unsafeLetters.ReplaceAllString(path.Base(name), "_") }

// Bounds of what is read from an archive, in bytes.
const (
	mostJob = 1 << 30
	mostRaw = 8 << 30
)

// Import reads an archive into the book as a new job and returns its number. Nothing of it is
// in the book if anything is wrong with it.
func (b *Book) Import(ctx context.Context, r io.ReaderAt, size int64, name string) (number int, err error) {
	bad := func(what string, err error) (int, error) {
		return 0, notice.New("book-bad-archive", notice.Facts{"what": what}).In(name).Because(err)
	}
	z, err := zip.NewReader(r, size)
	if err != nil {
		return bad("its form", err)
	}
	entries := map[string]*zip.File{}
	for _, f := range z.File {
		entries[f.Name] = f
	}
	in, err := readArchived(entries["job.json"])
	if err != nil {
		return bad("its job.json", err)
	}
	if err := in.Job.check(); err != nil {
		return bad("its job.json", err)
	}
	put := func() error {
		for _, hash := range hashesOf(in.Job) {
			f := entries[in.Files[hash]]
			if f == nil || f.UncompressedSize64 > mostRaw {
				return fmt.Errorf("the file with the SHA-256 %s", hash)
			}
			content, err := f.Open()
			if err != nil {
				return err
			}
			err = b.raw.Put(ctx, hash, content)
			content.Close()
			if err != nil {
				return err
			}
		}
		return nil
	}
	if err := put(); err != nil {
		return bad("its files", err)
	}
	err = b.write(ctx, func(tx *sql.Tx) error {
		if err := put(); err != nil { // those that another program has removed meanwhile
			return err
		}
		number, err = insertWhole(ctx, tx, in.Job)
		return err
	})
	return number, err
}

func readArchived(f *zip.File) (*archived, error) {
	if f == nil {
		return nil, fmt.Errorf("it is missing")
	}
	r, err := f.Open()
	if err != nil {
		return nil, err
	}
	defer r.Close()
	var in archived
	if err := json.NewDecoder(io.LimitReader(r, mostJob)).Decode(&in); err != nil {
		return nil, err
	}
	if in.Schema != archiveSchema {
		return nil, fmt.Errorf("its schema is %q", in.Schema)
	}
	return &in, nil
}

// check refuses what no book can hold.
func (j Job) check() error {
	for _, d := range j.Drivers {
		if !nameForm.MatchString(d.Side) {
			return fmt.Errorf("the driver %q", d.Side)
		}
		for _, s := range d.Stages {
			if !nameForm.MatchString(s.Name) {
				return fmt.Errorf("the stage %q", s.Name)
			}
		}
	}
	for _, h := range hashesOf(j) {
		if !rawstore.IsHash(h) {
			return fmt.Errorf("the SHA-256 %q", h)
		}
	}
	return nil
}

// insertWhole writes a job with everything below it.
func insertWhole(ctx context.Context, tx *sql.Tx, j Job) (int, error) {
	number, err := insertJob(ctx, tx, j)
	if err != nil {
		return 0, err
	}
	for _, d := range j.Drivers {
		driver, err := insert(ctx, tx, `INSERT INTO driver (job, side, type, serial, sheet, sheet_name) VALUES ($1, $2, $3, $4, $5, $6) RETURNING id`,
			number, d.Side, d.Type, d.Serial, d.Sheet, d.SheetName)
		if err != nil {
			return 0, err
		}
		for _, s := range d.Stages {
			bench, err := benchJSON(s.Bench)
			if err != nil {
				return 0, err
			}
			stage, err := insert(ctx, tx, `INSERT INTO stage (driver, name, bench, calibration) VALUES ($1, $2, $3, $4) RETURNING id`, driver, s.Name, bench, s.Calibration)
			if err != nil {
				return 0, err
			}
			for _, w := range s.Sweeps {
				if err := insertSweep(ctx, tx, driver, stage, w.SHA256, w); err != nil {
					return 0, err
				}
			}
			if err := s.computed().save(ctx, tx, stage); err != nil {
				return 0, err
			}
		}
	}
	return number, nil
}

// computed is what was computed of a stage as something to be saved.
func (s Stage) computed() Addition {
	a := Addition{Result: s.Result, Cabinet: s.Cabinet}
	if IsInCabinet(s.Name) { // older programs held such a stage against the sheet of the driver
		a.Result = nil
	}
	for _, p := range s.Parts {
		a.Parts = append(a.Parts, NewPart{Part: p})
	}
	return a
}

// sweepFields are those of a sweep that JSON writes as they are.
type sweepFields Sweep

// MarshalJSON writes the sweep with its load in words.
func (w Sweep) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		sweepFields
		Load  string  `json:"load"`
		Value float64 `json:"load_value"`
		Std   float64 `json:"load_std"`
		Unit  string  `json:"load_unit,omitempty"`
	}{sweepFields(w), w.Load.Kind.String(), w.Load.Value, w.Load.Std, loadUnit[w.Load.Kind]})
}

var loadUnit = map[measured.LoadKind]string{measured.AddedMass: "kg", measured.KnownBox: "m^3"}

// UnmarshalJSON reads what MarshalJSON writes.
func (w *Sweep) UnmarshalJSON(data []byte) error {
	in := struct {
		*sweepFields
		Load  string  `json:"load"`
		Value float64 `json:"load_value"`
		Std   float64 `json:"load_std"`
	}{sweepFields: (*sweepFields)(w)}
	if err := json.Unmarshal(data, &in); err != nil {
		return err
	}
	w.Load = measured.Load{Kind: loadKind(in.Load), Value: in.Value, Std: in.Std}
	return nil
}

type resultFields Result

// archivedValue is a kept value as JSON writes it.
type archivedValue struct {
	Value float64 `json:"value"`
	Unit  string  `json:"unit"`
	Std   float64 `json:"std"`
}

// MarshalJSON writes the result with its values by symbol.
func (r Result) MarshalJSON() ([]byte, error) {
	values := map[string]archivedValue{}
	for id, v := range r.Values {
		values[id.String()] = archivedValue{v.Value, id.Info().Unit, v.Std}
	}
	return json.Marshal(struct {
		resultFields
		Values map[string]archivedValue `json:"values"`
	}{resultFields(r), values})
}

// UnmarshalJSON reads what MarshalJSON writes.
func (r *Result) UnmarshalJSON(data []byte) error {
	in := struct {
		*resultFields
		Values map[string]archivedValue `json:"values"`
	}{resultFields: (*resultFields)(r)}
	if err := json.Unmarshal(data, &in); err != nil {
		return err
	}
	r.Values = map[param.ID]Value{}
	for _, id := range Kept {
		if v, ok := in.Values[id.String()]; ok {
			r.Values[id] = Value{v.Value, v.Std}
		}
	}
	return nil
}
