package fitted

import (
	"math"

	"conewright/ts/driver"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Travel is how far a cone moved.
type Travel struct {
	Peak float64 // m, from rest to the farthest point
	Freq float64 // Hz, of the movement around that moment
}

// farTravel is the largest displacement that still counts as small, in m. On a
// woofer with a force factor of 10 T m, 0.5 mm at 30 Hz are 0.7 V rms at the
// terminals, where suspensions are known to answer differently (laboratory notes
// of a university course); it is a tenth of the travel that woofers are rated for
// (common practice).
const farTravel = 0.5e-3

// FarthestTravel returns the largest displacement of the cone in any of the
// sweeps, false where it cannot be known: it takes the current of a sweep and
// the force factor of the driver.
func FarthestTravel(sweeps []measured.Sweep, p param.Parameters, cond measured.Conditions) (Travel, bool) {
	d, ok := movingParts(p)
	if !ok {
		return Travel{}, false
	}
	var farthest Travel
	for _, s := range sweeps {
		if s.Impedance.Drive == nil {
			continue
		}
		var mass, stiffness float64
		switch s.Load.Kind {
		case measured.AddedMass:
			mass = s.Load.Value
		case measured.KnownBox:
			sd, known := p.Get(param.Sd)
			if !known {
				continue
			}
			stiffness = cond.Air().Stiffness() * sd.Value * sd.Value / s.Load.Value
		}
		if t := travel(d, *s.Impedance.Drive, mass, stiffness); t.Peak > farthest.Peak {
			farthest = t
		}
	}
	return farthest, farthest.Peak > 0
}

// movingParts returns the moving parts of the driver, false where they are not
// known.
func movingParts(p param.Parameters) (driver.Driver, bool) {
	var d driver.Driver
	for id, to := range map[param.ID]*float64{param.BL: &d.BL, param.Mms: &d.Mms, param.Cms: &d.Cms, param.Rms: &d.Rms} {
		e, ok := p.Get(id)
		if !ok {
			return driver.Driver{}, false
		}
		*to = e.Value
	}
	if creep, ok := p.Get(param.Creep); ok {
		d.Creep = creep.Value
	}
	return d, true
}

// travel returns the largest displacement under the current, with the mass dM
// (kg) on the cone and the stiffness dK (N/m) added, theory (1.1):
//
//	x(jw) = BL I(jw)/(j w Zm(jw)),   j w Zm = 1/C + dK - w^2 (Mms + dM) + j w Rv
//
// Source: the force BL i on the moving parts, Small, J. Audio Eng. Soc. 20(5),
// 1972, by way of university course notes.
func travel(d driver.Driver, drive measured.Drive, dM, dK float64) Travel {
	if len(drive.Current) == 0 {
		return Travel{}
	}
	n := 1
	for n < 2*len(drive.Current) {
		n *= 2
	}
	x := make([]float64, n)
	copy(x, drive.Current)
	fft := fourier.NewFFT(n)
	s := fft.Coefficients(nil, x)
	s[0] = 0
	for k := 1; k < len(s); k++ {
		f := float64(k) * drive.Rate / float64(n)
		s[k] *= complex(d.BL/float64(n), 0) / (complex(0, 2*math.Pi*f) * d.Mechanical(f, dM, dK))
	}
	fft.Sequence(x, s)
	x = x[:len(drive.Current)]
	far := 0
	for i, v := range x {
		if math.Abs(v) > math.Abs(x[far]) {
			far = i
		}
	}
	// Half a period lies between the zeros on either side, each on the straight
	// line between two samples.
	from, to := far, far
	for from > 0 && x[from]*x[far] > 0 {
		from--
	}
	for to < len(x)-1 && x[to]*x[far] > 0 {
		to++
	}
	t := Travel{Peak: math.Abs(x[far])}
	if from < far && far < to {
		half := float64(to-from) - x[from]/(x[from]-x[from+1]) - x[to]/(x[to]-x[to-1])
		t.Freq = drive.Rate / (2 * half)
	}
	return t
}

// Warning says that the travel is not small, nil where it is.
func (t Travel) Warning() *notice.Notice {
	if t.Peak <= farTravel {
		return nil
	}
	// Down to half of what counts as small.
	return notice.New("travel-large", notice.Facts{"peak": t.Peak, "decibels": math.Ceil(20 * math.Log10(t.Peak/(farTravel/2)))})
}
