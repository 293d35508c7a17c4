package main

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

var updateSame = flag.Bool("update-same", false, "write testdata/same.txt.gz anew")

// TestSameNumbers runs the command on some 400 inputs and compares every number,
// code and message with what it printed before the packages were moved. It goes when the
// moves are done.
func TestSameNumbers(t *testing.T) {
	if testing.Short() {
		t.Skip("takes half a minute")
	}
	t.Chdir(t.TempDir())
	var got bytes.Buffer
	n := 0
	for _, c := range sameCases(t) {
		var out, stderr bytes.Buffer
		code := run(c, strings.NewReader(""), &out, &stderr)
		fmt.Fprintf(&got, "== %s: %d\n", strings.Join(c, " "), code)
		if s := stderr.String(); s != "" {
			fmt.Fprintf(&got, "! %s\n", strings.ReplaceAll(strings.TrimSpace(s), "\n", " / "))
		}
		text := out.String()
		for d := json.NewDecoder(strings.NewReader(text)); ; {
			d.UseNumber()
			var v any
			err := d.Decode(&v)
			if err == io.EOF {
				break
			}
			if err != nil {
				fmt.Fprintf(&got, "> %s\n", strings.ReplaceAll(strings.TrimSpace(text), "\n", "\n> "))
				break
			}
			flatten(&got, "", v)
		}
		n++
	}
	t.Logf("%d cases", n)
	const store = "testdata/same.txt.gz"
	home := filepath.Join(sameHome, store)
	if *updateSame {
		f, err := os.Create(home)
		if err != nil {
			t.Fatal(err)
		}
		z := gzip.NewWriter(f)
		_, err = z.Write(got.Bytes())
		if err := errorsJoin(err, z.Close(), f.Close()); err != nil {
			t.Fatal(err)
		}
		return
	}
	f, err := os.Open(home)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	want, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(want, got.Bytes()) {
		dump := filepath.Join(os.TempDir(), "same.got")
		_ = os.WriteFile(dump, got.Bytes(), 0o666)
		_ = os.WriteFile(filepath.Join(os.TempDir(), "same.want"), want, 0o666)
		w, g := strings.Split(string(want), "\n"), strings.Split(got.String(), "\n")
		at := ""
		for i := range min(len(w), len(g)) {
			if strings.HasPrefix(g[i], "== ") {
				at = g[i]
			}
			if w[i] != g[i] {
				t.Fatalf("%s, line %d\nwant %s\ngot  %s\n(all of it: %s)", at, i+1, w[i], g[i], dump)
			}
		}
		t.Fatalf("%d lines, want %d", len(g), len(w))
	}
}

var sameHome, _ = os.Getwd()

