package sweeps

import "conewright/ts"

// ReadTable reads a sweep from a text table.
func ReadTable(data []byte, source string, columns string) (ts.Impedance, error) {
	panic("sweeps: ReadTable is not written yet")
}
