package report

import (
	"conewright/ts/fitted"
	"conewright/ts/param"
)

// DirectBetween is what the curves of two sides show by themselves of Re; nil where one of them is a saved fit, or shows nothing.
func DirectBetween(before, after Side) *param.Direct {
	if before.Fitted == nil || after.Fitted == nil {
		return nil
	}
	return fitted.Between(before.Fitted, after.Fitted)
}
