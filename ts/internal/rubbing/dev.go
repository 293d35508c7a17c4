package main

import (
	"encoding/gob"
	"fmt"
	"os"

	"conewright/ts/measured"
)

// cached records, or takes what was recorded before.
func (s subject) cached(r run) (measured.Impedance, error) {
	dir := os.Getenv("RUBCACHE")
	name := fmt.Sprintf("%s/%d_%g_%g_%g_%g.gob", dir, s.seed, r.volt, r.friction, r.mass, r.amplifier)
	var z measured.Impedance
	if dir != "" {
		if f, err := os.Open(name); err == nil {
			err = gob.NewDecoder(f).Decode(&z)
			f.Close()
			return z, err
		}
	}
	z, err := s.record(r)
	if err == nil && dir != "" {
		z.Warnings = nil
		z.Drive = nil
		f, _ := os.Create(name)
		gob.NewEncoder(f).Encode(z)
		f.Close()
	}
	return z, err
}
