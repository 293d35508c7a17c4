package batch

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"io/fs"
	"os"
	"strings"
	"sync"

	"conewright/cmd/internal/jsonout"
	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/wording"
)

// A Journal holds the finished units of a batch in a file, a line each, while
// the run goes on. A run that was interrupted continues from it. Each line begins with its
// checksum: one that was cut off or damaged is dropped, and its unit is done again. Only the
// places of the lines are in memory.
type Journal struct {
	file  *os.File
	mu    sync.Mutex // guards what follows
	end   int64
	lines map[string]place
}

// place is where the line of a unit stands.
type place struct {
	at   int64
	size int
}

const journalSchema = "conewright/batch-journal/2"

// JournalError is a journal that cannot be continued.
type JournalError struct {
	File, Msg, Advice string
}

func (e *JournalError) Error() string { return e.File + ": " + e.Msg }

// Hint says how to go on.
func (e *JournalError) Hint() string { return e.Advice }

// Basis is what all results of a run rest on beside the files of the units. A run is
// continued only on the same.
type Basis struct {
	Version     string         `json:"version"`
	Bench       saved.Settings `json:"bench"`
	Calibration string         `json:"calibration"` // SHA-256 of the file; empty: none
	Sheet       string         `json:"sheet"`       // of the spec sheet
}

// unlike says in words what of the basis is another one.
func (b Basis) unlike(other Basis) string {
	var list []string
	for _, c := range []struct {
		what string
		same bool
	}{
		{"another version of the program", b.Version == other.Version},
		{"other bench settings", fmt.Sprint(b.Bench) == fmt.Sprint(other.Bench)},
		{"another calibration", b.Calibration == other.Calibration},
		{"another spec sheet", b.Sheet == other.Sheet},
	} {
		if !c.same {
			list = append(list, c.what)
		}
	}
	return wording.List(list)
}

// head is the first line of a journal.
type head struct {
	Schema string `json:"schema"`
	Basis  Basis  `json:"basis"`
}

// CreateJournal begins a new journal. It replaces a journal and no other file.
func CreateJournal(path string, basis Basis) (*Journal, error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o666)
	if err != nil {
		return nil, err
	}
	j := &Journal{file: f, lines: map[string]place{}}
	err = j.begin(basis)
	if err != nil {
		f.Close()
		return nil, err
	}
	return j, nil
}

// begin empties the file, which must be a journal or empty, and writes the head.
func (j *Journal) begin(basis Basis) error {
	if _, err := readHead(bufio.NewReader(j.file)); err != nil && !errors.Is(err, io.EOF) {
		return notJournal(j.file.Name())
	}
	if err := j.file.Truncate(0); err != nil {
		return err
	}
	line, err := json.Marshal(head{journalSchema, basis})
	if err != nil {
		return err
	}
	_, err = j.write(line)
	return err
}

func notJournal(path string) error {
	return &JournalError{path, "this is not the record of an unfinished run, and is kept", "choose another name for the result, or move that file away"}
}

// errDamaged is a line whose checksum is not that of its content.
var errDamaged = errors.New("the line is damaged")

// readHead reads the first line; io.EOF of an empty file.
func readHead(in *bufio.Reader) (line []byte, err error) {
	line, err = in.ReadBytes('\n')
	if err == io.EOF && len(line) > 0 {
		return nil, errDamaged
	}
	if err != nil {
		return nil, err
	}
	content, err := unsealed(line)
	if err != nil {
		return nil, err
	}
	var h head
	if json.Unmarshal(content, &h) != nil || !strings.HasPrefix(h.Schema, "conewright/batch-journal/") {
		return nil, errDamaged
	}
	return line, nil
}

// OpenJournal continues the journal of a run on the same basis.
func OpenJournal(path string, basis Basis) (*Journal, error) {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return nil, err
	}
	j := &Journal{file: f, lines: map[string]place{}}
	if err := j.readPlaces(path, basis); err != nil {
		f.Close()
		return nil, err
	}
	return j, nil
}

// longestLine bounds what is kept of a line; a unit has some ten thousand bytes.
const longestLine = 16 << 20

