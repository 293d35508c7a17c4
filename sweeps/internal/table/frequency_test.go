package table

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"conewright/sweeps/bench"
	"conewright/ts/measured"
	"conewright/ts/notice"
)

// What a table says of its frequencies, and what is assumed where it says nothing: of a table by hand 0.3 %.
func TestFrequencyError(t *testing.T) {
	const head, rows = "f[Hz] |Z|[ohm]\n", "20 10\n31 40\n200 13\n"
	var long, noisy strings.Builder
	for i := range mostByHand + 1 {
		fmt.Fprintf(&long, "%d %v\n", 20+i, 6+1/(1+float64(i*i)))
	}
	for _, f := range []int{20, 31, 200} {
		fmt.Fprintf(&noisy, "%d 10 0.1\n", f)
	}
	limit := func(x float64) measured.FrequencyError { return measured.FrequencyError{Std: x / math.Sqrt(3)} }
	assumed := measured.FrequencyError{Std: 0.003, Assumed: true}
	for name, c := range map[string]struct {
		text string
		want measured.FrequencyError
	}{
		"nothing":         {head + rows, assumed},
		"no header":       {rows, assumed},
		"volts":           {"f[Hz] V driver[V] V resistor[V]\n20 1 1\n31 4 1\n200 1.3 1\n", assumed},
		"many points":     {head + long.String(), measured.FrequencyError{}},
		"noise":           {"f[Hz] |Z|[ohm] sigma[ohm]\n" + noisy.String(), measured.FrequencyError{}},
		"percent":         {"# frequency error 0.1 %\n" + head + rows, limit(0.001)},
		"no comment":      {"Frequency error: ±0,05%\n" + head + rows, limit(0.0005)},
		"below":           {head + "# my bench; frequency error = 50 ppm, cold\n" + rows, limit(50e-6)},
		"exact":           {"# frequency error 0 %\n" + head + rows, measured.FrequencyError{}},
		"of many points":  {"# frequency error 1 %\n" + head + long.String(), limit(0.01)},
		"something else":  {"# frequency errors of the generator were not looked at\n" + head + rows, assumed},
		"frequency first": {"# f\n" + head + rows, assumed},
	} {
		z, err := Read([]byte(c.text), "x.txt", map[bool]string{true: "f[Hz] |Z|[ohm]"}[name == "no header"], bench.Bench{Resistor: 10})
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if got := z.Frequency; got.Assumed != c.want.Assumed || math.Abs(got.Std-c.want.Std) > 1e-12 {
			t.Errorf("%s: %+v, want %+v", name, got, c.want)
		}
	}
	// The line that is named is the one that states it, whatever is said of frequency errors above.
	for _, line := range []string{"# frequency error small", "# frequency error 0.1", "# frequency error 20 %", "# frequency error 1 Hz"} {
		_, err := Read([]byte("# by hand, frequency errors below\n"+line+"\n"+head+rows), "x.txt", "", bench.Bench{})
		var n *notice.Notice
		if !errors.As(err, &n) || n.Code != "frequency-error-unread" || n.Line != 2 {
			t.Errorf("%s: %v", line, err)
		}
	}
}
