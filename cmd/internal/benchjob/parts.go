package benchjob

import (
	"fmt"
	"slices"
	"strings"

	"conewright/ts/notice"
)

// Parts is the screen of the parts of the network. It can be shown at any time after the driver is named.
const Parts Screen = "parts"

// OfParts is the phase of recordings of parts, and of the known things that they are measured by.
const OfParts Phase = "parts"

// Role says what a recording on the screen of parts is of.
type Role string

// The roles in the order of the work: three known things with the same leads, then part after part.
const (
	OpenEnds   Role = "open"
	JoinedEnds Role = "short"
	Known      Role = "load"
	OnePart    Role = "part"
)

var roles = []Role{OpenEnds, JoinedEnds, Known, OnePart}

// Part is what a recording on the screen of parts is of, as it was typed.
type Part struct {
	Role      Role   `json:"role"`
	Ohm       string `json:"ohm"`  // of the known resistor
	Name      string `json:"name"` // of a part, and so on
	Nominal   string `json:"nominal"`
	Tolerance string `json:"tolerance"`
	Kind      string `json:"kind"` // "capacitor", "coil", "resistor"; "" is found from the curve
}

// ToParts goes on to the parts of the network.
func (j Job) ToParts() (Job, error) {
	if !slices.Contains(j.Reached, Sweeps) {
		return j, notice.New("job-order", nil)
	}
	if j.Part.Role == "" {
		j.Part.Role = OpenEnds
	}
	j.Mass = ""
	return j.on(Parts), nil
}

// WithPart says what the next recording is of.
func (j Job) WithPart(p Part) (Job, error) {
	for _, field := range []*string{&p.Ohm, &p.Name, &p.Nominal, &p.Tolerance} {
		*field = strings.TrimSpace(*field)
	}
	switch {
	case j.Screen != Parts || !slices.Contains(roles, p.Role):
		return j, notice.New("job-order", nil)
	case p.Role == Known && p.Ohm == "":
		return j, notice.New("job-known", nil)
	case p.Role == OnePart && Folder(p.Name) == "":
		return j, notice.New("job-part-name", nil)
	}
	if p.Role != Known {
		p.Ohm = ""
	}
	if p.Role != OnePart {
		p = Part{Role: p.Role, Ohm: p.Ohm}
	}
	j.Part = p
	return j, nil
}

// next is what is recorded after a recording: the known things one after the other, then parts of the same kind.
func (p Part) next() Part {
	if i := slices.Index(roles, p.Role); p.Role != OnePart && i >= 0 {
		return Part{Role: roles[i+1]}
	}
	p.Name = ""
	return p
}

// planPart is the recording that comes next.
func (j Job) planPart(taken func(file string) bool) Sweep {
	s := Sweep{Phase: OfParts, Kind: First, Number: 1, Part: j.Part}
	for s.File = s.partFile(); taken(s.File); s.File = s.partFile() {
		s.Number++
	}
	return s
}

func (s Sweep) partFile() string {
	name := string(s.Part.Role)
	if s.Part.Role == OnePart {
		name = Folder(s.Part.Name)
	}
	if s.Number > 1 {
		name += fmt.Sprintf("-%d", s.Number)
	}
	return "part-" + name + ".wav"
}

// KnownThing is the last recording of a known thing; false where there is none.
func (j Job) KnownThing(r Role) (Sweep, bool) {
	used := j.UsedIn(OfParts)
	for _, s := range slices.Backward(used) {
		if s.Part.Role == r {
			return s, true
		}
	}
	return Sweep{}, false
}

// UsedParts are the recordings of parts that were not set aside.
func (j Job) UsedParts() []Sweep {
	return slices.DeleteFunc(j.UsedIn(OfParts), func(s Sweep) bool { return s.Part.Role != OnePart })
}

// JudgeParts goes on to what the parts say.
func (j Job) JudgeParts() (Job, error) {
	if len(j.UsedParts()) == 0 {
		return j, notice.New("job-parts-first", nil)
	}
	return j.on(Verdict), nil
}
