package wording

import (
	"errors"
	"fmt"
	"maps"

	"conewright/ts/notice"
)

// Said is a notice in words: one sentence in a technician's words, and what to do
// next, which may be empty.
type Said struct {
	Code    string `json:"code"`
	Message string `json:"message"`
	Hint    string `json:"hint"`
}

// sentence says one kind of notice.
type sentence func(n notice.Notice) (message, hint string)

// sentences has one entry for each code, whichever package gives it.
var sentences = func() map[string]sentence {
	all := map[string]sentence{}
	for _, part := range []map[string]sentence{studySentences} {
		maps.Copy(all, part)
	}
	return all
}()

// Notice says a notice in words, without the file that it is about.
func Notice(n notice.Notice) Said {
	say, ok := sentences[n.Code]
	if !ok {
		return Said{Code: n.Code, Message: n.Error()}
	}
	message, hint := say(n)
	return Said{n.Code, message, hint}
}

// Error says an error in words, with the file and the line that it is about, and what
// to do. An error that is no notice keeps its own words.
func Error(err error) (message, hint string) {
	var n *notice.Notice
	if !errors.As(err, &n) {
		return err.Error(), ""
	}
	said := Notice(*n)
	switch {
	case n.File != "" && n.Line > 0:
		return fmt.Sprintf("%s:%d: %s", n.File, n.Line, said.Message), said.Hint
	case n.File != "":
		return n.File + ": " + said.Message, said.Hint
	}
	return said.Message, said.Hint
}
