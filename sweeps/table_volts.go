package sweeps

func (t *table) voltPoints(at [roles]int, b Bench) (*tablePoints, error) {
	return nil, &UnsupportedError{File: t.source, Msg: "tables of voltages are not read yet"}
}
