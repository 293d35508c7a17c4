package truth

import "math"

// Mounting is what the cone radiates into.
type Mounting int

const (
	NoAir   Mounting = iota // a vacuum; the moving mass holds all air: for published lumped examples
	FreeAir                 // a disc without a baffle
	Baffle                  // a disc in an infinite baffle, both sides
)

// Driver is a drive unit, and the state it is in.
type Driver struct {
	Inch       float64    // nominal size, inch
	Re         float64    // DC resistance in this state, ohm
	BL         float64    // T m
	Mmd        float64    // moving mass without air, kg
	Rv         float64    // viscous loss, kg/s
	Suspension Suspension // surround and spider
	Sd         float64    // m²
	Coil       Coil
	Resonators []Resonator // parts of surround and cone that move by themselves
	Air        Air
	Mounting   Mounting
	Frame      Frame // what holds the magnet; the zero Frame is a wall
	Wire       Metal // of the coil, for its temperature
	Magnet     Metal // for its temperature
	Softens    Softening
}

// Frame is a frame that can move: its mass, and the foam or the clamp that holds it.
type Frame struct{ Mass, K, R float64 } // kg (0: fixed), N/m, kg/s

// Z is the impedance of the driver with nothing on its cone.
func (d Driver) Z(f float64) complex128 { return d.Loaded().Z(f) }

// Load is something that the cone has to move besides itself.
type Load interface {
	// Mechanical is the load's mechanical impedance at w rad/s in kg/s on the cone of d.
	Mechanical(w float64, d Driver) complex128
}

// Loaded is the driver with loads on its cone.
func (d Driver) Loaded(loads ...Load) Loaded { return Loaded{Driver: d, Loads: loads} }

// Loaded is a driver with loads on its cone.
type Loaded struct {
	Driver Driver
	Loads  []Load
}

// Z implements OnePort:
//
//	Z = Re + Z_coil + BL²/Zm
//
// Reference: the electromechanical circuit of the moving-coil driver (Beranek, Acoustics, chapter 3, from
// memory).
func (l Loaded) Z(f float64) complex128 {
	d, w := l.Driver, 2*math.Pi*f
	return d.Blocked().Z(f) + complex(d.BL*d.BL, 0)/l.motion(w, d.Suspension.Stiffness(w))
}

// Blocked is the driver with its cone held.
func (d Driver) Blocked() OnePort {
	return Port(func(f float64) complex128 {
		return complex(d.Re, 0) + d.Coil.Impedance(2*math.Pi*f, d.Re)
	})
}

// motion is the mechanical impedance in kg/s between coil and magnet, for a suspension of stiffness k.
//
// With Za from the cone to the room, Zs from the cone to the frame and Zf from the frame to the room, a
// force between cone and frame moves them apart by Zs + Za Zf/(Za + Zf). Derived here.
func (l Loaded) motion(w float64, k complex128) complex128 {
	s, d := jw(w), l.Driver
	room := l.inertial(w)
	if f := d.Frame; f.Mass > 0 {
		room = parallel(room, s*complex(f.Mass, 0)+complex(f.R, 0)+complex(f.K, 0)/s)
	}
	return complex(d.Rv, 0) + k/s + room
}

// inertial is the part of the mechanical impedance from cone to room: mass, air, resonators and loads.
func (l Loaded) inertial(w float64) complex128 {
	d := l.Driver
	z := jw(w*d.Mmd) + d.radiation(w)
	for _, r := range d.Resonators {
		z += r.Impedance(w)
	}
	for _, load := range l.Loads {
		z += load.Mechanical(w, d)
	}
	return z
}

// radiation is the mechanical radiation impedance of both sides of the cone, kg/s.
func (d Driver) radiation(w float64) complex128 {
	ka := w / d.Air.C * d.Radius()
	unit := complex(d.Air.Rho*d.Air.C*d.Sd, 0)
	switch d.Mounting {
	case FreeAir:
		return unit * disc(ka)
	case Baffle:
		return unit * 2 * piston(2*ka)
	}
	return 0
}

// Radius is that of the disc with the area Sd, m.
func (d Driver) Radius() float64 { return sqrt(d.Sd / math.Pi) }

// Lumped is a driver of the handbook: constant elements, no air, an ideal inductance of le henry.
func Lumped(re, le, bl, mms, cms, rms, sd float64) Driver {
	return Driver{Re: re, BL: bl, Mmd: mms, Rv: rms, Suspension: Spring{K: 1 / cms}, Sd: sd, Coil: Coil{Leak: le}, Air: RoomAir}
}
