package wording

import (
	"cmp"
	"fmt"

	"conewright/ts/notice"
)

// bookSentences are about the book of jobs.
var bookSentences = map[string]sentence{
	"book-no-place": fixed("it is not known where this user's data belong", "name the folder of the book with --book or CONEWRIGHT_BOOK"),
	"book-none": func(n notice.Notice) (string, string) {
		return "there is no book in " + n.Text("path"), "conewright job new begins one; --book or CONEWRIGHT_BOOK names another folder"
	},
	"book-unusable": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the book at %s cannot be used: %s", n.Text("path"), cause(n.Err)),
			cmp.Or(pathHint(n.Err), "check the disk, its free space and the permissions of the folder")
	},
	"book-other": func(n notice.Notice) (string, string) {
		return n.Text("path") + " belongs to another program and is left as it is", "name another folder with --book"
	},
	"book-newer": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%s was written by a newer version (form %d, this one knows up to %d) and is left as it is", n.Text("path"), n.Int("have"), n.Int("known")),
			"use the newer version here too, or name another folder with --book"
	},
	"book-damaged": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the book %s is damaged: %s", n.Text("path"), cause(n.Err)),
			"leave it as it is and copy the whole folder; then put the last backup in its place (conewright job backup makes them)"
	},
	"book-busy": func(n notice.Notice) (string, string) {
		return "another program has been writing to " + n.Text("path") + " all the time", "wait until it has finished, and repeat; nothing was changed"
	},
	"book-bad-ref": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%q names no job", n.Text("ref")), "write job:12, job:12/left or job:12/left/as-received; conewright job list shows the numbers"
	},
	"book-bad-name": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%q cannot be the name of a driver or a stage in a job", n.Text("name")), "use letters, digits, points and hyphens, such as left or run-in"
	},
	"book-missing": func(n notice.Notice) (string, string) {
		return n.Text("ref") + " is not in the book", "conewright job list shows the jobs, conewright job show 12 what is in one"
	},
	"book-which-driver": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%s has %s, and it is not said which one is meant", n.Text("ref"), count(n.Int("drivers"), "driver")),
			fmt.Sprintf("name it: %s/left; conewright job show lists them", n.Text("ref"))
	},
	"book-no-type": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the book has no unit of the type %q", n.Text("type")), "check the name: conewright job find lists the jobs that have it; job set JOB/DRIVER --type says what a driver is"
	},
	"book-no-repeats": func(n notice.Notice) (string, string) {
		if others := n.Int("others"); others > 0 {
			return "there are repeats in the book, but all of another bench", "check wiring and resistor, or leave --bench out"
		}
		return "there are no repeats in the book of which it is known what lies between them", "say so when they are added: conewright job add job:12/left/run-in again.wav --kind re-clamped"
	},
	"book-changed": func(n notice.Notice) (string, string) {
		return n.Text("ref") + " was changed by another program meanwhile", "repeat the command; nothing was added"
	},
	"book-other-bench": func(n notice.Notice) (string, string) {
		return n.Text("ref") + " has sweeps of another bench, and all sweeps of a stage are one fit",
			"leave the bench options out to use those of the stage, name a new stage, or correct the stage with conewright job recompute"
	},
	"book-same-sweep": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%s is in the book already, at the stage %s of this driver", n.Text("name"), n.Text("stage")), "a repeat is a new recording; check the name of the file"
	},
	"book-other-content": func(n notice.Notice) (string, string) {
		return "the content is not that of the SHA-256 " + n.Text("hash"), "read or copy the file once more"
	},
	"book-lost-file": func(n notice.Notice) (string, string) {
		return "the raw file " + n.Text("path") + " is missing", "put it back from a backup of the book"
	},
	"book-changed-file": func(n notice.Notice) (string, string) {
		return "the raw file " + n.Text("path") + " is damaged: its content is not that of the SHA-256 in its name", "put it back from a backup of the book"
	},
	"book-backup-there": func(n notice.Notice) (string, string) {
		return n.Text("path") + " exists, and a backup needs a new folder", "choose another name, such as one with the date"
	},
	"book-bad-archive": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the archive cannot be imported because of %s: %s", n.Text("what"), cause(n.Err)), "give an archive that conewright job export wrote; nothing was imported"
	},
}
