package wording

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"syscall"

	"conewright/ts/notice"
)

const sweepFiles = "give a two-channel WAV file, a text table with frequency and impedance, or a Touchstone one-port"

// otherFiles are files that are mistaken for a sweep, by the kind that the notice
// names: what they are and what to do.
var otherFiles = map[string][2]string{
	"flac":        {"a FLAC recording", "convert it, for example with: sox in.flac out.wav"},
	"ogg":         {"an Ogg recording", exportWAV},
	"mp3":         {"an MP3 recording, which has lost what the measurement needs", "record again, as a WAV file"},
	"aiff":        {"an AIFF recording", "convert it, for example with: sox in.aiff out.wav"},
	"caf":         {"a CAF recording", exportWAV},
	"w64":         {"a recording with 64-bit sizes (W64)", "convert it, for example with: ffmpeg -i in.w64 out.wav"},
	"zip":         {"a spreadsheet or an archive", saveAsText},
	"spreadsheet": {"a spreadsheet", saveAsText},
	"pdf":         {"a PDF document", saveAsText},
}

const saveAsText = "save the table as text, for example as CSV"

// fileSentences say what is wrong with a file as such, whatever it holds.
var fileSentences = map[string]sentence{
	"file-open": func(n notice.Notice) (string, string) {
		return cause(n.Err), cmp.Or(pathHint(n.Err), "check the file and the disk")
	},
	"file-not":     fixed("this is a folder or a device, not a file", "give the name of a file"),
	"file-changed": fixed("the file changed while it was read", "wait until the program that writes it has ended, and repeat"),
	"file-large": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the file has more than %s, the most that such a file may have", megabytes(n.Num("most"))), "check the name"
	},
	"file-too-large": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the file has %.0f MB and is not a WAV recording", n.Num("bytes")/(1<<20)), sweepFiles
	},
	"file-empty": fixed("the file is empty", sweepFiles),
	"file-kind": func(n notice.Notice) (string, string) {
		kind, known := otherFiles[n.Text("kind")]
		if !known {
			kind = [2]string{"a file of the kind " + n.Text("kind"), sweepFiles}
		}
		return "this is " + kind[0], kind[1]
	},
	"read-failed": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("cannot read %d bytes at offset %.0f: %v", n.Int("bytes"), n.Num("offset"), n.Err),
			"check that the file is not being written to and that the disk can be read"
	},

	"save-exists": func(n notice.Notice) (string, string) {
		return n.Text("path") + " exists and is not overwritten", "choose another name, or add --force to replace it"
	},
	"save-folder": func(n notice.Notice) (string, string) { return n.Text("path") + " is a folder", "name a file in it" },
	"save-device": func(n notice.Notice) (string, string) {
		return n.Text("path") + " is a device, not a file", "name a file; without -o the result goes to the screen"
	},
	"save-link": func(n notice.Notice) (string, string) {
		return n.Text("path") + " is a link and is kept", "name the file itself, or choose another name"
	},
	"save-no-folder": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("there is no folder %s", n.Text("folder")), "make the folder first"
	},
	"save-interrupted": func(n notice.Notice) (string, string) {
		return "interrupted; " + n.Text("path") + " was not written", "repeat the command"
	},
	"save-failed": func(n notice.Notice) (string, string) {
		return n.Text("path") + ": " + cause(n.Err), cmp.Or(pathHint(n.Err), "check the folder and the disk")
	},
	"demo-exists": func(n notice.Notice) (string, string) {
		return n.Text("path") + " exists and is not overwritten", "choose a new folder"
	},
	"batch-unfinished": func(n notice.Notice) (string, string) {
		return n.Text("path") + " exists and is not overwritten", "it is an unfinished run: --resume continues it, --force begins anew"
	},
}

// megabytes writes a size in bytes: "16 MB", "64 kB".
func megabytes(bytes float64) string {
	if bytes < 1<<20 {
		return fmt.Sprintf("%.0f kB", bytes/(1<<10))
	}
	return fmt.Sprintf("%.0f MB", bytes/(1<<20))
}

// cause returns what the system says of a file, without its name.
func cause(err error) string {
	var path *fs.PathError
	if errors.As(err, &path) {
		return path.Err.Error()
	}
	return err.Error()
}

// pathHint says what to do about what the system says of a file.
func pathHint(err error) string {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "check the name and the folder"
	case errors.Is(err, fs.ErrPermission):
		return "check the permissions of the file and its folder"
	case errors.Is(err, syscall.ENOSPC):
		return "make room on the disk"
	case errors.Is(err, syscall.EISDIR):
		return "name a file in the folder"
	case errors.Is(err, syscall.ENOTDIR):
		return "a file has the name of the folder; choose another name"
	}
	return ""
}
