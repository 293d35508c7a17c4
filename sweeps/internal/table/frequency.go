package table

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"conewright/ts/measured"
	"conewright/ts/notice"
)

// usualFrequencyStd is the relative standard uncertainty of frequencies that somebody read off a generator and of which
// nothing is said: common practice of generators with a display. A dial is worse, a counter far better.
const usualFrequencyStd = 0.003

// mostByHand is the number of points up to which a table without noise was typed by hand; programs write more.
const mostByHand = 60

// statedFrequency finds a line such as "frequency error 0.1 %" above the rows.
var statedFrequency = regexp.MustCompile(`(?i)\bfrequency error\b(?:[ \t]*[:=]?[ \t]*(?:±|\+-|\+/-)?[ \t]*([0-9]+(?:[.,][0-9]+)?)[ \t]*(%|ppm))?`)

// frequencyError returns what is known of the frequencies of a table: what a line above the rows states, which
// is a limit, the usual one for a table by hand, and nothing for others.
func (t *table) frequencyError(byHand bool) (measured.FrequencyError, error) {
	head := strings.Join(t.header, "\n") // searched at once: there may be 70,000 lines
	if m := statedFrequency.FindStringSubmatch(head); m != nil {
		i := strings.Count(head[:statedFrequency.FindStringIndex(head)[0]], "\n")
		limit, err := strconv.ParseFloat(strings.ReplaceAll(m[1], ",", "."), 64)
		unit := map[bool]float64{false: 1e-2, true: 1e-6}[strings.EqualFold(m[2], "ppm")]
		if limit *= unit; err != nil || limit > measured.MostFrequencyError {
			return measured.FrequencyError{}, t.at(t.headAt[i], notice.New("frequency-error-unread", notice.Facts{"text": shorten(t.header[i])}))
		}
		// anywhere within the limit: JCGM 100:2008, 4.3.7
		return measured.FrequencyError{Std: limit / math.Sqrt(3)}, nil
	}
	if byHand {
		return measured.FrequencyError{Std: usualFrequencyStd, Assumed: true}, nil
	}
	return measured.FrequencyError{}, nil
}
