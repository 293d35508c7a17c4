package verdict

import (
	"conewright/ts/internal/refer"
	"conewright/ts/param"
)

// Missing is what it takes to know a value that the data do not give.
type Missing uint8

// What may be missing.
const (
	Nothing          Missing = iota
	NeedsMounting            // a sweep in the mounting of the sheet, or what converts to it
	NeedsMass                // a sweep with an added mass
	NeedsArea                // the area of the cone
	NeedsMassAndArea         // both
	NeedsSweep               // a sweep that holds it
	NeedsHarmonics           // a recording of an exponential sweep in free air
	NeedsVolts               // the same, with inputs whose full scale is known in volts
)

// needsLoad says which quantities a sweep with nothing on the cone cannot give.
var needsLoad = map[param.ID]bool{param.Mms: true, param.Cms: true, param.Rms: true, param.BL: true, param.Vas: true, param.Eta0: true}

// needsArea says which quantities need the area of the cone.
var needsArea = map[param.ID]bool{param.Vas: true, param.Sd: true, param.Eta0: true}

// missing says what would give a quantity at the conditions of the sheet.
func missing(p refer.Referred, id param.ID) Missing {
	area := needsArea[id] && p.Index(param.Sd) < 0
	load := needsLoad[id] && p.Index(param.BL) < 0
	switch {
	case p.Unreferred[id]:
		return NeedsMounting
	case p.Index(id) >= 0:
		return Nothing
	case id == param.Distortion || id == param.Friction && p.Index(param.Distortion) < 0:
		return NeedsHarmonics
	case id == param.Friction:
		return NeedsVolts
	case area && load:
		return NeedsMassAndArea
	case area:
		return NeedsArea
	case load:
		return NeedsMass
	}
	return NeedsSweep
}
