package friction

import (
	"conewright/ts/fitted"
	"conewright/ts/measured"
	"conewright/ts/param"
)

func Proto(h *measured.Harmonics, c fitted.Curve, p param.Parameters, bl float64) Separated {
	l, _ := newLinear(c, p)
	return Try(observe(h, l, bl))
}
