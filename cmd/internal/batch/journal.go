package batch

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"sync"

	"conewright/cmd/internal/jsonout"
	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/wording"
)

// A Journal holds the finished units of a batch in a file, a line each, while
// the run goes on. A run that was interrupted continues from it; a line that was
// cut off in the middle is dropped. Only the places of the lines are in memory.
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

const journalSchema = "conewright/batch-journal/1"

// JournalError is a journal that cannot be continued.
type JournalError struct {
	File, Msg, Advice string
}

func (e *JournalError) Error() string { return e.File + ": " + e.Msg }

// Hint says how to go on.
func (e *JournalError) Hint() string { return e.Advice }

// CreateJournal begins a new journal; bench is how all units are measured.
func CreateJournal(path string, bench saved.Settings) (*Journal, error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_TRUNC, 0o666)
	if err != nil {
		return nil, err
	}
	j := &Journal{file: f, lines: map[string]place{}}
	head, err := journalHead(bench)
	if err == nil {
		err = j.write(head)
	}
	if err != nil {
		f.Close()
		return nil, err
	}
	return j, nil
}

func journalHead(bench saved.Settings) ([]byte, error) {
	head, err := json.Marshal(jsonout.Object{{"schema", journalSchema}, {"bench", bench}})
	return append(head, '\n'), err
}

// OpenJournal continues the journal of a run with the same bench.
func OpenJournal(path string, bench saved.Settings) (*Journal, error) {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return nil, err
	}
	j := &Journal{file: f, lines: map[string]place{}}
	if err := j.readPlaces(path, bench); err != nil {
		f.Close()
		return nil, err
	}
	return j, nil
}

func (j *Journal) readPlaces(path string, bench saved.Settings) error {
	in := bufio.NewReaderSize(j.file, 1<<16)
	for {
		line, err := in.ReadBytes('\n')
		if err == io.EOF { // what stands there without an end was cut off
			break
		}
		if err != nil {
			return err
		}
		if j.end == 0 {
			want, err := journalHead(bench)
			if err != nil {
				return err
			}
			if !bytes.Equal(line, want) {
				return &JournalError{path, "this unfinished run was made with other bench settings", "use the same settings, or --force to begin anew"}
			}
			j.end += int64(len(line))
			continue
		}
		var name struct {
			Unit string `json:"unit"`
		}
		if json.Unmarshal(line, &name) != nil || name.Unit == "" {
			break // damaged: from here on the units are done again
		}
		j.lines[name.Unit] = place{j.end, len(line)}
		j.end += int64(len(line))
	}
	if j.end == 0 {
		return &JournalError{path, "this is not the record of an unfinished run", "use --force to begin anew"}
	}
	return j.file.Truncate(j.end)
}

// Len returns the number of finished units.
func (j *Journal) Len() int { return len(j.lines) }

// Has says whether a unit is finished.
func (j *Journal) Has(name string) bool {
	j.mu.Lock()
	defer j.mu.Unlock()
	_, ok := j.lines[name]
	return ok
}

// journalLine is a finished unit with its joint uncertainty, or why there is none.
func journalLine(u *Unit) ([]byte, error) {
	o := jsonout.Object{{"schema", journalSchema}, {"unit", u.Name}, {"inputs", u.Inputs}}
	if u.Failed != nil {
		o.Add("error", u.Failed)
	} else {
		o.Add("warnings", u.Warnings)
		o.Add("joint", saved.Joint(u.Parameters))
	}
	line, err := json.Marshal(o)
	return append(line, '\n'), err
}

// Add appends a finished unit.
func (j *Journal) Add(u *Unit) error {
	line, err := journalLine(u)
	if err != nil {
		return err
	}
	j.mu.Lock()
	defer j.mu.Unlock()
	at := j.end
	if err := j.write(line); err != nil {
		return err
	}
	j.lines[u.Name] = place{at, len(line)}
	return nil
}

func (j *Journal) write(line []byte) error {
	if _, err := j.file.WriteAt(line, j.end); err != nil {
		return err
	}
	j.end += int64(len(line))
	return nil
}

// Get reads a finished unit back.
func (j *Journal) Get(name string) (*Unit, error) {
	j.mu.Lock()
	p := j.lines[name]
	j.mu.Unlock()
	line := make([]byte, p.size)
	if _, err := j.file.ReadAt(line, p.at); err != nil {
		return nil, err
	}
	var in struct {
		Unit     string          `json:"unit"`
		Inputs   []saved.Input   `json:"inputs"`
		Warnings []wording.Said  `json:"warnings"`
		Error    *Failure        `json:"error"`
		Joint    json.RawMessage `json:"joint"`
	}
	if err := json.Unmarshal(line, &in); err != nil {
		return nil, fmt.Errorf("%s: %w", j.file.Name(), err)
	}
	u := &Unit{Name: in.Unit, Inputs: in.Inputs, Warnings: in.Warnings, Failed: in.Error}
	if u.Failed == nil {
		if in.Joint == nil {
			return nil, &JournalError{j.file.Name(), "the record of " + name + " is damaged", "use --force to begin anew"}
		}
		p, err := saved.ReadJoint(in.Joint, j.file.Name())
		if err != nil {
			return nil, err
		}
		u.Parameters = p
	}
	return u, nil
}

// Close closes the file and leaves it.
func (j *Journal) Close() error { return j.file.Close() }

// Remove closes the file and removes it.
func (j *Journal) Remove() error {
	if err := j.file.Close(); err != nil {
		return err
	}
	return os.Remove(j.file.Name())
}
