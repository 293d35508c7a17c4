package sweeps

func (t *table) voltPoints(at [roles]int, b Bench) (*points, error) {
	return nil, &UnsupportedError{File: t.source, Msg: "tables of voltages are not read yet"}
}
