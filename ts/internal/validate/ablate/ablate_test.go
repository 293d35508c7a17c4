package main

import (
	"math"
	"os/exec"
	"path/filepath"
	"testing"
)

// Every change applies to the source as it stands, and what results compiles.
func TestMechanismsCompile(t *testing.T) {
	root, err := filepath.Abs("../../../..")
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range mechanisms {
		list, err := m.overlay(root, t.TempDir())
		if err != nil {
			t.Error(err)
			continue
		}
		if testing.Short() {
			continue
		}
		build := exec.Command("go", "build", "-overlay", list, "./ts/internal/estimate")
		build.Dir = root
		if out, err := build.CombinedOutput(); err != nil {
			t.Errorf("%s: %v\n%s", m.name, err, out)
		}
	}
}

// The change of a figure is that of the drivers that both have, and its standard error
// that of their differences.
func TestChanged(t *testing.T) {
	var o, p outcomes
	if err := o.addFits("Efficiency,,0,Re,3,0,false\nEfficiency,,1,Re,4,0,false\nEfficiency,,2,Re,5,0,false\nSeveral sweeps,a,0,Re,1,1,true\nSeveral sweeps,a,1,Re,1,1,true\n"); err != nil {
		t.Fatal(err)
	}
	if err := p.addFits("Efficiency,,0,Re,6,0,false\nEfficiency,,1,Re,8,0,false\nSeveral sweeps,a,0,Re,1,1,false\nSeveral sweeps,a,1,Re,1,1,true\n"); err != nil {
		t.Fatal(err)
	}
	all := figures()
	// Mean squares 12.5 and 50; their differences 27 and 48, of standard deviation 14.849.
	if change, std := o.changed(&p, all[0]); math.Abs(change-math.Sqrt(12.5)) > 1e-9 || math.Abs(std-14.8492/math.Sqrt(2)/(2*math.Sqrt(12.5))) > 1e-4 {
		t.Errorf("the rms changes by %v +- %v", change, std)
	}
	// One of two is no longer held: differences of -100 and 0.
	if change, std := o.changed(&p, all[4]); change != -50 || math.Abs(std-50) > 1e-6 {
		t.Errorf("the coverage changes by %v +- %v", change, std)
	}
}
