package sweeps

import "conewright/ts"

// Options say how a file is to be read.
type Options struct {
	Bench   Bench
	Columns string // what the columns of a table without header hold; "" to find out
}

// Open reads one sweep from a file: a two-channel WAV, a text table or a
// Touchstone one-port. The kind is found from the content, not from the name.
func Open(path string, opt Options) (ts.Impedance, error) {
	panic("sweeps: Open is not written yet")
}
