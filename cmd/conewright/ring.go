package main

import (
	"conewright/cmd/internal/quantity"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/wording"
	"conewright/ts/param"
	"conewright/ts/ring"
)

var ringCommand = command{
	name:     "ring",
	synopsis: "[FILE...] [options]",
	summary:  "the mass ring for a wanted resonance, or what a ring does",
	about: `Finds the mass and the size of a ring on the coil former that brings the resonance down to
where it is wanted (--target), or says what a ring of known mass or size does, or what the
driver would be without the ring that it carries (--fitted). The driver comes from its sweeps,
one of them with a known mass on the cone, or from a fit saved with --json, or from --fs and
--mms. A ring only lowers the resonance.`,
	examples: `
conewright ring free.wav --mass 15.0g=added.wav --resistor 10.02 --target 28Hz
conewright ring larch.json --target 28Hz --inner 52mm --height 8mm --adhesive 0.5g
conewright ring larch.json --ring 12.0g --fitted
conewright ring --fs 36.5Hz --mms 42.8g --qms 5.0 --qes 0.50 --inner 52mm --height 8mm --thickness 1mm --material brass`,
	setup: func(g *optionGroups) action {
		var r ringOptions
		var driver driverOptions
		var out outputOptions
		r.define(g)
		driver.define(g)
		out.define(g)
		return func(c *console, args []string) (answer, error) {
			job, side, err := r.driver(&driver, args, &out)
			if err != nil {
				return done, err
			}
			plan, err := ring.NewPlan(side.Parameters, r.request())
			if err != nil {
				return done, err
			}
			return done, out.write(c, report.Ring(job, side, plan))
		}
	},
}

// ringOptions say what is asked about a ring, and of which driver if it was not
// measured here.
type ringOptions struct {
	target, mass, adhesive   quantityOption
	inner, height, thickness quantityOption
	material                 string
	fitted                   bool
	fs, mms, qms, qes        quantityOption
}

func (r *ringOptions) define(g *optionGroups) {
	fs := g.group("Ring")
	size := quantityOption{kind: quantity.Length, lo: 1e-5, hi: 1}
	r.target = quantityOption{kind: quantity.Frequency, lo: 1, hi: 2000}
	r.mass = quantityOption{kind: quantity.Mass, lo: 1e-5, hi: 1}
	r.adhesive = quantityOption{kind: quantity.Mass, lo: 0, hi: 0.1}
	r.inner, r.height, r.thickness = size, size, size
	quantityVar(fs, &r.target, "target", "", "resonance that is wanted")
	quantityVar(fs, &r.mass, "ring", "", "mass of the ring alone, weighed")
	quantityVar(fs, &r.inner, "inner", "", "inner diameter of the ring: the outside of the coil former")
	quantityVar(fs, &r.height, "height", "", "of the ring along the former")
	quantityVar(fs, &r.thickness, "thickness", "", "of the ring in the direction of the radius")
	fs.StringVar(&r.material, "material", "", "of the ring: aluminium, brass, copper or steel; without it all are listed")
	quantityVar(fs, &r.adhesive, "adhesive", "", "mass of the glue that stays with the ring")
	fs.BoolVar(&r.fitted, "fitted", false, "the ring is on the driver now: what without it?")
	known := g.group("Driver, when it was not measured here")
	q := quantityOption{kind: quantity.Number, lo: 0.01, hi: 200}
	r.fs = quantityOption{kind: quantity.Frequency, lo: 1, hi: 2000}
	r.mms = quantityOption{kind: quantity.Mass, lo: 1e-4, hi: 5}
	r.qms, r.qes = q, q
	quantityVar(known, &r.fs, "fs", "", "its resonance")
	quantityVar(known, &r.mms, "mms", "", "its moving mass")
	quantityVar(known, &r.qms, "qms", "", "its mechanical Q")
	quantityVar(known, &r.qes, "qes", "", "its electrical Q")
}

// driver returns the driver that the ring is for: measured, saved or entered.
func (r *ringOptions) driver(in *driverOptions, args []string, out *outputOptions) (report.Job, report.Side, error) {
	entered := r.fs.given || r.mms.given || r.qms.given || r.qes.given
	files := len(args) > 0 || len(in.loads) > 0
	switch {
	case entered && files:
		return report.Job{}, report.Side{}, wrongUse("give one of the two", "the driver is given both by files and by values")
	case !entered && !files:
		return report.Job{}, report.Side{}, wrongUse("name the files of its sweeps, a saved fit, or give --fs and --mms", "no driver given")
	case !entered:
		return in.fit(args, out)
	}
	if err := in.bench.finish(); err != nil {
		return report.Job{}, report.Side{}, err
	}
	if err := out.finish(); err != nil {
		return report.Job{}, report.Side{}, err
	}
	if err := out.spare(nil, in.bench.reads()...); err != nil {
		return report.Job{}, report.Side{}, err
	}
	p, err := param.FromValues(known(r.fs), known(r.mms), known(r.qms), known(r.qes), in.bench.mounting)
	if err != nil {
		message, hint := wording.Error(err)
		return report.Job{}, report.Side{}, wrongUse(hint, "%s", message)
	}
	return report.Job{Version: version()}, report.Side{Parameters: p, Bench: in.bench.record()}, nil
}

func (r *ringOptions) request() ring.Request {
	q := ring.Request{
		TargetFs: r.target.value.SI, Mass: known(r.mass), Material: r.material,
		Adhesive: known(r.adhesive), Fitted: r.fitted,
	}
	for _, d := range []struct {
		from      quantityOption
		size, std *float64
	}{
		{r.inner, &q.Size.InnerDiameter, &q.SizeStd.InnerDiameter},
		{r.height, &q.Size.Height, &q.SizeStd.Height},
		{r.thickness, &q.Size.Thickness, &q.SizeStd.Thickness},
	} {
		if d.from.given {
			k := known(d.from)
			*d.size, *d.std = k.Value, k.Std
		}
	}
	return q
}