func errorsJoin(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// flatten writes one line a leaf.
func flatten(w io.Writer, path string, v any) {
	switch v := v.(type) {
	case map[string]any:
		keys := make([]string, 0, len(v))
		for k := range v {
			keys = append(keys, k)
		}
		slices.Sort(keys)
		for _, k := range keys {
			if k != "version" {
				flatten(w, path+"."+k, v[k])
			}
		}
	case []any:
		for i, e := range v {
			flatten(w, fmt.Sprintf("%s.%d", path, i), e)
		}
	default:
		fmt.Fprintf(w, "%s %v\n", path, v)
	}
}

// sameDriver is a driver written out here, so that the inputs do not depend on
// what is moved.
type sameDriver struct {
	re, bl, mms, cms, rms, creep float64
	coil                         func(s complex128) complex128
}

func (d sameDriver) z(f, mass, stiffness float64) complex128 {
	s := complex(0, 2*math.Pi*f)
	w0 := 1 / math.Sqrt(d.mms*d.cms)
	c := complex(d.cms, 0) * (1 - complex(d.creep/math.Ln10, 0)*cmplx.Log(s/complex(w0, 0)))
	zm := s*complex(d.mms+mass, 0) + complex(d.rms, 0) + (1/c+complex(stiffness, 0))/s
	return complex(d.re, 0) + d.coil(s) + complex(d.bl*d.bl, 0)/zm
}

func sameCoils() map[string]func(s complex128) complex128 {
	power := func(k, n float64) func(complex128) complex128 {
		return func(s complex128) complex128 { return complex(k, 0) * cmplx.Pow(s, complex(n, 0)) }
	}
	par := func(a, b complex128) complex128 { return a * b / (a + b) }
	return map[string]func(s complex128) complex128{
		"none":  func(complex128) complex128 { return 0 },
		"plain": func(s complex128) complex128 { return s * 0.8e-3 },
		"lossy": power(0.0175, 0.7),
		"two":   func(s complex128) complex128 { return s*0.3e-3 + par(s*0.6e-3, 4) },
		"semi": func(s complex128) complex128 {
			return s*0.2e-3 + par(par(s*1.2e-3, complex(0.05, 0)*cmplx.Sqrt(s)), 90)
		},
		"power": func(s complex128) complex128 {
			w := imag(s)
			return complex(0.004*math.Pow(w, 0.85), 0.012*math.Pow(w, 0.72))
		},
		"mixed": func(s complex128) complex128 {
			return power(0.004, 0.62)(s) + s*0.25e-3 + par(par(s*1.1e-3, complex(0.055, 0)*cmplx.Sqrt(s)), 120)
		},
		"second": func(s complex128) complex128 { // a small second resonance at 420 Hz
			w0 := complex(2*math.Pi*420, 0)
			return power(0.0175, 0.7)(s) + 0.6*(s*w0/12)/(s*s+s*w0/12+w0*w0)
		},
	}
}

// sameTable writes a table of n points in one of many dialects.
func sameTable(t *testing.T, name, dialect string, n int, lo, hi, relative float64, seed uint64, z func(f float64) complex128) string {
	t.Helper()
	rng := rand.New(rand.NewPCG(seed, 11))
	var b strings.Builder
	comma := func(s string) string { return strings.ReplaceAll(s, ".", ",") }
	heads := map[string]string{
		"mag": "Hz,ohm,deg\n", "semicolon": "Hz;ohm;deg\n", "decimal": "Frequenz (Hz);Impedanz (ohm);Phase (deg)\n",
		"tab": "f [Hz]\tre [ohm]\tim [ohm]\n", "blank": "# freq(Hz) Re(ohm) Im(ohm)\n", "khz": "f/kHz,|Z|/ohm,phase/rad\n",
		"db": "Hz, dBohm, deg\n", "only": "Hz ohm\n", "bare": "", "sigma": "Hz,ohm,deg,sigma [ohm]\n",
		"touchri": "! a one-port\n# Hz Z RI R 1\n", "touchma": "# Hz Z MA R 1\n", "touchdb": "# kHz S MA R 50\n", "volts": "f [Hz],V source [V],V driver [V],V resistor [V]\n",
		"rads": "omega [rad/s],re [ohm],im [ohm]\n", "noval": "Hz,ohm,deg\n",
	}
	head, ok := heads[dialect]
	if !ok {
		t.Fatal(dialect)
	}
	b.WriteString(head)
	for i := range n {
		f := lo * math.Pow(hi/lo, float64(i)/float64(n-1))
		v := z(f)
		u := relative * cmplx.Abs(v)
		v += complex(u*rng.NormFloat64(), u*rng.NormFloat64())
		m, p := cmplx.Abs(v), cmplx.Phase(v)
		switch dialect {
		case "mag", "bare":
			fmt.Fprintf(&b, "%.5g,%.5g,%.3f\n", f, m, p*180/math.Pi)
		case "noval":
			if i%17 == 3 {
				fmt.Fprintf(&b, "%.5g,,\n", f)
				continue
			}
			fmt.Fprintf(&b, "%.5g,%.5g,%.3f\n", f, m, p*180/math.Pi)
		case "sigma":
			fmt.Fprintf(&b, "%.5g,%.5g,%.3f,%.4g\n", f, m, p*180/math.Pi, u)
		case "semicolon":
			fmt.Fprintf(&b, "%.5g;%.5g;%.3f\n", f, m, p*180/math.Pi)
		case "decimal":
			b.WriteString(comma(fmt.Sprintf("%.3f;%.4f;%.3f\n", f, m, p*180/math.Pi)))
		case "tab":
			fmt.Fprintf(&b, "%.5g\t%.5g\t%.5g\n", f, real(v), imag(v))
		case "blank":
			fmt.Fprintf(&b, "%.5g %.5g %.5g\n", f, real(v), imag(v))
		case "rads":
			fmt.Fprintf(&b, "%.8g,%.5g,%.5g\n", 2*math.Pi*f, real(v), imag(v))
		case "khz":
			fmt.Fprintf(&b, "%.7f,%.5g,%.5f\n", f/1000, m, p)
		case "db":
			fmt.Fprintf(&b, "%.5g,%.4f,%.3f\n", f, 20*math.Log10(m), p*180/math.Pi)
		case "only":
			fmt.Fprintf(&b, "%.5g %.5g\n", f, m)
		case "touchri":
			fmt.Fprintf(&b, "%.6g %.6g %.6g\n", f, real(v), imag(v))
		case "touchma":
			fmt.Fprintf(&b, "%.6g %.6g %.5g\n", f, m, p*180/math.Pi)
		case "touchdb":
			s := (v - 50) / (v + 50)
			fmt.Fprintf(&b, "%.8g %.8g %.7g\n", f/1000, cmplx.Abs(s), cmplx.Phase(s)*180/math.Pi)
		case "volts":
			i := 1 / (v + 10)
			fmt.Fprintf(&b, "%.5g,1.0000,%.5f,%.5f\n", f, cmplx.Abs(i*v), cmplx.Abs(i*10))
		}
	}
	if err := os.WriteFile(name, []byte(b.String()), 0o666); err != nil {
		t.Fatal(err)
	}
	return name
}

// sameWAV writes a recording made from a recipe.
func sameWAV(t *testing.T, name string, words ...string) string {
	t.Helper()
	r, err := parseRecipe(words)
	if err != nil {
		t.Fatal(err)
	}
	data, err := r.wav()
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, data, 0o666); err != nil {
		t.Fatal(err)
	}
	return name
}

