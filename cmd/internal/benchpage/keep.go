package benchpage

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"

	"conewright/cmd/internal/benchjob"
	"conewright/cmd/internal/infile"
	"conewright/cmd/internal/savefile"
	"conewright/cmd/internal/wording"
	"conewright/sweeps"
	"conewright/ts/notice"
)

const (
	jobFile   = "job.json" // in the folder of a job
	jobSchema = "conewright/bench-job/1"
	mostJob   = 1 << 20 // bytes of such a file
	mostJobs  = 5       // that are offered
)

// keptJob is a job on the disk. The sweeps themselves are files beside it.
type keptJob struct {
	Schema string                    `json:"schema"`
	Job    benchjob.Job              `json:"job"`
	Notes  map[string][]wording.Said `json:"notes"` // on sweeps, by their files
}

// remember writes the job down once it has a sweep, so that it can be gone on with. The desk is
// locked.
func (d *Desk) remember() error {
	if len(d.job.Sweeps) == 0 {
		return nil
	}
	k := keptJob{jobSchema, d.job, map[string][]wording.Said{}}
	for file, r := range d.sweeps {
		k.Notes[file] = r.notes
	}
	return savefile.Write(filepath.Join(d.dir(), jobFile), true, func(w io.WriteSeeker) error {
		e := json.NewEncoder(w)
		e.SetIndent("", " ")
		return e.Encode(k)
	})
}

// ReadJob reads the job that the page keeps in the folder dir.
func ReadJob(dir string) (benchjob.Job, error) {
	k, err := readJob(dir)
	return k.Job, err
}

func readJob(dir string) (k keptJob, err error) {
	path := filepath.Join(dir, jobFile)
	data, err := infile.Small(path, mostJob)
	if err == nil {
		err = json.Unmarshal(data, &k)
	}
	if err == nil && k.Schema != jobSchema {
		err = fmt.Errorf("its schema is %q", k.Schema)
	}
	if err != nil {
		return keptJob{}, unreadable(path, err)
	}
	return k, nil
}

func unreadable(path string, why error) error {
	return notice.New("job-unreadable", notice.Facts{"path": path}).Because(why)
}

// readJob reads the job in a folder of the page; one that was moved there would write into another.
func (d *Desk) readJob(folder string) (keptJob, error) {
	dir := filepath.Join(d.opt.Folder, filepath.Base(folder))
	k, err := readJob(dir)
	if own := benchjob.Folder(k.Job.Name); err == nil && own != folder {
		return keptJob{}, unreadable(filepath.Join(dir, jobFile), fmt.Errorf("it belongs into the folder %q", own))
	}
	return k, err
}

// waitingJob is a job that can be gone on with.
type waitingJob struct {
	Folder string `json:"folder"`
	Name   string `json:"name"`
	Says   string `json:"says"`
}

// waiting are the jobs that are not finished, the last one first.
func (d *Desk) waiting() []waitingJob {
	paths, _ := filepath.Glob(filepath.Join(d.opt.Folder, "*", jobFile))
	var files []os.FileInfo
	folders := map[os.FileInfo]string{}
	for _, path := range paths {
		if info, err := os.Stat(path); err == nil {
			files = append(files, info)
			folders[info] = filepath.Base(filepath.Dir(path))
		}
	}
	slices.SortFunc(files, func(a, b os.FileInfo) int { return b.ModTime().Compare(a.ModTime()) })
	var list []waitingJob
	for _, info := range files {
		k, err := d.readJob(folders[info])
		if err != nil || k.Job.Finished() {
			continue
		}
		sweeps := "1 sweep"
		if n := len(k.Job.Sweeps); n > 1 {
			sweeps = fmt.Sprintf("%d sweeps", n)
		}
		list = append(list, waitingJob{folders[info], k.Job.Name, fmt.Sprintf("%s, %s the repair, %s", sweeps, k.Job.Phase, info.ModTime().Format("2 Jan 2006 15:04"))})
		if len(list) == mostJobs {
			break
		}
	}
	return list
}

// free refuses a name that another job has: it would get that job's folder. The desk is locked.
func (d *Desk) free(next benchjob.Job) error {
	folder := benchjob.Folder(next.Name)
	if slices.Contains(d.job.Reached, benchjob.Sweeps) && benchjob.Folder(d.job.Name) == folder {
		return nil
	}
	if _, err := os.Lstat(filepath.Join(d.opt.Folder, folder, jobFile)); err != nil {
		return nil
	}
	k, err := d.readJob(folder)
	if err != nil {
		return err
	}
	if k.Job.Finished() {
		return notice.New("job-name-finished", notice.Facts{"name": k.Job.Name})
	}
	return notice.New("job-name-taken", notice.Facts{"name": k.Job.Name})
}

// goOn goes on with the job in a folder. The desk is locked.
func (d *Desk) goOn(folder string) error {
	if d.unsaved != nil {
		return notice.New("job-unsaved", notice.Facts{"file": d.unsaved.sweep.File})
	}
	k, err := d.readJob(folder)
	if err != nil {
		return err
	}
	next := k.Job.GoneOnWith()
	if _, _, err := d.opt.Workshop.Settings(next.Typed); err != nil {
		return err
	}
	d.end(errStopped)
	d.sweeps, d.fits, d.parts = map[string]recorded{}, map[benchjob.Phase]fitted{}, measuredParts{}
	next.Sweeps = slices.Clone(next.Sweeps)
	for i, s := range next.Sweeps {
		r := d.readAgain(s, filepath.Join(d.dirOf(next), s.File), next.Typed)
		known := k.Notes[s.File]
		r.notes = slices.DeleteFunc(r.notes, func(n wording.Said) bool { return slices.Contains(known, n) }) // said at the last pause
		r.notes = slices.Concat(known, r.notes)
		next.Sweeps[i].Aside = s.Aside || !r.usable
		d.sweeps[s.File] = r
	}
	return d.step(next, nil)
}

// readAgain reads a sweep from the disk. What is known of it was noted when it was made; only that
// it cannot be read any more is new.
func (d *Desk) readAgain(s benchjob.Sweep, path string, typed map[string]string) recorded {
	f, err := infile.Open(path)
	if err != nil {
		return recorded{notes: []wording.Said{*said(err)}}
	}
	defer f.Close()
	rec, err := sweeps.ReadRecording(f, f.Size(), path)
	if err != nil {
		return recorded{notes: []wording.Said{*said(err)}}
	}
	r := d.read(rec, s, typed)
	if r.usable {
		r.notes = nil
	}
	return r
}
