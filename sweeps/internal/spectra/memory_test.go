package spectra

import (
	"math"
	"runtime"
	"sync"
	"testing"

	"conewright/sweeps/bench"
)

// repeating is a recording of any length that repeats itself. It watches the memory that is
// in use while it is read.
type repeating struct {
	rate, period float64
	mu           sync.Mutex
	reads        int    // guarded by mu, like most
	most         uint64 // bytes
}

// ReadFrames implements bench.FrameReader.
func (r *repeating) ReadFrames(ch1, ch2 []float64, from int) error {
	for i := range ch1 {
		t := math.Mod(float64(from+i)/r.rate, r.period)
		ch1[i] = math.Sin(40 * t * t)
		ch2[i] = ch1[i] / 2
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.reads++; r.reads%8 == 0 {
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		r.most = max(r.most, m.HeapAlloc)
	}
	return nil
}

// Periods that are not asked for do not stay in memory: a recording may go on for hours
// after the last one.
func TestMemoryOfPeriodsDoesNotGrow(t *testing.T) {
	var most [2]uint64
	for i, seconds := range []float64{300, 1500} {
		r := &repeating{rate: 8000, period: 2}
		rec, err := bench.Stream(r, int(seconds*r.rate), r.rate, "endless")
		if err != nil {
			t.Fatal(err)
		}
		l, err := collect(blocks{rec: rec}, repetition{period: 2, start: 1, count: 5})
		if err != nil || l.Count != 5 {
			t.Fatal(l, err)
		}
		most[i] = r.most
	}
	if most[1] > most[0]+1<<20 {
		t.Errorf("300 s need %d bytes, 1500 s %d", most[0], most[1])
	}
}
