package truth

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"
)

var small = Table{F: []float64{20, 200, 2000}, Mag: []float64{10, 7.123456, 20}, Phase: []float64{45, -12.3456, 60}}

func TestLayouts(t *testing.T) {
	for _, c := range []struct {
		name string
		l    Layout
		want string
	}{
		{"plain", Layout{}, "f[Hz],|Z|[ohm],phase[deg]\n20,10,45\n200,7.1235,-12.346\n2000,20,60\n"},
		{"few digits", Layout{Digits: 3, Separator: "\t"}, "f[Hz]\t|Z|[ohm]\tphase[deg]\n20\t10\t45\n200\t7.12\t-12.3\n2000\t20\t60\n"},
		{"headerless", Layout{Headerless: true, Form: Magnitude}, "20,10\n200,7.1235\n2000,20\n"},
		{"parts", Layout{Form: Cartesian, Digits: 4}, "f[Hz],re[ohm],im[ohm]\n20,7.071,7.071\n200,6.959,-1.523\n2000,10,17.32\n"},
		{"comma", Layout{Separator: ";", DecimalComma: true, Reversed: true}, "f[Hz];|Z|[ohm];phase[deg]\n2000;20;60\n200;7,1235;-12,346\n20;10;45\n"},
		{"misspelt", Layout{Misspelt: true, Form: Magnitude, EmptyColumn: true}, "req[Hz],|Z|[ohm],mark\n20,10,1\n200,7.1235,\n2000,20,\n"},
		{"all gaps", Layout{Gaps: 1, GapText: "-", Form: Magnitude}, "f[Hz],|Z|[ohm]\n20,-\n200,-\n2000,-\n"},
		{"kHz", Layout{Slip: KilohertzAsHertz, Form: Magnitude}, "f[Hz],|Z|[ohm]\n0.02,10\n0.2,7.1235\n2,20\n"},
		{"Hz", Layout{Slip: HertzAsKilohertz, Form: Magnitude}, "f[kHz],|Z|[ohm]\n20,10\n200,7.1235\n2000,20\n"},
		{"rad/s", Layout{Slip: RadiansAsHertz, Form: Magnitude}, "freq[Hz],|Z|[ohm]\n125.664,10\n1256.64,7.1235\n12566.4,20\n"},
		{"dB", Layout{Slip: DecibelsAsOhm, Form: Magnitude}, "f[Hz],|Z|[ohm]\n20,20\n200,17.054\n2000,26.021\n"},
		{"ratio", Layout{Slip: RatioAsOhm, Form: Magnitude}, "f[Hz],|Z|[ohm]\n20,0.5\n200,0.41601\n2000,0.66667\n"},
		{"rad", Layout{Slip: RadiansAsDegrees}, "f[Hz],|Z|[ohm],phase[deg]\n20,10,0.7854\n200,7.1235,-0.21547\n2000,20,1.0472\n"},
		{"milliohm", Layout{Slip: MilliohmsAsOhm, Form: Magnitude}, "f[Hz],|Z|[ohm]\n20,10000\n200,7123.5\n2000,20000\n"},
	} {
		if got := string(c.l.Bytes(Rand(1), small)); got != c.want {
			t.Errorf("%s:\n%swant\n%s", c.name, got, c.want)
		}
	}
	if n := len(Slips()); n != 7 {
		t.Errorf("%d slips", n)
	}
}

// Unsorted rows are all there.
func TestShuffledRows(t *testing.T) {
	table := Table{F: Grid(20, 20000, 6)}
	table.Mag, table.Phase = table.F, make([]float64, len(table.F))
	var f []float64
	for _, line := range strings.Fields(string(Layout{Headerless: true, Shuffled: true, Digits: 15}.Bytes(Rand(4), table))) {
		x, err := strconv.ParseFloat(strings.Split(line, ",")[0], 64)
		if err != nil {
			t.Fatal(err)
		}
		f = append(f, x)
	}
	if slices.IsSorted(f) {
		t.Error("the rows are sorted")
	}
	slices.Sort(f)
	for i := range f {
		near(t, "row", f[i], table.F[i], 1e-12)
	}
	if math.IsNaN(f[0]) || len(f) != len(table.F) {
		t.Errorf("%d rows of %d", len(f), len(table.F))
	}
}
