package live

import (
	"math"
	"slices"

	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/internal/spectra"
	"conewright/sweeps/signal"
	"conewright/ts/notice"

	"gonum.org/v1/gonum/floats"
)

// Watch says what goes wrong with a sweep while it is recorded.
type Watch struct {
	sweep  signal.Signal
	rate   float64
	length int // samples of the sweep with the silence after it

	frames   int
	onset    onset
	follower follower
	channel  [2]*channel
	louder   int // channel
	told     map[string]bool
}

const (
	fullScale   = 0.999 // beyond, an input clips
	fewClipped  = 3     // samples
	bendsTo     = 0.02  // of the sample rate: above, the sweep itself bends as sharply as a contact
	silentBelow = 3e-5  // peak of a channel relative to the other
	humAbove    = 0.005 // of the channel's peak
	humSeconds  = 0.4   // of silence that tells it
	settle      = 0.5   // s after the beginning when levels are known
)

// NewWatch begins to watch a recording of the sweep, at its own sample rate.
func NewWatch(sweep signal.Signal) (*Watch, error) {
	sweep = sweep.Defaults()
	played, err := sweep.Samples()
	if err != nil {
		return nil, err
	}
	rate := float64(sweep.Rate)
	w := &Watch{sweep: sweep, rate: rate, length: len(played) - int(sweep.Silence()*rate), onset: newOnset(rate),
		follower: newFollower(sweep, played, rate), told: map[string]bool{}}
	for c := range w.channel {
		w.channel[c] = newChannel(rate)
	}
	return w, nil
}

// Began returns when the sweep came back, in seconds from the start of the recording; false
// as long as it has not.
func (w *Watch) Began() (seconds float64, ok bool) {
	return float64(w.onset.at) / w.rate, w.onset.known
}

// Passing is the frequency (Hz) that the sweep passes now; 0 before it came back.
func (w *Watch) Passing() float64 {
	if !w.onset.known {
		return 0
	}
	return w.sweep.Passing(float64(w.frames-w.onset.at) / w.rate)
}

// Over says whether the whole sweep was recorded, with the silence after it.
func (w *Watch) Over() bool { return w.onset.known && w.frames >= w.onset.at+w.length }

// Push takes in what was recorded since and returns what was not told before.
func (w *Watch) Push(ch1, ch2 []float64) []*notice.Notice {
	var all []*notice.Notice
	tell := func(n *notice.Notice) {
		key := n.Code
		if c, ok := n.Facts["channel"]; ok {
			key += string(rune('0' + c.(int)))
		}
		if !w.told[key] {
			w.told[key] = true
			all = append(all, n)
		}
	}
	began := w.onset.known
	w.onset.push(ch1, ch2)
	if w.onset.known && !began {
		w.follower.begin(w.onset.at)
	}
	from := w.frames
	w.frames += len(ch1)
	passing := w.Passing()
	for c, x := range [2][]float64{ch1, ch2} {
		v := w.channel[c]
		v.see(x)
		if v.clipped >= fewClipped {
			tell(notice.New("live-clipped", notice.Facts{"channel": c + 1}))
		}
		v.low(x, w.onset.known && passing > lowFrom && passing < lowTo*w.sweep.Hi)
		if v.shaken {
			tell(notice.New("live-shaken", notice.Facts{"at": float64(from)/w.rate - w.beginning()}))
		}
	}
	defer func() {
		for c, x := range [2][]float64{ch1, ch2} {
			for _, s := range x[max(0, len(x)-2):] { // a block may be one sample long
				w.channel[c].last = [2]float64{w.channel[c].last[1], s}
			}
		}
	}()
	if !w.onset.known {
		return all
	}
	since := float64(w.frames-w.onset.at) / w.rate
	if since < settle {
		return all
	}
	w.levels(tell)
	if at, both := w.bends(ch1, ch2, passing); at >= 0 {
		seconds := float64(from+at)/w.rate - w.beginning()
		if both {
			tell(notice.New("live-jump", notice.Facts{"at": seconds, "frequency": passing}))
		} else {
			tell(notice.New("live-contact", notice.Facts{"at": seconds, "frequency": passing}))
		}
	}
	if !w.Over() {
		if lost, at := w.follower.push([2][]float64{ch1, ch2}[w.louder], from); lost != 0 {
			tell(notice.New("live-lost", notice.Facts{"at": at - w.beginning(), "samples": lost}))
		}
	}
	return all
}

func (w *Watch) beginning() float64 { return float64(w.onset.at) / w.rate }

