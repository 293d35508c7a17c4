package truth

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
)

// Form is what stands in the columns beside the frequency.
type Form int

const (
	Polar     Form = iota // magnitude and phase
	Cartesian             // real and imaginary part
	Magnitude             // magnitude alone
)

// Slip is a mistake in what the file says it holds.
type Slip int

const (
	NoSlip           Slip = iota
	KilohertzAsHertz      // kHz under f[Hz]
	HertzAsKilohertz      // Hz under f[kHz]
	RadiansAsHertz        // rad/s under freq[Hz]
	DecibelsAsOhm         // dB re 1 ohm under |Z|[ohm]
	RatioAsOhm            // the ratio Z/(10 ohm + Z) of two voltages under |Z|[ohm]
	RadiansAsDegrees      // a phase in rad under phase[deg]
	MilliohmsAsOhm        // milliohm under |Z|[ohm]
	lastSlip
)

// Slips are all slips there are.
func Slips() []Slip {
	var all []Slip
	for s := NoSlip + 1; s < lastSlip; s++ {
		all = append(all, s)
	}
	return all
}

// Layout is how a table is written.
type Layout struct {
	Form         Form
	Headerless   bool
	Misspelt     bool   // one header word is misspelt: "req" for the frequency, "re" stays for what it is
	Separator    string // "" is a comma
	DecimalComma bool   // with a separator that is not a comma
	Digits       int    // significant digits, 0: 5
	Reversed     bool   // rows from high to low
	Shuffled     bool   // rows in blocks, unsorted
	EmptyColumn  bool   // a last column that is empty in most rows
	Gaps         float64
	GapText      string // for a missing value: "" or "-"
	Slip         Slip
}

// Bytes is the file. The random source chooses blocks and gaps.
func (l Layout) Bytes(rng *rand.Rand, t Table) []byte {
	sep := l.Separator
	if sep == "" {
		sep = ","
	}
	var out bytes.Buffer
	if !l.Headerless {
		out.WriteString(strings.Join(l.header(), sep) + "\n")
	}
	for _, i := range l.order(rng, len(t.F)) {
		row := l.row(t, i)
		for c := range row {
			if c > 0 && chance(rng, l.Gaps) {
				row[c] = l.GapText
			}
		}
		if l.EmptyColumn {
			note := ""
			if i%5 == 0 {
				note = "1"
			}
			row = append(row, note)
		}
		fmt.Fprintln(&out, strings.Join(row, sep))
	}
	return out.Bytes()
}

func (l Layout) header() []string {
	frequency := map[Slip]string{HertzAsKilohertz: "f[kHz]", RadiansAsHertz: "freq[Hz]"}[l.Slip]
	if frequency == "" {
		frequency = "f[Hz]"
	}
	if l.Misspelt {
		frequency = "req[Hz]"
	}
	h := append([]string{frequency}, map[Form][]string{
		Polar: {"|Z|[ohm]", "phase[deg]"}, Cartesian: {"re[ohm]", "im[ohm]"}, Magnitude: {"|Z|[ohm]"}}[l.Form]...)
	if l.EmptyColumn {
		h = append(h, "mark")
	}
	return h
}

func (l Layout) row(t Table, i int) []string {
	f, mag, phase := t.F[i], t.Mag[i], t.Phase[i]
	switch l.Slip {
	case KilohertzAsHertz:
		f /= 1000
	case RadiansAsHertz:
		f *= 2 * math.Pi
	case DecibelsAsOhm:
		mag = 20 * math.Log10(mag)
	case RatioAsOhm:
		mag /= 10 + mag // an instrument that divides magnitudes
	case RadiansAsDegrees:
		phase *= math.Pi / 180
	case MilliohmsAsOhm:
		mag *= 1000
	}
	values := []float64{f, mag, phase}
	switch l.Form {
	case Cartesian:
		sin, cos := math.Sincos(phase * math.Pi / 180)
		values = []float64{f, mag * cos, mag * sin}
	case Magnitude:
		values = []float64{f, mag}
	}
	digits := l.Digits
	if digits == 0 {
		digits = 5
	}
	row := make([]string, len(values))
	for c, v := range values {
		d := digits
		if c == 0 {
			d = max(d, 6) // few digits are few digits of the impedance
		}
		row[c] = plain(v, d)
		if l.DecimalComma {
			row[c] = strings.Replace(row[c], ".", ",", 1)
		}
	}
	return row
}

// plain writes a value with a number of significant digits and without an exponent.
func plain(v float64, digits int) string {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', digits, 64), 64)
	if err != nil {
		panic("truth: a number that cannot be read back")
	}
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}

// order is the order of n rows.
func (l Layout) order(rng *rand.Rand, n int) []int {
	rows := make([]int, n)
	for i := range rows {
		rows[i] = i
		if l.Reversed {
			rows[i] = n - 1 - i
		}
	}
	if l.Shuffled { // the first half behind the second, and some neighbours exchanged
		cut := n / 3
		rows = append(append([]int(nil), rows[cut:]...), rows[:cut]...)
		for i := 1; i < n; i++ {
			if chance(rng, 0.1) {
				rows[i], rows[i-1] = rows[i-1], rows[i]
			}
		}
	}
	return rows
}

// DrawLayout is a file without slips that a reader must read: one in four without a header, in some an empty
// column, gaps, or unsorted rows.
func DrawLayout(rng *rand.Rand) Layout {
	l := Layout{
		Form: []Form{Polar, Polar, Cartesian}[rng.IntN(3)], Headerless: chance(rng, 0.25), Digits: 3 + rng.IntN(4),
		Separator: []string{",", ";", "\t"}[rng.IntN(3)], Reversed: chance(rng, 0.1), Shuffled: chance(rng, 0.1),
		EmptyColumn: chance(rng, 0.15), GapText: []string{"", "-"}[rng.IntN(2)],
	}
	l.Misspelt = !l.Headerless && chance(rng, 0.1)
	l.DecimalComma = l.Separator != "," && chance(rng, 0.3)
	if chance(rng, 0.15) {
		l.Gaps = 0.02
	}
	return l
}
