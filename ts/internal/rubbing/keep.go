package main

import (
	"encoding/gob"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"conewright/ts/measured"
)

// cached records, or takes what was recorded into the folder keep before; "": no folder.
func (s subject) cached(r run, keep string) (measured.Impedance, error) {
	if keep == "" {
		return s.record(r)
	}
	name := filepath.Join(keep, fmt.Sprintf("%d_%g_%g_%g_%g.gob", s.seed, r.volt, r.friction, r.amplifier, r.losses))
	var z measured.Impedance
	if f, err := os.Open(name); err == nil {
		defer f.Close()
		return z, gob.NewDecoder(f).Decode(&z)
	}
	z, err := s.record(r)
	if err != nil {
		return z, err
	}
	z.Warnings, z.Drive = nil, nil        // facts are of many types
	f, err := os.CreateTemp(keep, "new-") // a recording that is half written would count as one that the fit refuses
	if err != nil {
		return z, err
	}
	err = errors.Join(gob.NewEncoder(f).Encode(z), f.Close())
	if err != nil {
		return z, err
	}
	return z, os.Rename(f.Name(), name)
}