// levels looks, once, at what the levels say: a channel that records nothing, and hum.
func (w *Watch) levels(tell func(*notice.Notice)) {
	if w.told["levels"] {
		return
	}
	w.told["levels"] = true
	if w.channel[1].peak > w.channel[0].peak {
		w.louder = 1
	}
	for c, v := range w.channel {
		// What is no louder than before the sweep is noise.
		if other := w.channel[1-c].peak; v.peak < silentBelow*other || v.peak < 6*w.onset.noise(c) && other > 100*v.peak {
			tell(notice.New("live-silent", notice.Facts{"channel": c + 1}))
			continue
		}
		if len(w.onset.quiet[c]) < int(humSeconds*w.rate) {
			continue
		}
		for _, mains := range spectra.MainsHz {
			var parts []float64
			for h := 1.0; h <= 5; h++ {
				parts = append(parts, w.onset.tone(c, h*mains, w.rate))
			}
			// Six times what noise of that rms shows through the window.
			noise := 2 * w.onset.noise(c) * math.Sqrt(1.5/float64(len(w.onset.quiet[c])))
			share := floats.Norm(parts, 2) / v.peak
			if share > humAbove && slices.Max(parts) > 6*noise && slices.Max(parts) > 0.7*w.strongest(c) {
				tell(notice.New("live-hum", notice.Facts{"channel": c + 1, "mains": mains, "share": share}))
			}
		}
	}
}

// strongest is the amplitude of the strongest harmonic of any mains in channel c.
func (w *Watch) strongest(c int) float64 {
	most := 0.0
	for _, mains := range spectra.MainsHz {
		for h := 1.0; h <= 5; h++ {
			most = max(most, w.onset.tone(c, h*mains, w.rate))
		}
	}
	return most
}

// bends returns the first sample at which a channel bends more sharply than the sweep can,
// and whether both do; -1 for none.
func (w *Watch) bends(ch1, ch2 []float64, passing float64) (at int, both bool) {
	if passing > bendsTo*w.rate {
		return -1, false
	}
	turn := 2 * math.Pi * passing / w.rate
	x := [2][]float64{ch1, ch2}
	var last [2][2]float64
	var most [2]float64 // second difference of the sweep
	for c, v := range w.channel {
		last[c] = v.last
		most[c] = 4*v.peak*turn*turn + 0.01*v.peak + 15*w.onset.noise(c)
	}
	for i := range ch1 {
		var sharp [2]bool
		for c := range sharp {
			sharp[c] = math.Abs(x[c][i]-2*last[c][1]+last[c][0]) > most[c]
			last[c] = [2]float64{last[c][1], x[c][i]}
		}
		if sharp[0] || sharp[1] {
			return i, sharp[0] && sharp[1]
		}
	}
	return -1, false
}

// channel is what is kept of one channel.
type channel struct {
	rate    float64
	peak    float64 // of the last second or so, less its mean
	forget  float64 // part of the peak that stays from sample to sample
	clipped int
	last    [2]float64 // samples of the push before

	down    []*dsp.Halfband
	below   []float64 // what lies far below the sweep, at the low rate
	lowRate float64
	shaken  bool
}

const (
	lowFrom   = 150.0 // Hz that the sweep has passed before what lies below is looked at
	lowTo     = 0.8   // of the highest frequency: the end of a sweep reaches down as well
	lowWanted = 100.0 // Hz, sample rate for it, at most
	lowPass   = 20.0  // Hz that the filters leave intact
	lowMemory = 1.5   // s that tell what is usual
	lowRatio  = 10.0  // over what is usual
	lowShare  = 0.004 // of the channel's peak
)

func newChannel(rate float64) *channel {
	v := &channel{rate: rate, forget: 1 - 2/rate, lowRate: rate}
	for v.lowRate > lowWanted {
		v.down = append(v.down, dsp.NewHalfband(lowPass/v.lowRate))
		v.lowRate /= 2
	}
	return v
}

// see follows the peak.
func (v *channel) see(x []float64) {
	for _, s := range x {
		a := math.Abs(s)
		if a >= fullScale {
			v.clipped++
		}
		v.peak = max(a, v.peak*v.forget)
	}
}

// low looks for a push on the cone, by air or through the bench: it moves at a few hertz,
// where the sweep is no more.
func (v *channel) low(x []float64, listen bool) {
	for _, h := range v.down {
		x = h.Push(x)
	}
	if !listen {
		v.below = v.below[:0]
		return
	}
	memory := int(lowMemory * v.lowRate)
	for _, s := range x {
		if len(v.below) >= memory {
			last := slices.Clone(v.below[len(v.below)-memory:])
			mean := dsp.Median(last)
			for i := range last {
				last[i] = math.Abs(last[i] - mean)
			}
			if off := math.Abs(s - mean); off > lowRatio*dsp.Median(last) && off > lowShare*v.peak {
				v.shaken = true
			}
		}
		v.below = append(v.below, s)
	}
}
