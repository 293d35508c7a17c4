package ring

import (
	"conewright/ts/notice"
	"conewright/ts/param"
)

// Material is what a ring is made of.
type Material struct {
	Name    string
	Density param.Quantity // kg/m^3; Std covers the usual alloys
	Risk    Risk           // of a ring of it near a magnet and a coil
}

// Risk is what a ring of a material may do to the driver.
type Risk string

// The risks.
const (
	ShortedTurn Risk = "shorted-turn" // a closed ring that conducts, in the field of the gap
	MagnetPull  Risk = "magnet-pull"  // the magnet pulls on it
)

// Materials lists the usual ring materials with handbook densities at 20 C.
//
// Source: CRC Handbook of Chemistry and Physics, densities of metals and common
// alloys (from memory): aluminium 2.70, common brasses 8.4 to 8.75, low-carbon
// steel 7.85 to 7.87, copper 8.96 g/cm^3. The standard uncertainty covers the
// spread between common alloys as a rectangular distribution.
func Materials() []Material {
	return []Material{
		{"aluminium", param.Quantity{Value: 2700, Std: 40}, ShortedTurn},
		{"brass", param.Quantity{Value: 8500, Std: 90}, ShortedTurn},
		{"copper", param.Quantity{Value: 8940, Std: 20}, ShortedTurn},
		{"steel", param.Quantity{Value: 7860, Std: 30}, MagnetPull},
	}
}

// chooseMaterials returns the material of that name, or all without a name.
func chooseMaterials(name string) ([]Material, error) {
	all := Materials()
	if name == "" {
		return all, nil
	}
	for _, m := range all {
		if m.Name == name {
			return []Material{m}, nil
		}
	}
	return nil, notice.New("ring-material", notice.Facts{"name": name})
}