// sameCases makes the inputs in the current folder and lists the commands.
func sameCases(t *testing.T) [][]string {
	var cases [][]string
	add := func(args ...string) {
		if args[0] != "calibrate" {
			args = append(slices.Clone(args), "--json")
		}
		cases = append(cases, args)
	}
	base := sameDriver{re: 5.58, bl: 10.5, mms: 0.0426, cms: 0.615e-3, rms: 1.65, creep: 0.08, coil: sameCoils()["lossy"]}
	small := sameDriver{re: 3.4, bl: 4.6, mms: 0.0071, cms: 0.9e-3, rms: 0.7, coil: sameCoils()["plain"]}
	names := []string{"lossy", "mixed", "none", "plain", "power", "second", "semi", "two"}

	// Recordings: every signal on every wiring, with what goes wrong on a bench.
	flaws := map[string][]string{
		"clean": nil, "noisy": {"noise=3e-3"}, "hum": {"hum=0.01"}, "crackle": {"crackle=2"}, "clip": {"clip=0.2"}, "swap": {"swapped=1"},
		"step": {"step=-0.3"}, "same": {"same=1"}, "dead": {"dead=2"}, "gain": {"gain=0.002"}, "bits": {"bits=12"}, "polarity": {"polarity=1"}, "mass": {"mass=20g"},
	}
	for signal := range 3 {
		for wiring := range 3 {
			for _, what := range []string{"clean", "noisy", "hum", "crackle", "clip", "swap", "step", "same", "dead", "gain", "bits", "polarity"} {
				words := append([]string{fmt.Sprintf("signal=%d", signal), fmt.Sprintf("wiring=%d", wiring), "duration=12s", fmt.Sprintf("seed=%d", 3+signal)}, flaws[what]...)
				w := sameWAV(t, fmt.Sprintf("%s-%d-%d.wav", what, signal, wiring), words...)
				wire := []string{"resistor-first", "driver-first", "probes"}[wiring]
				add("fit", w, "--resistor", "10.02", "--wiring", wire)
				if what == "swap" {
					add("fit", w, "--resistor", "10.02", "--wiring", wire, "--swap-channels")
				}
				if what == "clean" {
					m := sameWAV(t, fmt.Sprintf("mass-%d-%d.wav", signal, wiring), append(words, "mass=20g")...)
					add("fit", w, "--mass", "20.0g="+m, "--resistor", "10.02", "--wiring", wire, "--diameter", "210mm")
					add("fit", w, "--mass", "20.0g="+m, "--resistor", "10.02ohm", "--resistor-tolerance", "0.2%", "--leads", "0.05", "--wiring", wire, "--dc", "5.60", "--full-scale", "2V", "--temperature", "25C")
				}
			}
		}
	}
	// Tables in all dialects.
	for k, d := range []string{"mag", "semicolon", "decimal", "tab", "blank", "khz", "db", "only", "bare", "sigma", "touchri", "touchma", "touchdb", "volts", "rads", "noval"} {
		for j, driver := range []sameDriver{base, small} {
			f := sameTable(t, fmt.Sprintf("dialect-%s-%d.txt", d, j), d, 160, 5, 2000, 1e-3, uint64(100+k), func(f float64) complex128 { return driver.z(f, 0, 0) })
			add("fit", f, "--resistor", "10")
			if d == "bare" {
				add("fit", f, "--columns", "Hz,ohm,deg")
			}
		}
	}
	// Every coil with and without creep, with every load, and repeats.
	const box = 142000 * 0.0346 * 0.0346 / 0.022
	for i, name := range names {
		for j, creep := range []float64{0, 0.1} {
			d := base
			d.coil, d.creep = sameCoils()[name], creep
			table := func(what string, seed int, mass, stiffness, relative float64) string {
				return sameTable(t, fmt.Sprintf("%s-%d-%s.csv", name, j, what), "mag", 150, 5, 2500, relative, uint64(1000*i+100*j+seed), func(f float64) complex128 { return d.z(f, mass, stiffness) })
			}
			free, again, mass, more, boxed, rough := table("free", 1, 0, 0, 1e-3), table("again", 2, 0, 0, 1e-3), table("mass", 3, 0.02, 0, 1e-3), table("more", 4, 0.04, 0, 1e-3), table("box", 5, 0, box, 1e-3), table("rough", 6, 0, 0, 1e-2)
			add("fit", free)
			add("fit", rough)
			add("fit", free, again)
			add("fit", free, again, rough)
			add("fit", free, "--mass", "20.0g="+mass)
			add("fit", free, "--mass", "20.0g="+mass, "--mass", "40.0g="+more, "--diameter", "210mm")
			add("fit", free, "--box", "22.0L="+boxed, "--diameter", "210mm")
			add("fit", free, "--mass", "20.0g="+mass, "--box", "22.0L="+boxed, "--diameter", "210mm", "--dc", "5.57")
			add("fit", free, "--dc", "5.58", "--dc-tolerance", "0.5%")
			add("fit", free, "--dc", "6.2")
			add("fit", "--mass", "20.0g="+mass)
			add("fit", free, "--mass", "20.0g="+again) // a mass without effect
		}
	}
	// What is refused.
	refuse := func(name string, z func(f float64) complex128, lo, hi float64, n int) {
		add("fit", sameTable(t, "refused-"+name+".csv", "mag", n, lo, hi, 1e-3, 77, z))
	}
	free := func(f float64) complex128 { return base.z(f, 0, 0) }
	refuse("resistor", func(float64) complex128 { return 8 }, 5, 2000, 150)
	refuse("capacitor", func(f float64) complex128 { return 5 + 1/complex(0, 2*math.Pi*f*10e-6) }, 5, 2000, 150)
	refuse("series-capacitor", func(f float64) complex128 { return free(f) + 1/complex(0, 2*math.Pi*f*200e-6) }, 5, 2000, 150)
	refuse("starts-above", free, 40, 2000, 150)
	refuse("ends-early", free, 5, 40, 60)
	refuse("few", free, 5, 2000, 6)
	refuse("narrow", free, 28, 34, 40)
	refuse("negative", func(f float64) complex128 { return -free(f) }, 5, 2000, 150)
	refuse("mirrored", func(f float64) complex128 { return cmplx.Conj(free(f)) }, 5, 2000, 150)
	refuse("vented", func(f float64) complex128 {
		b := base
		b.bl = 9
		return free(f) + b.z(f*0.4, 0, 0) - 5
	}, 5, 2000, 200)
	refuse("two", func(f float64) complex128 { s := small; return 1 / (1/free(f) + 1/s.z(f, 0, 0)) }, 5, 2000, 200)
	refuse("high", func(f float64) complex128 { return 1e6 * free(f) }, 5, 2000, 100)
	for i, text := range []string{"", "hello\n", "Hz,ohm\n10,5\n", "Hz,ohm,deg\n10,5,0\n10,6,0\n11,7,0\n", "Hz,bananas\n1,2\n3,4\n", "f,Z,phase\n1,2,3\n", "Hz,ohm,deg\n1,nan,0\n2,3,4\n", "# GHz Y RI R 50\n1 2 3\n", "RIFF\x00\x00\x00\x00WAVE"} {
		name := fmt.Sprintf("bad-%d.txt", i)
		if err := os.WriteFile(name, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		add("fit", name)
	}
	add("fit", "missing.wav")
	add("fit")
	add("fit", "clean-0-0.wav")
	add("fit", "clean-0-0.wav", "clean-0-0.wav", "--resistor", "10")

	// Judgement: before and after, sheets, pairs, lots, rings.
	sheet := "name = \"a sheet\"\nmounting = \"free-air\"\n[limits]\nRe = { nominal = \"5.6 ohm\", tolerance = \"5 %\" }\nFs = { nominal = \"31 Hz\", tolerance = \"10 %\" }\nQts = { min = 0.33, max = 0.46 }\nMms = { nominal = \"42.5 g\", tolerance = \"8 %\" }\nCms = { nominal = \"0.62 mm/N\", tolerance = \"20 %\" }\n"
	if err := os.WriteFile("sheet.toml", []byte(sheet), 0o666); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile("short.toml", []byte(strings.Join(strings.Split(sheet, "\n")[:6], "\n")+"\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	changed := map[string]sameDriver{}
	for name, change := range map[string]func(d *sameDriver){
		"stiff": func(d *sameDriver) { d.cms /= 1.35 }, "soft": func(d *sameDriver) { d.cms *= 1.2 }, "heavy": func(d *sameDriver) { d.mms *= 1.06 },
		"light": func(d *sameDriver) { d.mms *= 0.95 }, "lossy": func(d *sameDriver) { d.rms *= 1.5 }, "motor": func(d *sameDriver) { d.bl *= 0.93 },
		"coil": func(d *sameDriver) { d.re *= 1.04 }, "same": func(*sameDriver) {}, "turns": func(d *sameDriver) { d.re *= 0.97; d.bl *= 0.96 },
		"repair": func(d *sameDriver) { d.cms /= 1.35; d.mms *= 1.03; d.rms *= 1.1 },
	} {
		d := base
		change(&d)
		changed[name] = d
	}
	var kinds []string
	for name := range changed {
		kinds = append(kinds, name)
	}
	slices.Sort(kinds)
	for k, name := range kinds {
		d := changed[name]
		file := func(what string, seed int, mass float64) string {
			return sameTable(t, fmt.Sprintf("to-%s-%s.csv", name, what), "mag", 150, 5, 2500, 1e-3, uint64(5000+100*k+seed), func(f float64) complex128 { return d.z(f, mass, 0) })
		}
		after, afterMass, second := file("free", 1, 0), file("mass", 2, 0.02), file("second", 3, 0)
		add("compare", "--before", "lossy-1-free.csv", "--after", after)
		add("compare", "--before", "lossy-1-free.csv", "--before-mass", "20.0g=lossy-1-mass.csv", "--after", after, "--after-mass", "20.0g="+afterMass, "--spec", "sheet.toml", "--diameter", "210mm")
		add("compare", "--before", "lossy-1-free.csv", "--before-mass", "20.0g=lossy-1-mass.csv", "--after", after, "--spec", "short.toml")
		add("compare", "--before", "lossy-1-free.csv", "--after", after, "--after", second, "--stripped", "lossy-1-again.csv")
		add("check", after, "--mass", "20.0g="+afterMass, "--spec", "sheet.toml")
		add("check", after, "--spec", "short.toml")
		add("check", after, second, "--spec", "short.toml", "--mounting", "baffle", "--diameter", "210mm")
		add("pair", "lossy-1-free.csv", after)
		add("pair", "--left-mass", "20.0g=lossy-1-mass.csv", "--right-mass", "20.0g="+afterMass, "lossy-1-free.csv", after)
		add("fit", after, "--mass", "20.0g="+afterMass, "-o", name+".json")
		add("check", name+".json", "--spec", "sheet.toml")
	}
	lot := []string{"batch"}
	for _, name := range kinds {
		lot = append(lot, fmt.Sprintf("to-%s-free.csv", name))
	}
	add(append(lot, "--spec", "short.toml")...)
	add(lot...)
	add("ring", "--fs", "36.5Hz", "--mms", "42.8g", "--qms", "5.0", "--qes", "0.50", "--inner", "52mm", "--height", "8mm", "--thickness", "1mm", "--material", "brass")
	add("ring", "repair.json", "--target", "28Hz", "--inner", "52mm", "--height", "8mm", "--adhesive", "0.5g")
	add("ring", "repair.json", "--ring", "12.0g", "--fitted")
	add("ring", "lossy-1-free.csv", "--mass", "20.0g=lossy-1-mass.csv", "--target", "28Hz")
	add("calibrate", "--channels", sameWAV(t, "both.wav", "same=1", "gain=0.002"), "--load", "10.00ohm="+sameWAV(t, "ten.wav", "ohm=10", "gain=0.002", "fixture=0.06"),
		"--open", sameWAV(t, "open.wav", "ohm=1e6", "gain=0.002"), "--short", sameWAV(t, "closed.wav", "ohm=0.0001", "gain=0.002", "fixture=0.06"), "--resistor", "10.02", "-o", "calibration.json")
	add("fit", "gain-0-0.wav", "--resistor", "10.02", "--calibration", "calibration.json")
	return cases
}
