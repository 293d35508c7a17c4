package main

import (
	"bytes"
	"fmt"
	"os"
	"sort"
	"strconv"
	"strings"
	"time"

	"conewright/sweeps"
	"conewright/ts"
	"conewright/ts/connected"
	"conewright/ts/internal/truth"
	"conewright/ts/measured"
)

func imp(s truth.Sweep) measured.Impedance {
	z, err := measured.NewImpedance(s.F, s.Z, s.Sigma)
	if err != nil {
		panic(err)
	}
	return z
}

func file(b []byte) measured.Impedance {
	z, err := sweeps.Read(bytes.NewReader(b), int64(len(b)), "x", sweeps.Options{})
	if err != nil {
		panic(err)
	}
	return z
}

func main() {
	n, _ := strconv.Atoi(os.Args[1])
	seed0, _ := strconv.Atoi(os.Args[2])
	var all []struct {
		name string
		z    func(seed uint64) measured.Impedance
	}
	add := func(name string, z func(seed uint64) measured.Impedance) {
		all = append(all, struct {
			name string
			z    func(seed uint64) measured.Impedance
		}{name, z})
	}
	lay := func(f truth.File) measured.Impedance {
		return file(truth.Layout{}.Bytes(truth.Rand(1), f.Table))
	}
	add("alone", func(s uint64) measured.Impedance { a, _ := truth.Connect(s, truth.InClosedBox); return imp(a.Sweep) })
	add("real", func(s uint64) measured.Impedance { return lay(truth.RealFile(s, truth.Choice{})) })
	add("healthy30", func(s uint64) measured.Impedance { return lay(truth.Healthy(s, 0.3)) })
	add("windowed", func(s uint64) measured.Impedance { return lay(truth.Windowed(s)) })
	add("clipped", func(s uint64) measured.Impedance { return lay(truth.Clipped(s)) })
	add("smoothed3", func(s uint64) measured.Impedance { return lay(truth.Smoothed(s, 1./3)) })
	add("smoothed24", func(s uint64) measured.Impedance { return lay(truth.Smoothed(s, 1./24)) })
	for _, c := range truth.Connections() {
		add(c.String(), func(s uint64) measured.Impedance { _, a := truth.Connect(s, c); return imp(a.Sweep) })
	}
	for _, c := range all {
		if len(os.Args) > 3 && !strings.Contains(c.name, os.Args[3]) {
			continue
		}
		count := map[string]int{}
		var d time.Duration
		for i := range n {
			z := c.z(uint64(seed0 + i))
			t := time.Now()
			l := connected.Look(z, false)
			if len(os.Args) > 4 {
				r, err := ts.Fit([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
				if err != nil {
					fmt.Println(err)
				} else if l = nil; len(r.Parameters.Doubts) > 0 {
					l = &r.Parameters.Doubts[0]
				}
			}
			d += time.Since(t)
			s := "-"
			if l != nil {
				s = l.Code
				if l.Has("kinds") {
					s += ":" + strings.Join(l.Facts["kinds"].([]string), "+")
				}
			}
			count[s]++
		}
		var keys []string
		for k := range count {
			keys = append(keys, k)
		}
		sort.Slice(keys, func(i, j int) bool { return count[keys[i]] > count[keys[j]] })
		fmt.Println(c.name, d/time.Duration(n))
		for _, k := range keys {
			fmt.Println("   ", count[k], k)
		}
	}
}
