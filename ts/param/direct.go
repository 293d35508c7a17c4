package param

// Direct is what two curves say by themselves of how Re changed from one to the other, beside what their fits say.
type Direct struct {
	// Off is the logarithm of the ratio, after to before, that the curves show over that of their fits. Std is the standard
	// uncertainty of the first.
	Off, Std float64
}
