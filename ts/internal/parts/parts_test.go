package parts

import "testing"

// A few parts on a bench in each wiring: every one is what it is, near its value and mostly within its interval. docs/validation-parts.md has many.
func TestSurvey(t *testing.T) {
	_, _, all, err := Survey(9, 5)
	if err != nil {
		t.Fatal(err)
	}
	if all.Parts != 9 || all.Kind.Right != 9 || all.Refused != 0 {
		t.Errorf("of %d parts %d are what they are, %d refused", all.Parts, all.Kind.Right, all.Refused)
	}
	if all.Near.Of < 5 || all.Near.Right < all.Near.Of || all.NearLoss.Right < all.NearLoss.Of {
		t.Errorf("C and L near %+v, losses near %+v", all.Near, all.NearLoss)
	}
	var held, of int
	for _, c := range all.Held {
		held, of = held+c.Right, of+c.Of
	}
	if of < 20 || float64(held) < 0.8*float64(of) {
		t.Errorf("%d of %d intervals hold", held, of)
	}
	// What is left without the errors of load and contacts is a hundredth of them, and noise holds it.
	held, of = 0, 0
	for _, c := range all.Rest {
		held, of = held+c.Right, of+c.Of
	}
	if of < 10 || float64(held) < 0.8*float64(of) {
		t.Errorf("without load and contacts %d of %d intervals hold", held, of)
	}
}

// Of the wrong parts of each sort one is named, and none is said to be what it is not.
func TestMistakes(t *testing.T) {
	all, err := Mistakes(1, 3)
	if err != nil {
		t.Fatal(err)
	}
	if len(all) != 6 {
		t.Fatalf("%d sorts", len(all))
	}
	for _, m := range all {
		if m.Named.Right != 1 || m.SureWrong != 0 {
			t.Errorf("%s: named %d of %d, sure and wrong %d", m.What, m.Named.Right, m.Named.Of, m.SureWrong)
		}
	}
}
