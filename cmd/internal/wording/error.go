package wording

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"conewright/ts/notice"
)

// Error says an error in words, with the file and the line that it is about, and what
// to do, which may be empty.
func Error(err error) (message, hint string) {
	var n *notice.Notice
	var advised interface{ Hint() string }
	var path *fs.PathError
	switch {
	case errors.As(err, &n):
		return noticeError(err, n)
	case errors.As(err, &advised):
		return err.Error(), advised.Hint()
	case errors.As(err, &path):
		return pathError(err, path)
	}
	return err.Error(), ""
}

// noticeError says the notice in err; what others have put before and behind it stays.
func noticeError(err error, n *notice.Notice) (message, hint string) {
	said := Notice(*n)
	message = said.Message
	switch {
	case n.File != "" && n.Line > 0:
		message = fmt.Sprintf("%s:%d: %s", n.File, n.Line, message)
	case n.File != "":
		message = n.File + ": " + message
	}
	return strings.Replace(err.Error(), n.Error(), message, 1), said.Hint
}

// pathError says what is wrong with a file, the file first: "open x: no such file"
// becomes "x: no such file".
func pathError(err error, path *fs.PathError) (message, hint string) {
	message = err.Error()
	if err == error(path) {
		message = path.Path + ": " + path.Err.Error()
	}
	return message, pathHint(err)
}
