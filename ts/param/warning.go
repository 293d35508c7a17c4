package param

import "conewright/ts/notice"

// Warning is something the user should know about a result, in sentences already. The
// fit and package sweeps still say it so; it goes when they say notices.
type Warning struct {
	Code    string // stable identifier, kebab-case
	Message string
	Hint    string // what to do next; may be empty
}

// Notice returns w as a notice that holds its own words.
func (w Warning) Notice() notice.Notice {
	return notice.Notice{Code: w.Code, Facts: notice.Facts{"message": w.Message, "hint": w.Hint}}
}

// Notices returns a list of warnings as notices.
func Notices(list []Warning) []notice.Notice {
	var out []notice.Notice
	for _, w := range list {
		out = append(out, w.Notice())
	}
	return out
}

// Refusal is the error returned when the data cannot give what was asked, in sentences
// already; see [Warning].
type Refusal struct {
	Code    string
	Message string
	Advice  string
	Err     error // the cause, if there is one
}

func (e *Refusal) Error() string { return e.Message }

// Unwrap returns the cause, if there is one.
func (e *Refusal) Unwrap() error { return e.Err }

// Hint says what to do next.
func (e *Refusal) Hint() string { return e.Advice }

// ParamID is the name of ID in packages that are not converted yet.
type ParamID = ID