func (j *Journal) readPlaces(path string, basis Basis) error {
	in := bufio.NewReaderSize(j.file, 1<<16)
	first, err := readHead(in)
	if err != nil {
		return notJournal(path)
	}
	content, _ := unsealed(first)
	var h head
	if err := json.Unmarshal(content, &h); err != nil {
		return notJournal(path)
	}
	if other := basis.unlike(h.Basis); other != "" || h.Schema != journalSchema {
		if other == "" {
			other = "another version of the program"
		}
		return &JournalError{path, "this unfinished run was made with " + other, "use the same again, or --force to begin anew"}
	}
	j.end = int64(len(first))
	for {
		line, err := in.ReadBytes('\n')
		if err == io.EOF { // what stands there without an end was cut off
			break
		}
		if err != nil {
			return err
		}
		var name struct {
			Unit string `json:"unit"`
		}
		// Of a damaged line the unit is done again.
		if content, err := unsealed(line); err == nil && len(line) <= longestLine && json.Unmarshal(content, &name) == nil && name.Unit != "" {
			j.lines[name.Unit] = place{j.end, len(line)}
		}
		j.end += int64(len(line))
	}
	return j.file.Truncate(j.end)
}

// Len returns the number of finished units.
func (j *Journal) Len() int {
	j.mu.Lock()
	defer j.mu.Unlock()
	return len(j.lines)
}

// Has says whether a unit is finished.
func (j *Journal) Has(name string) bool {
	j.mu.Lock()
	defer j.mu.Unlock()
	_, ok := j.lines[name]
	return ok
}

// journalLine is a finished unit with its joint uncertainty, or why there is none.
func journalLine(u *Unit) ([]byte, error) {
	o := jsonout.Object{{"unit", u.Name}, {"basis", u.Basis}, {"inputs", u.Inputs}}
	if u.Failed != nil {
		o.Add("error", u.Failed)
	} else {
		o.Add("warnings", u.Warnings)
		o.Add("joint", saved.Joint(u.Parameters))
	}
	return json.Marshal(o)
}

// Add appends a finished unit.
func (j *Journal) Add(u *Unit) error {
	line, err := journalLine(u)
	if err != nil {
		return err
	}
	j.mu.Lock()
	defer j.mu.Unlock()
	p, err := j.write(line)
	if err != nil {
		return err
	}
	j.lines[u.Name] = p
	return nil
}

// checksum is CRC-32 with Castagnoli's polynomial, which finds every change of up to three
// bits in a line of usual length.
var checksum = crc32.MakeTable(crc32.Castagnoli)

// write appends a line with its checksum and returns where it stands.
func (j *Journal) write(content []byte) (place, error) {
	line := fmt.Appendf(nil, "%08x %s\n", crc32.Checksum(content, checksum), content)
	if _, err := j.file.WriteAt(line, j.end); err != nil {
		return place{}, err
	}
	p := place{j.end, len(line)}
	j.end += int64(len(line))
	return p, nil
}

// unsealed returns the content of a line if its checksum agrees.
func unsealed(line []byte) ([]byte, error) {
	sum, content, ok := bytes.Cut(bytes.TrimSuffix(line, []byte("\n")), []byte(" "))
	if !ok || string(sum) != fmt.Sprintf("%08x", crc32.Checksum(content, checksum)) {
		return nil, errDamaged
	}
	return content, nil
}

// Get reads a finished unit back.
func (j *Journal) Get(name string) (*Unit, error) {
	j.mu.Lock()
	p, ok := j.lines[name]
	j.mu.Unlock()
	damaged := &JournalError{j.file.Name(), "the record of " + name + " is damaged", "use --resume to do this unit again"}
	if !ok {
		return nil, damaged
	}
	line := make([]byte, p.size)
	if _, err := j.file.ReadAt(line, p.at); err != nil {
		return nil, err
	}
	content, err := unsealed(line)
	if err != nil {
		return nil, damaged
	}
	var in struct {
		Unit     string          `json:"unit"`
		Basis    string          `json:"basis"`
		Inputs   []saved.Input   `json:"inputs"`
		Warnings []wording.Said  `json:"warnings"`
		Error    *Failure        `json:"error"`
		Joint    json.RawMessage `json:"joint"`
	}
	if err := json.Unmarshal(content, &in); err != nil || in.Error == nil && in.Joint == nil {
		return nil, damaged
	}
	u := &Unit{Name: in.Unit, Basis: in.Basis, Inputs: in.Inputs, Warnings: in.Warnings, Failed: in.Error}
	if u.Failed == nil {
		if u.Parameters, err = saved.ReadJoint(in.Joint, j.file.Name()); err != nil {
			return nil, err
		}
	}
	return u, nil
}

// Close closes the file and leaves it.
func (j *Journal) Close() error { return j.file.Close() }

// Remove closes the file and removes it, also when it is gone already.
func (j *Journal) Remove() error {
	if err := j.file.Close(); err != nil {
		return err
	}
	if err := os.Remove(j.file.Name()); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}
