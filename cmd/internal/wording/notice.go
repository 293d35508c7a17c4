// Package wording says in sentences what the packages below cmd found: every sentence,
// and every number with its unit in one, stands here. Text, JSON and the page say the
// same ones. They must never be more certain than the numbers, and they are written for
// the person at the bench.
package wording

import (
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

// fixed is a sentence without facts.
func fixed(message, hint string) sentence {
	return func(notice.Notice) (string, string) { return message, hint }
}

// count says how many there are of something that has a plural in s.
func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// sentences has one entry for each code, whichever package gives it.
var sentences = func() map[string]sentence {
	all := map[string]sentence{}
	for _, part := range bySubject {
		maps.Copy(all, part)
	}
	return all
}()

// bySubject are the sentences of each subject; no code is in two of them.
var bySubject = []map[string]sentence{
	fileSentences,
	wavSentences,
	tableSentences,
	touchstoneSentences,
	recordingSentences,
	benchSentences,
	signalSentences,
	liveSentences,
	jobSentences,
	benchCheckSentences,
	valueSentences,
	sweepSentences,
	fitSentences,
	sheetSentences,
	changeSentences,
	frictionSentences,
	sideSentences,
	pairSentences,
	massSentences,
	ringSentences,
	massLineSentences,
	studySentences,
	slipSentences,
	bookSentences,
	cabinetSentences,
	terminalSentences,
	networkSentences,
	partSentences,
	connectedSentences,
}

// fact returns the fact of that name, which must be of this type.
func fact[T any](n notice.Notice, name string) T { return n.Facts[name].(T) }

// Notice says a notice in words, without the file that it is about.
func Notice(n notice.Notice) Said {
	say, ok := sentences[n.Code]
	if !ok {
		return Said{Code: n.Code, Message: n.Error()}
	}
	message, hint := say(n)
	return Said{n.Code, message, hint}
}

// Says says whether there is a sentence for a notice about what is connected that has all
// its facts, as one that was read back from a file may not.
func Says(n notice.Notice) (ok bool) {
	say, known := connectedSentences[n.Code]
	if !known {
		return false
	}
	defer func() { ok = recover() == nil }()
	say(n)
	return true
}

// Notices says a list of notices.
func Notices(list []notice.Notice) []Said {
	var out []Said
	for _, n := range list {
		out = append(out, Notice(n))
	}
	return out
}
