package param

// Warning is something the user should know about a result that is otherwise
// usable: what was noticed, and what to do about it. Warnings travel with the
// result they belong to.
type Warning struct {
	Code    string `json:"code"`    // stable identifier, kebab-case
	Message string `json:"message"` // one sentence in a technician's words
	Hint    string `json:"hint"`    // what to do next; may be empty
}

// Error makes a Warning usable where an error is asked for.
func (w Warning) Error() string { return w.Message }

// Refusal is the error returned when the data cannot give what was asked.
// Code, message and hint have the same meaning as in [Warning].
type Refusal struct {
	Code    string
	Message string
	Advice  string
	Err     error // the cause, if there is one
}

func (e *Refusal) Error() string { return e.Message }

// Unwrap returns the cause, if there is one.
func (e *Refusal) Unwrap() error { return e.Err }

// Hint says what to do next. Every error of this module that has advice to
// give carries this method; the command line prints it below the message.
func (e *Refusal) Hint() string { return e.Advice }
