package table

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/testfiles"
	"conewright/ts/measured"
	"conewright/ts/notice"
)

// magnitudes is the same sweep without phase.
func magnitudes(z measured.Impedance) measured.Impedance {
	out := z
	out.Z = nil
	for _, v := range z.Z {
		out.Z = append(out.Z, complex(cmplx.Abs(v), 0))
	}
	out.MagnitudeOnly = true
	return out
}

func latin1(s string) string {
	var b []byte
	for _, r := range s {
		b = append(b, byte(r))
	}
	return string(b)
}

// goodTables all hold threePoints.
var goodTables = map[string]struct {
	text    string
	columns string
	warn    string
}{
	"comma":                      {text: testfiles.PlainTable},
	"comma and blank":            {text: strings.ReplaceAll(testfiles.PlainTable, ",", ", ")},
	"semicolon":                  {text: strings.ReplaceAll(testfiles.PlainTable, ",", ";")},
	"tab":                        {text: strings.ReplaceAll(testfiles.PlainTable, ",", "\t")},
	"blanks":                     {text: strings.ReplaceAll(testfiles.PlainTable, ",", "   ")},
	"blanks at the front":        {text: "  f[Hz]  |Z|[ohm]  phase[deg]\n   20.5    7.25    30.5\n   31.0   40.00    -2.0\n  200.0    6.50   -15.25\n"},
	"CR LF":                      {text: strings.ReplaceAll(testfiles.PlainTable, "\n", "\r\n")},
	"CR":                         {text: strings.ReplaceAll(testfiles.PlainTable, "\n", "\r")},
	"no newline at the end":      {text: strings.TrimSuffix(testfiles.PlainTable, "\n")},
	"empty lines":                {text: strings.ReplaceAll(testfiles.PlainTable, "\n", "\n\n") + "\n\n \n\t\n"},
	"separator at line ends":     {text: strings.ReplaceAll(testfiles.PlainTable, "\n", ",\n")},
	"quoted":                     {text: "\"f[Hz]\",\"|Z|[ohm]\",\"phase[deg]\"\n\"20.5\",\"7.25\",\"30.5\"\n\"31\",\"40\",\"-2\"\n\"200\",\"6.5\",\"-15.25\"\n"},
	"decimal comma, semicolon":   {text: "Frequenz [Hz];Impedanz [Ohm];Phase [°]\n20,5;7,25;30,5\n31;40;-2\n200;6,5;-15,25\n"},
	"decimal comma, tab":         {text: "f[Hz]\t|Z|[ohm]\tphase[deg]\n20,5\t7,25\t30,5\n31\t40\t-2\n200\t6,5\t-15,25\n"},
	"decimal comma, blanks":      {text: "f[Hz] |Z|[ohm] phase[deg]\n20,5 7,25 30,5\n31 40 -2\n200 6,5 -15,25\n"},
	"decimal comma, comma":       {text: "f[Hz], |Z|[ohm], phase[deg]\n20,5, 7,25, 30,5\n31, 40, -2\n200, 6,5, -15,25\n"},
	"decimal comma, quoted":      {text: "f[Hz],|Z|[ohm],phase[deg]\n\"20,5\",\"7,25\",\"30,5\"\n31,40,-2\n200,\"6,5\",\"-15,25\"\n"},
	"exponents":                  {text: "f[Hz] |Z|[ohm] phase[deg]\n2.05e1 7.25E+00 305e-1\n3.1D1 4d1 -2\n2.00e+02 +6.5 -1525e-2\n"},
	"minus sign":                 {text: "f[Hz];|Z|[ohm];phase[deg]\n20.5;7.25;30.5\n31;40;−2\n200;6.5;−15.25\n"},
	"byte order mark":            {text: "\ufeff" + testfiles.PlainTable},
	"UTF-16 LE":                  {text: testfiles.UTF16File(testfiles.PlainTable, false, true)},
	"UTF-16 BE":                  {text: testfiles.UTF16File(testfiles.PlainTable, true, true)},
	"UTF-16 LE, no mark":         {text: testfiles.UTF16File(testfiles.PlainTable, false, false)},
	"UTF-16 BE, no mark":         {text: testfiles.UTF16File(testfiles.PlainTable, true, false)},
	"Latin-1":                    {text: latin1("f (Hz)\t|Z| (ohm)\tphase (°)\n20.5\t7.25\t30.5\n31\t40\t-2\n200\t6.5\t-15.25\n")},
	"header with #":              {text: "# " + testfiles.PlainTable},
	"header with *":              {text: "* Freq(Hz)  Z(ohm)  Phase(deg)\n20.5 7.25 30.5\n31 40 -2\n200 6.5 -15.25\n"},
	"header with ;":              {text: "; Freq (Hz), Z (ohm), Phase (deg)\n20.5, 7.25, 30.5\n31, 40, -2\n200, 6.5, -15.25\n"},
	"header with %":              {text: "%" + testfiles.PlainTable},
	"header with //":             {text: "// " + testfiles.PlainTable},
	"header with !":              {text: "! " + testfiles.PlainTable},
	"comments around":            {text: "# woofer on the bench, 3 May\n# impedance, 3 points from 20 to 200 Hz\n#\n# f[Hz] |Z|[ohm] phase[deg]\n20.5 7.25 30.5 # first\n# in between\n31 40 -2 // peak\n200 6.5 -15.25 ! last\n# end\n"},
	"prose before":               {text: "Impedance of unit 12 (10 ohm in series)\nTaken 3 5 2026\nPoints: 3\n\nFrequency [Hz]\tImpedance [ohm]\tPhase [deg]\n20.5\t7.25\t30.5\n31\t40\t-2\n200\t6.5\t-15.25\n"},
	"header without brackets":    {text: "Frequency Hz  Impedance Ohm  Phase deg\n20.5 7.25 30.5\n31 40 -2\n200 6.5 -15.25\n"},
	"header with in":             {text: "Frequency in Hz, |Z| in ohm, phase in degrees\n20.5,7.25,30.5\n31,40,-2\n200,6.5,-15.25\n"},
	"header with slash":          {text: "f/Hz;|Z|/Ω;arg(Z)/°\n20.5;7.25;30.5\n31;40;-2\n200;6.5;-15.25\n"},
	"header with underscore":     {text: "freq_hz,z_ohm,phase_deg\n20.5,7.25,30.5\n31,40,-2\n200,6.5,-15.25\n"},
	"units alone":                {text: "Hz,ohm,deg\n20.5,7.25,30.5\n31,40,-2\n200,6.5,-15.25\n"},
	"other order":                {text: "phase[deg] f[Hz] |Z|[ohm]\n30.5 20.5 7.25\n-2 31 40\n-15.25 200 6.5\n"},
	"other columns":              {text: "f[Hz],SPL[dB],|Z|[ohm],note,phase[deg]\n20.5,81.5,7.25,low,30.5\n31,82,40,,-2\n200,90,6.5,\"a, b\",-15.25\n"},
	"kHz, kohm, rad":             {text: "f[kHz] |Z|[kohm] phase[rad]\n0.0205 0.00725 0.5323254218582705\n0.031 0.04 -0.03490658503988659\n0.2 0.0065 -0.26616271092913524\n"},
	"rad/s, mohm":                {text: "omega[rad/s] |Z|[mohm] phase[deg]\n128.8052987971815 7250 30.5\n194.77874452256717 40000 -2\n1256.6370614359173 6500 -15.25\n"},
	"dB of ohm":                  {text: "f[Hz];|Z|[dB(ohm)];phase[deg]\n20.5;17.206760131419873;30.5\n31;32.04119982655925;-2\n200;16.25826713285711;-15.25\n"},
	"dB re 1 ohm":                {text: "f[Hz];|Z| dB re 1 ohm;phase[deg]\n20.5;17.206760131419873;30.5\n31;32.04119982655925;-2\n200;16.25826713285711;-15.25\n"},
	"opposite phase":             {text: "f[Hz],|Z|[ohm],-phase[deg]\n20.5,7.25,-30.5\n31,40,2\n200,6.5,15.25\n"},
	"real and imaginary":         {text: "f[Hz] re[ohm] im[ohm]\n20.5 6.246811413201062 3.6796531314651046\n31 39.97563308076383 -1.3959798681000388\n200 6.2711176048872845 -1.7097028939768362\n"},
	"Re(Z) and -Im(Z)":           {text: "Frequency (Hz),Re(Z) (mohm),-Im(Z) (mohm)\n20.5,6246.811413201062,-3679.6531314651047\n31,39975.63308076383,1395.9798681000389\n200,6271.117604887285,1709.702893976836\n"},
	"Z' and Z''":                 {text: "f[Hz];Z'[ohm];Z''[ohm]\n20.5;6.246811413201062;3.6796531314651046\n31;39.97563308076383;-1.3959798681000388\n200;6.2711176048872845;-1.7097028939768362\n"},
	"both forms":                 {text: "f[Hz];Z'[ohm];Z''[ohm];|Z|[ohm];phase[deg]\n20.5;6.246811413201062;3.6796531314651046;1;2\n31;39.97563308076383;-1.3959798681000388;;\n200;6.2711176048872845;-1.7097028939768362;x;x\n"},
	"phase beyond pi":            {text: "f[Hz] |Z|[ohm] phase\n20.5 7.25 30.5\n31 40 -2\n200 6.5 -15.25\n"},
	"columns given":              {text: "20.5 7.25 30.5\n31 40 -2\n200 6.5 -15.25\n", columns: "f[Hz] |Z|[ohm] phase[deg]"},
	"columns over header":        {text: "f[kHz],|Z|[ohm],phase[rad]\n20.5,7.25,30.5\n31,40,-2\n200,6.5,-15.25\n", columns: "f[Hz], |Z|[ohm], phase[deg]"},
	"the point is in one column": {text: "1, 2, 20.5, 7.25, 30.5\n2, 2, 31, 40, -2\n3, 2, 200, 6.5, -15.25\n", columns: "- - f[Hz] |Z|[ohm] phase[deg]"},
	"columns with a skip":        {text: "1 20.5 7.25 9 30.5 7\n2 31 40 9 -2 7\n3 200 6.5 9 -15.25 7\n", columns: "- f[Hz] |Z|[ohm] - phase[deg]"},
	"falling":                    {text: "f[Hz],|Z|[ohm],phase[deg]\n200,6.5,-15.25\n31,40,-2\n20.5,7.25,30.5\n"},
	"unsorted":                   {text: "f[Hz],|Z|[ohm],phase[deg]\n31,40,-2\n20.5,7.25,30.5\n200,6.5,-15.25\n", warn: "points-unsorted"},
	"repeated":                   {text: testfiles.PlainTable + "200,6.5,-15.25\n", warn: "points-repeated"},
	"missing values":             {text: "f[Hz],|Z|[ohm],phase[deg]\n20.5,7.25,30.5\n25,,\n26,NaN,3\n27,8,\n28,1.#IND,0\n29,-,-\n31,40,-2\n,5,5\n200,6.5,-15.25\n", warn: "points-missing"},
	"a letter is missing":        {text: strings.Replace(testfiles.PlainTable, "f[Hz]", "req[Hz]", 1), warn: "column-guessed"},
	"two letters exchanged":      {text: strings.Replace(testfiles.PlainTable, "phase[deg]", "phsae[deg]", 1), warn: "column-guessed"},
	"another letter, no unit":    {text: "freqvency,|Z|[ohm],phase[deg]\n20.5,7.25,30.5\n31,40,-2\n200,6.5,-15.25\n", warn: "column-guessed"},
	"a column of marks":          {text: "f[Hz],|Z|[ohm],phase[deg],mark\n20.5,7.25,30.5,\n31,40,-2,1\n200,6.5,-15.25,\n"},
	"no value between tabs":      {text: "f[Hz]\t|Z|[ohm]\tphase[deg]\n20.5\t7.25\t30.5\n25\t-\t7\n26\t8\t-\n31\t40\t-2\n200\t6.5\t-15.25\n", warn: "points-missing"},
	"omega without a unit":       {text: "omega,|Z|[ohm],phase[deg]\n128.8052987971815,7.25,30.5\n194.77874452256717,40,-2\n1256.6370614359173,6.5,-15.25\n"},
	"missing after tab":          {text: "f[Hz]\t|Z|[ohm]\tphase[deg]\n20.5\t7.25\t30.5\n31\t40\t-2\n50\t7\t\n\t5\t5\n200\t6.5\t-15.25\n", warn: "points-missing"},
	"zero frequency":             {text: "f[Hz],|Z|[ohm],phase[deg]\n0,6,0\n20.5,7.25,30.5\n31,40,-2\n200,6.5,-15.25\n", warn: "point-at-zero"},
	"held constant":              {text: "f[Hz],|Z|[ohm],phase[deg]\n5,7.250,30.50\n10,7.250,30.50\n15,7.250,30.50\n20.5,7.250,30.50\n31,40,-2\n200,6.5,-15.25\n", warn: "points-held"},
}

