package measured

import "testing"

func TestLevelsFarApart(t *testing.T) {
	for _, c := range []struct {
		a, b Level
		far  bool
	}{
		{Level{0.1, true}, Level{0.14, true}, false},
		{Level{0.1, true}, Level{0.16, true}, true},
		{Level{0.16, true}, Level{0.1, true}, true},
		{Level{0.1, false}, Level{0.16, false}, false},
		{Level{0.1, false}, Level{0.21, false}, true},
		{Level{0.1, true}, Level{0.4, false}, false},
		{Level{}, Level{0.4, false}, false},
	} {
		if got := c.a.Far(c.b); got != c.far {
			t.Errorf("%+v and %+v: far %v", c.a, c.b, got)
		}
	}
	if r, ok := (Level{0.1, true}).Beside(Level{0.4, true}); !ok || r != 4 {
		t.Errorf("ratio %v, %v", r, ok)
	}
}
