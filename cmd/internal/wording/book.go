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
	"days-damaged": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%s cannot be read as a table of units: %s", n.Text("path"), cause(n.Err)), "move the file away; conewright job units writes it anew from the book"
	},
	"days-other": func(n notice.Notice) (string, string) {
		return n.Text("path") + " was not written by conewright job units and is left as it is", "move it away, or name another folder"
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
	"book-bad-address": func(n notice.Notice) (string, string) {
		return "the address of the book cannot be read: " + cause(n.Err), "write postgres://USER@HOST/DATABASE"
	},
	"book-password": fixed("the address of a book must have no password in it: others could read it, on the command line and in logs",
		"leave it out, and put it into the file that PGPASSFILE names (usually ~/.pgpass), with a line HOST:PORT:DATABASE:USER:PASSWORD"),
	"book-no-raw": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%s is to be a new book, and it is not said where its raw files belong", n.Text("path")),
			"set CONEWRIGHT_RAW to a folder that all machines share, or to s3://HOST/BUCKET; the book remembers it"
	},
	"book-unreachable": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the book at %s cannot be reached: %s", n.Text("path"), cause(n.Err)),
			"check the network and that the server runs, and repeat; what was acknowledged is in the book"
	},
	"book-not-let-in": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the server of the book %s does not let this user in: %s", n.Text("path"), cause(n.Err)),
			"check user, database and the password in the file that PGPASSFILE names (usually ~/.pgpass, readable for you alone), or ask who runs the server"
	},
	"book-no-right": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("this user may not do that in the book at %s: %s", n.Text("path"), cause(n.Err)),
			"ask who runs the server for the right; a new version of the program may also need the book renewed by its owner first"
	},
	"book-damaged-server": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the server finds the book at %s damaged: %s", n.Text("path"), cause(n.Err)),
			"stop writing to it and tell who runs the server: it is restored from a backup"
	},
	"book-own-tools": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the book %s is on a server, which has programs of its own for checks and backups", n.Text("path")), "docs/many-benches.md shows them"
	},
	"send-from-server": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%s is on a server, and only a book in a folder is sent", n.Text("path")), "name the folder with --book, and the book that receives it with --to"
	},
	"send-itself": func(n notice.Notice) (string, string) {
		return n.Text("path") + " would be sent to itself, or to a copy of itself", "name another book with --to"
	},
	"send-nowhere": fixed("it is not said where to send the book", "name the other one: --to postgres://USER@HOST/DATABASE; from then on it is known"),
	"send-refused": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%d of the jobs and stages could not be sent", n.Int("steps")), "the lines above say why; everything else was sent"
	},
	"send-deleted": func(n notice.Notice) (string, string) {
		return n.Text("ref") + " was sent and has been deleted there since", "delete it here too (conewright job delete), or send everything anew with --all"
	},
	"send-other-sweeps": func(n notice.Notice) (string, string) {
		return n.Text("ref") + " has sweeps there that it does not have here, and a result is of all sweeps of a stage",
			"add the sweeps of here to a stage of another name, or to the other book itself (conewright job add --book)"
	},
	"raw-no-folder": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the raw files belong into %s, and that is no folder of this machine", n.Text("path")),
			"mount the share, or set CONEWRIGHT_RAW to its whole path on this machine"
	},
	"raw-bad-address": fixed("the address of the store for raw files cannot be read", "write s3://HOST/BUCKET or s3://HOST/BUCKET/PREFIX, without a key in it; keys belong into AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY"),
	"raw-unreachable": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the store of raw files %s cannot be used: %s", n.Text("path"), cause(n.Err)),
			"check the network, the store, and the keys in AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY"
	},
	"book-bad-archive": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the archive cannot be imported because of %s: %s", n.Text("what"), cause(n.Err)), "give an archive that conewright job export wrote; nothing was imported"
	},
}