func TestRead(t *testing.T) {
	want := testfiles.ThreeImpedances()
	for name, c := range goodTables {
		t.Run(name, func(t *testing.T) {
			got, err := Read([]byte(c.text), "x.txt", c.columns, bench.Bench{})
			if err != nil {
				t.Fatal(err)
			}
			testfiles.CheckSweep(t, got, want, 1e-14)
			if got.Sigma != nil || got.Systematic != nil || got.MagnitudeOnly || got.Source != "x.txt" {
				t.Errorf("sigma %v, systematic %v, magnitude only %v, source %q", got.Sigma, got.Systematic, got.MagnitudeOnly, got.Source)
			}
			if got := testfiles.Codes(got.Warnings); got != c.warn {
				t.Errorf("warnings %q, want %q", got, c.warn)
			}
		})
	}
}

// testfiles.CheckSweep compares two sweeps to a relative tolerance.
func TestReadMagnitudeAlone(t *testing.T) {
	want := magnitudes(testfiles.ThreeImpedances())
	for name, text := range map[string]string{
		"named":              "f[Hz] |Z|[ohm]\n20.5 7.25\n31 40\n200 6.5\n",
		"dB":                 "f[Hz];|Z|[dBohm]\n20.5;17.206760131419873\n31;32.04119982655925\n200;16.25826713285711\n",
		"nothing named":      "20.5 7.25\n31 40\n200 6.5\n",
		"a column of marks":  "20.5,7.25,\n31,40,x\n200,6.5,\n",
		"a comment, unnamed": "# the left one\n20.5,7.25\n31,40\n200,6.5\n",
	} {
		got, err := Read([]byte(text), "x.txt", "", bench.Bench{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		testfiles.CheckSweep(t, got, want, 1e-14)
		if !got.MagnitudeOnly {
			t.Errorf("%s: the sweep claims to have a phase", name)
		}
	}
}

func TestReadNoise(t *testing.T) {
	for name, text := range map[string]string{
		"ohm":     "f[Hz] |Z|[ohm] phase[deg] sigma[ohm]\n20.5 7.25 30.5 0.0725\n31 40 -2 0.4\n200 6.5 -15.25 0.065\n",
		"mohm":    "f[Hz] |Z|[ohm] sigma[mohm] phase[deg]\n20.5 7.25 72.5 30.5\n31 40 400 -2\n200 6.5 65 -15.25\n",
		"percent": "f[Hz] |Z|[ohm] phase[deg] std[%]\n20.5 7.25 30.5 1\n31 40 -2 1\n200 6.5 -15.25 1\n",
		"repeats": "f[Hz] |Z|[ohm] phase[deg] sigma[ohm]\n20.5 7.25 30.5 0.0725\n31 38 -2 0.5656854249492381\n31 42 -2 0.5656854249492381\n200 6.5 -15.25 0.065\n",
		"copies":  "f[Hz] |Z|[ohm] phase[deg] sigma[ohm]\n20.5 7.25 30.5 0.0725\n31 40 -2 0.4\n31 40 -2 0.4\n200 6.5 -15.25 0.065\n",
	} {
		got, err := Read([]byte(text), "x.txt", "", bench.Bench{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		testfiles.CheckSweep(t, got, testfiles.ThreeImpedances(), 1e-14)
		for i, want := range []float64{0.0725, 0.4, 0.065} {
			if len(got.Sigma) != 3 || math.Abs(got.Sigma[i]-want) > 1e-12 {
				t.Errorf("%s: sigma %v, want 0.0725, 0.4, 0.065", name, got.Sigma)
				break
			}
		}
	}
}

// Points with few digits may be equal without being held by a device.
func TestReadKeepsEqualPoints(t *testing.T) {
	for name, text := range map[string]string{
		"three digits": "f[Hz] |Z|[ohm]\n5 5.60\n7 5.60\n10 5.60\n20 8\n31 40\n200 6.5\n",
		"two points":   "f[Hz] |Z|[ohm] phase[deg]\n5 5.6012 2.112\n7 5.6012 2.112\n10 5.6 3\n20 8 30\n31 40 1\n200 6.5 -20\n",
		"at the top":   "f[Hz] |Z|[ohm] phase[deg]\n5 5.6 2.1\n20 8 30\n31 40 1\n200 6.5123 20.12\n300 6.5123 20.12\n400 6.5123 20.12\n",
		"all the same": "f[Hz] |Z|[ohm] phase[deg]\n5 8.2012 0.1\n7 8.2012 0.1\n10 8.2012 0.1\n20 8.2012 0.1\n31 8.2012 0.1\n200 8.2012 0.1\n",
	} {
		got, err := Read([]byte(text), "x.txt", "", bench.Bench{})
		if err != nil || got.Len() != 6 || len(got.Warnings) != 0 {
			t.Errorf("%s: %d points, warnings %v, error %v", name, got.Len(), got.Warnings, err)
		}
	}
}

// Each text breaks at the line.
var badTables = map[string]struct {
	text    string
	columns string
	code    string
	line    int
	facts   notice.Facts
}{
	"prose":              {text: "Dear customer,\nyour woofer is fine.\n", code: "table-none"},
	"prose with numbers": {text: "In 2024 we made 12 of them.\n20 of them broke.\n", code: "table-none"},
	"one column":         {text: "1\n2\n3\n4\n", code: "table-none"},
	"blank":              {text: " \n\n", code: "table-none"},
	"only comments":      {text: "# f[Hz] |Z|[ohm]\n# 20 6\n", code: "table-none"},
	"binary":             {text: "\x7fELF\x02\x01\x01\x00\x00\x03\x04", code: "text-not"},
	"control characters": {text: "20 6\x01\n30 7\n", code: "text-not"},
	"two points":         {text: "f[Hz] |Z|[ohm]\n20 6\n30 7\n", code: "table-few-points", facts: notice.Facts{"points": 2, "least": 3}},
	"all missing":        {text: "f[Hz],|Z|[ohm]\n20,-\n30,nan\n40,n/a\n50,OL\n", code: "table-few-points", facts: notice.Facts{"points": 0}},
	"word in a row":      {text: testfiles.PlainTable + "300,6,abc\n", code: "cell-no-number", line: 5, facts: notice.Facts{"text": "abc", "holds": "phase"}},
	"word as a row":      {text: testfiles.PlainTable + "the end\n", code: "table-no-row", line: 5, facts: notice.Facts{"text": "the end"}},
	"word after CR LF":   {text: strings.ReplaceAll(testfiles.PlainTable, "\n", "\r\n") + "the end\r\n", code: "table-no-row", line: 5, facts: notice.Facts{"text": "the end"}},
	"counts in prose":    {text: "12 3 of them broke\n20 5 of them held\n", code: "table-none"},
	"row too short":      {text: testfiles.PlainTable + "300,6\n", code: "table-row-length", line: 5, facts: notice.Facts{"columns": 2, "others": 3}},
	"row too long":       {text: testfiles.PlainTable + "300,6,7,8\n", code: "table-row-length", line: 5, facts: notice.Facts{"columns": 4, "others": 3}},
	"mixed decimals":     {text: "f[Hz];|Z|[ohm]\n20.5;6.1\n21;7\n31,5;8,5\n40.5;9.5\n", code: "table-no-row", line: 4, facts: notice.Facts{"text": "31,5;8,5"}},
	"thousands":          {text: "f[Hz]\t|Z|[ohm]\n20.5\t6.1\n210.5\t7.5\n1,031.5\t8.5\n2100.5\t9.5\n", code: "table-no-row", line: 4},
	"header too short":   {text: "f[Hz],|Z|[ohm]\n20,6,1\n30,7,2\n40,8,3\n", code: "table-header-length", line: 1, facts: notice.Facts{"named": 2, "columns": 3}},
	"comma for both":     {text: "f[Hz],|Z|[ohm],phase[deg]\n20,5,7,25,30,5\n31,0,40,1,-2,0\n200,0,6,5,15,25\n", code: "table-comma-twice", line: 1},
	"no frequency":       {text: "|Z|[ohm],phase[deg],SPL[dB]\n6,1,80\n7,2,80\n8,3,80\n", code: "columns-no-frequency", line: 1},
	"four unnamed":       {text: "20 6 1 0.1\n30 7 2 0.1\n40 8 3 0.1\n", code: "columns-unnamed", line: 1, facts: notice.Facts{"columns": 4}},
	"frequency response": {text: "f[Hz],SPL[dB],phase[deg]\n20,80,10\n30,81,20\n40,82,-100\n", code: "columns-no-impedance", line: 1},
	"two unknown in Hz":  {text: "start[Hz],end[Hz],|Z|[ohm],phase[deg]\n20,21,6,1\n30,31,7,2\n40,41,8,3\n", code: "columns-no-frequency", line: 1},
	"two magnitudes":     {text: "f[Hz],|Z|[ohm],Z[ohm]\n20,6,6\n30,7,7\n40,8,8\n", code: "columns-twice", line: 1, facts: notice.Facts{"holds": "|Z|"}},
	"phase in ohm":       {text: "f[Hz],phase[ohm],|Z|[deg]\n20,6,6\n30,7,7\n40,8,8\n", code: "column-other-unit", line: 1, facts: notice.Facts{"name": "phase[ohm]", "holds": "phase", "unit": "ohm"}},
	"MOHM":               {text: "F[HZ],Z[MOHM]\n20,6\n30,7\n40,8\n", code: "column-milli-or-mega", line: 1, facts: notice.Facts{"name": "Z[MOHM]"}},
	"dB of what":         {text: "f[Hz],|Z|[dB]\n20,16\n30,17\n40,18\n", code: "column-decibels", line: 1, facts: notice.Facts{"name": "|Z|[dB]"}},
	"real alone":         {text: "f[Hz],re[ohm]\n20,6\n30,7\n40,8\n", code: "columns-half", line: 1},
	"negative magnitude": {text: "f[Hz],|Z|[ohm],phase[deg]\n20,6,1\n30,-7,2\n40,8,3\n", code: "table-magnitude", line: 3, facts: notice.Facts{"magnitude": -7.0}},
	"negative frequency": {text: "f[Hz],|Z|[ohm]\n-20,6\n30,7\n40,8\n", code: "table-frequency", line: 2, facts: notice.Facts{"frequency": -20.0}},
	"negative noise":     {text: "f[Hz],|Z|[ohm],sigma[ohm]\n20,6,.1\n30,7,-.1\n40,8,.1\n", code: "table-noise", line: 3, facts: notice.Facts{"noise": -0.1}},
	"huge":               {text: "f[Hz],|Z|[kohm]\n20,1e308\n30,7\n40,8\n", code: "table-too-large", line: 2},
	"two sweeps":         {text: "f[Hz],|Z|[ohm]\n20,6\n30,40\n40,8\n20,5\n30,30\n40,7\n", code: "table-second-sweep", line: 5},
	"ohm or dB":          {text: "20 16\n31 40\n200 16.5\n", code: "column-unit-row", line: 1, facts: notice.Facts{"column": 2, "holds": "|Z|", "unnamed": 2}},
	"named, ohm or dB":   {text: "freq impedance\n20 16\n31 40\n200 16.5\n", code: "column-unit-row", line: 1, facts: notice.Facts{"column": 2, "holds": "|Z|", "unnamed": 0}},
	"Hz or kHz":          {text: "f |Z|[ohm]\n.02 16\n.1 40\n20 16.5\n", code: "column-unit-row", line: 1, facts: notice.Facts{"column": 1, "holds": "f"}},
	"degrees or radians": {text: "f[Hz] |Z|[ohm] phase\n20 16 0.5\n31 40 0\n200 16.5 -0.3\n", code: "column-unit-row", line: 1, facts: notice.Facts{"column": 3, "holds": "phase"}},
	"ohm or kohm":        {text: "f[Hz] re im\n20 0.016 0.005\n31 0.04 0\n200 0.01 -0.003\n", code: "column-unit-row", line: 1, facts: notice.Facts{"column": 2, "holds": "re"}},
	"noise of what":      {text: "f[Hz] |Z|[ohm] sigma\n20 16 0.1\n31 40 .1\n200 16.5 0.3\n", code: "column-unit", line: 1, facts: notice.Facts{"column": 3, "holds": "sigma"}},
	"unnamed hand table": {text: "20 7 40\n31 40 -3\n200 6 -20\n", code: "column-unit-row", line: 1, facts: notice.Facts{"column": 3, "holds": "phase", "unnamed": 3}},
	"columns unknown":    {text: testfiles.PlainTable, columns: "f[Hz] |Z|[ohm] phaze[deg]", code: "columns-unknown", facts: notice.Facts{"name": "phaze[deg]"}},
	"columns too many":   {text: testfiles.PlainTable, columns: "f[Hz] |Z|[ohm] phase[deg] sigma[ohm]", code: "columns-too-many", facts: notice.Facts{"named": 4, "columns": 3}},
	"columns incomplete": {text: testfiles.PlainTable, columns: "f[Hz]", code: "columns-no-impedance"},
	"columns without f":  {text: testfiles.PlainTable, columns: "|Z|[ohm]", code: "columns-no-frequency"},
	"no resistor":        {text: "f[Hz],V driver[V],V resistor[V]\n20,.1,1\n30,.4,1\n40,.1,1\n", code: "volts-without-resistor"},
}

func TestReadRefuses(t *testing.T) {
	for name, c := range badTables {
		t.Run(name, func(t *testing.T) {
			got, err := Read([]byte(c.text), "x.txt", c.columns, bench.Bench{})
			if err == nil {
				t.Fatalf("got %v at %v Hz, want an error", got.Z, got.Freq)
			}
			if got.Freq != nil || got.Z != nil || got.Source != "" {
				t.Errorf("got %+v beside the error", got)
			}
			testfiles.CheckError(t, err, c.code, c.line, c.facts)
		})
	}
}

// Text that only looks like a table must not cost memory. 16 MiB are the most
// that is looked at, and a text costs some copies of itself.
func TestTextMemoryIsBounded(t *testing.T) {
	const bound = 160 << 20
	for name, c := range map[string]struct {
		text, code string
		line       int
		facts      notice.Facts
	}{
		"too many bytes":  {strings.Repeat("20 6\n", MaxBytes/5+1), "text-too-large", 0, notice.Facts{"of": "bytes"}},
		"too many lines":  {strings.Repeat("1 1\n", maxLines+1), "text-too-large", 0, notice.Facts{"count": maxLines + 1, "of": "lines"}},
		"nothing but CR":  {strings.Repeat("\r", MaxBytes), "text-too-large", 0, notice.Facts{"count": MaxBytes, "of": "lines"}},
		"one line":        {strings.Repeat("1,", MaxBytes/2), "line-too-long", 1, notice.Facts{"characters": MaxBytes}},
		"one long number": {"20 6\n20 " + strings.Repeat("1", maxLineBytes) + "\n", "line-too-long", 2, notice.Facts{"characters": 65539}},
		"UTF-16":          {"\xff\xfe" + strings.Repeat("\n\x00", MaxBytes/2-1), "text-too-large", 0, notice.Facts{"count": MaxBytes/2 - 1, "of": "lines"}},
		"Latin-1":         {strings.Repeat("\xb0", MaxBytes), "line-too-long", 1, nil},
	} {
		for kind, read := range map[string]func() error{
			"table":      func() error { _, err := Read([]byte(c.text), "x.txt", "", bench.Bench{}); return err },
			"Touchstone": func() error { _, err := ReadTouchstone([]byte(c.text), "x.txt"); return err },
		} {
			var err error
			if used := testfiles.Allocated(func() { err = read() }); used > bound {
				t.Errorf("%s as %s: %d MB were allocated", name, kind, used>>20)
			}
			testfiles.CheckError(t, err, c.code, c.line, c.facts)
		}
	}
}

// The largest tables that are read, and headers that are hard to read, take
// neither much memory nor much time.
func TestReadAtTheLimits(t *testing.T) {
	var rows strings.Builder
	rows.WriteString("f[Hz] |Z|[ohm]\n")
	for i := range maxLines - 1 {
		fmt.Fprintf(&rows, "%.4f 6\n", 10+float64(i)/50)
	}
	name := strings.Repeat("( a", maxLineBytes/4)
	for label, c := range map[string]struct {
		text string
		want int
	}{
		"rows":         {rows.String(), maxLines - 1},
		"comments":     {strings.Repeat("# f[Hz] |Z|[ohm] x\n", 60_000) + testfiles.PlainTable, 3},
		"long comment": {"# " + name + "\n" + testfiles.PlainTable, 3},
	} {
		used := testfiles.Allocated(func() {
			if z, err := Read([]byte(c.text), "x.txt", "", bench.Bench{}); err != nil || z.Len() != c.want {
				t.Errorf("%s: %d points, error %v", label, z.Len(), err)
			}
		})
		if used > 400<<20 {
			t.Errorf("%s: %d MB were allocated", label, used>>20)
		}
	}
}

func TestDecodeText(t *testing.T) {
	for in, want := range map[string]string{
		"":                        "",
		"a\u00b0\u03a9\U0001F600": "a\u00b0\u03a9\U0001F600",
		"\xef\xbb\xbfa":           "a",
		"\xb0\xe9":                "\u00b0\u00e9",
		testfiles.UTF16File("a\u03a9\U0001F600b", false, true): "a\u03a9\U0001F600b",
		testfiles.UTF16File("a\u03a9\U0001F600b", true, true):  "a\u03a9\U0001F600b",
		"\xff\xfe\x3d\xd8a\x00\x3d\xd8":                        "\ufffda\ufffd", // halves of a pair
		"\xff\xfea\x00b":                                       "a",             // half a character at the end
	} {
		if got, ok := decodeText([]byte(in)); got != want || !ok {
			t.Errorf("%q is %q (%v), want %q", in, got, ok, want)
		}
	}
	for _, in := range []string{"\x00", "a\x00b", "\x1b[1m", "\x7fELF\x01", "\xff\xfe\x00\x00"} {
		if got, ok := decodeText([]byte(in)); ok {
			t.Errorf("%q passes for text %q", in, got)
		}
	}
}
