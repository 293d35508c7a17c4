package wording

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"

	"conewright/ts/gauge"
	"conewright/ts/notice"
	"conewright/ts/process"
	"conewright/ts/study"
)

// TestStudySentences: every code of the three packages has a sentence, and every sentence a code.
func TestStudySentences(t *testing.T) {
	found := map[string]bool{}
	for _, room := range []string{"study", "gauge", "process"} {
		files, err := filepath.Glob("../../../ts/" + room + "/*.go")
		if err != nil || len(files) == 0 {
			t.Fatalf("no files of %s: %v", room, err)
		}
		for _, file := range files {
			if strings.HasSuffix(file, "_test.go") {
				continue
			}
			source, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			for _, m := range regexp.MustCompile(`notice\.New\("([a-z-]+)"`).FindAllStringSubmatch(string(source), -1) {
				found[m[1]] = true
				if studySentences[m[1]] == nil {
					t.Errorf("%s: %s has no sentence", file, m[1])
				}
			}
		}
	}
	for code := range studySentences {
		if !found[code] {
			t.Errorf("no package says %s", code)
		}
	}
}

// TestStudyErrorsInWords: the sentences find their facts in what the packages give.
func TestStudyErrorsInWords(t *testing.T) {
	said := map[string]bool{}
	check := func(err error) {
		t.Helper()
		var n *notice.Notice
		if !errors.As(err, &n) {
			t.Fatalf("no notice: %v", err)
		}
		said[n.Code] = true
		if message, _ := Error(err); message == "" || strings.Contains(message, n.Code) {
			t.Errorf("%s: %q", n.Code, message)
		}
	}
	second := func(_ any, err error) error { return err }
	places := func(groups ...string) (out []study.Place) {
		for _, g := range groups {
			out = append(out, study.Place{Groups: []string{g}})
		}
		return out
	}
	levels := []string{"session", "again"}
	design := func(groups ...string) *study.Design {
		d, err := study.NewDesign(levels, places(groups...))
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	check(second(study.NewDesign(nil, nil)))
	check(second(study.NewDesign(levels, nil)))
	check(second(study.NewDesign(levels, []study.Place{{}})))
	d := design("a", "a", "b", "b")
	check(second(design("a", "a").Analyse([]float64{1, 2})))
	check(second(d.Analyse([]float64{1, 2, 3, 4}, study.Spread{Variance: -1, Dof: 1}, study.Spread{})))
	check(second(d.Analyse([]float64{1, 2, 3, math.NaN()})))
	check(second(d.Analyse([]float64{1, 1, 2, 2})))
	check(second(d.Together([][]float64{{1, 2, 3, 4}}, study.JointPrior{Covariance: mat.NewSymDense(1, []float64{-1}), Dof: 2}, study.JointPrior{})))
	n, err := d.Analyse([]float64{1, 2, 3, 5})
	if err != nil {
		t.Fatal(err)
	}
	_, _, err = n.Mean("other")
	check(err)
	for _, prior := range []float64{1e-4, 1e4} {
		n, err = d.Analyse([]float64{1, 2, 3, 5}, study.Spread{}, study.Spread{Variance: prior, Dof: 50})
		if err != nil || len(n.Notices) == 0 {
			t.Fatalf("no conflict: %v", err)
		}
		check(&n.Notices[0])
	}

	trial := func(part, operator string, v float64) gauge.Trial {
		return gauge.Trial{Part: part, Operator: operator, Value: v}
	}
	once := []gauge.Trial{trial("a", "A", 1), trial("a", "B", 2), trial("b", "A", 3), trial("b", "B", 5)}
	check(second(gauge.Analyse(nil, 0.25)))
	check(second(gauge.Analyse(once, 0.25)))
	check(second(gauge.Analyse(append(once, trial("a", "A", 1)), 0.25)))
	check(second(gauge.Analyse(append(once, once...), 0.25)))

	check(second(process.Individuals(nil)))
	check(second(process.Individuals([]float64{1, 2, math.NaN()})))
	check(second(process.Individuals([]float64{1, 1, 1})))
	check(second(process.MeansAndRanges([][]float64{{1, 2}, {1, 2, 3}})))
	big := make([]float64, 2000)
	check(second(process.MeansAndRanges([][]float64{big, big})))
	s := study.Spread{Variance: 1, Dof: 9}
	u := process.Units{N: 10, Within: s, Overall: s}
	check(second(u.Capability(1, 1, 0.95)))
	check(second(u.Tolerance(process.BothSides, 0.95, 95)))
	check(second(process.OneSidedFactor(0, 0, 0.95, 0.95)))
	check(second(process.FactorConfidence(0, 5, 4, 0.95)))
	u.Measurement = study.Spread{Variance: 2, Dof: 9}
	check(second(u.Capability(-1, 1, 0.95)))

	for code := range studySentences {
		if !said[code] && code != "study-inseparable" {
			t.Errorf("%s was not tried", code)
		}
	}
}
