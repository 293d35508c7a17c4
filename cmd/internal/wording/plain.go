package wording

// plainTerms are the words that the screen has for exact terms of the judgement. JSON and the theory
// keep the terms.
var plainTerms = map[string]string{
	"joint fit":              "fit of all sweeps",
	"semi-inductance ladder": "semi-inductance with a resistor",
}

// Plain is a technician's word for an exact term, and the term itself where it is plain enough.
func Plain(term string) string {
	if word, ok := plainTerms[term]; ok {
		return word
	}
	return term
}

// WithoutBench returns notices without the advice about leads, sockets and inputs, none of which a
// virtual bench has. What was found stays.
func WithoutBench(said []Said) []Said {
	var out []Said
	for _, s := range said {
		if s.Code == "hum" || s.Code == "channels-not-compared" {
			s.Hint = ""
		}
		out = append(out, s)
	}
	return out
}
