package ts

// Fitted is the outcome of a fit. All fields always exist.
type Fitted struct {
	Parameters Parameters
	Model      ModelChoice
	Quality    Quality
	Hand       Hand         // the three-point method, as a cross-check
	Methods    []MassMethod // Mms by each method that the loads allow; empty for free air alone
	Curves     []Curve      // one for each sweep, in the order given
	Warnings   []Warning
}

// ModelChoice says which coil and suspension models stand behind the values.
type ModelChoice struct {
	Coil         string // the model with the largest weight: "plain", "lossy", "two-part"
	Creep        bool
	RisingLoss   bool          // part of the mechanical loss rises with frequency
	Alternatives []Alternative // every model tried, weights add up to 1
}

// Alternative is one model of the ladder with its weight in the average.
type Alternative struct {
	Coil       string
	Creep      bool
	RisingLoss bool
	Weight     float64
	Chi2       float64
}

// Quality describes the residuals of the best model.
type Quality struct {
	ResidualRMSPercent float64    // of |Z|
	White              bool       // residuals show no structure beyond noise
	BandHz             [2]float64 // band that was fitted
	Points             int        // complex points, all sweeps together
	Outliers           int        // points down-weighted
	Chi2               float64
	DoF                int
}

// Hand is the result of the three-point method.
type Hand struct {
	Valid                 bool
	Re, Fs, Qms, Qes, Qts float64
	F1, F2, Zmax          float64
	Reason                string // why it is not valid
}

// MassMethod is the moving mass by one way of computing it.
type MassMethod struct {
	Name  string  // "frequencies", "Qes/Fs", "joint fit"
	Value float64 // kg
	Std   float64 // kg
	// sweepStd is the part of Std that is not the uncertainty of the added mass, kg.
	sweepStd float64
}

// Curve is the fitted impedance at the frequencies of one sweep.
type Curve struct {
	Freq     []float64
	Measured []complex128
	Fitted   []complex128
	Sigma    []float64 // ohm, as used for the weights
}

// Fit finds the parameters of one driver from sweeps of it: in free air, and
// with added masses or on a closed box when the mass, the compliance or the
// force factor are asked for. Several sweeps of one condition are repeats.
//
// Every model of the ladder is fitted to all sweeps at once by weighted least
// squares; models that the data cannot tell apart are averaged and their spread
// is part of the uncertainty. docs/theory.md, sections 3 and 4, has the equations.
//
// Fit refuses (with a [Refusal]) sweeps that cannot be those of a single driver
// around its resonance. What the sweeps cannot give is absent from the result,
// with a [Warning] that says what would give it.
func Fit(sweeps []Sweep, cond Conditions) (*Fitted, error) {
	if err := checkInput(sweeps, cond); err != nil {
		return nil, err
	}
	in := newInput(sweeps, cond)
	in.work = workspaces.Get().(*workspace)
	defer workspaces.Put(in.work)
	if err := in.massOffCone(); err != nil {
		return nil, err
	}
	ladder := in.explore()
	if len(ladder) == 0 {
		return nil, &Refusal{Code: "no-fit", Message: "no model of a driver follows the sweep",
			Advice: "check wiring and channels, and look at the curve: it should have one peak and rise smoothly above its minimum"}
	}
	if outliers := in.distrust(best(ladder)); outliers > 0 {
		if again := in.explore(); len(again) > 0 {
			ladder = again
			in.distrust(best(ladder))
		}
	}
	in.rescale(ladder)
	all := in.candidates(ladder)
	members, err := in.finalists(all)
	if err != nil {
		return nil, err
	}
	fitted := in.report(members, all)
	if err := checkValues(fitted.Parameters); err != nil {
		return nil, err
	}
	if err := in.massWithoutEffect(fitted.Parameters); err != nil {
		return nil, err
	}
	return fitted, nil
}
