package repeat

import "conewright/ts/param"

// Kind is what lies between one sweep of a driver and another. Each kind holds those before it:
// another session is another clamping and another sweep as well.
type Kind uint8

// The kinds of repeats.
const (
	Again     Kind = iota // nothing was touched
	Reclamped             // taken off and put back, leads connected anew
	Session               // another day: the room, the rest of the suspension
	Operator              // another pair of hands
	kinds
)

// Kinds are all of them, the closest first.
var Kinds = [kinds]Kind{Again, Reclamped, Session, Operator}

// String returns the word used in files and on the command line.
func (k Kind) String() string { return param.Word(k, "again", "re-clamped", "session", "operator") }
