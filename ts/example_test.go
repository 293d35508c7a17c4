package ts_test

import (
	"fmt"
	"math"
	"math/cmplx"

	"conewright/ts"
	"conewright/ts/driver"
	"conewright/ts/measured"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// One driver, two sweeps: in free air and with 20 g on the cone. Here the sweeps
// come from a driver that exists only as numbers; sweeps.Open reads real ones.
func Example() {
	woofer := driver.Driver{Re: 5.46, BL: 11.6, Mms: 0.0882, Cms: 0.55e-3, Rms: 3.25, Coil: driver.LossyCoil{K: 0.0106, N: 0.76}}
	sweep := func(dM float64) measured.Impedance {
		var freq, sigma []float64
		var z []complex128
		for k := 0; k < 208; k++ {
			f := 5 * math.Exp2(float64(k)/24)
			freq, z = append(freq, f), append(z, woofer.LoadedImpedance(f, dM, 0))
			sigma = append(sigma, 0.002*cmplx.Abs(z[k])) // noise of 0.2 %
		}
		impedance, err := measured.NewImpedance(freq, z, sigma)
		if err != nil {
			panic(err)
		}
		return impedance
	}

	fitted, err := ts.Fit([]measured.Sweep{
		{Impedance: sweep(0)},
		{Impedance: sweep(0.020), Load: measured.Load{Kind: measured.AddedMass, Value: 0.020, Std: 0.1e-3}},
	}, measured.Conditions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, id := range []param.ID{param.Re, param.Fs, param.Qts, param.Mms, param.BL} {
		e, ok := fitted.Parameters.Get(id)
		if !ok {
			continue // the sweeps cannot give it: fitted.Warnings says what would
		}
		fmt.Printf("%v %.4g %s\n", id, e.Value, id.Info().Unit)
	}
	mms, _ := fitted.Parameters.Get(param.Mms)
	fmt.Printf("Mms is known within %.1f %%\n", 100*(mms.High-mms.Low)/2/mms.Value)

	spec := verdict.Spec{Name: "a sheet", Limits: []verdict.Limit{{ID: param.Fs, Lo: 21, Hi: 25}}, Confidence: 0.95}
	checked, err := ts.Check(fitted.Parameters, spec)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(checked.Verdict)
	// Output:
	// Re 5.46 ohm
	// Fs 22.85 Hz
	// Qts 0.454 1
	// Mms 0.0882 kg
	// BL 11.6 T*m
	// Mms is known within 1.1 %
	// in-spec
}
