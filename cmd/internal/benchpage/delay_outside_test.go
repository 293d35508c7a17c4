//go:build outside

package benchpage

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"syscall"
	"testing"
	"time"

	"conewright/cmd/internal/browser"
	"conewright/cmd/internal/sound"
	"conewright/sweeps/signal"
)

// clocked notes for each part of a sweep that is shown when its last sound was recorded, by
// the clock of the sound: when the first block came, plus what was recorded since.
type clocked struct {
	sound.System
	desk *Desk

	mu    sync.Mutex
	heard map[float64]time.Time // by part
}

func (c *clocked) Open(ctx context.Context, out, in string) (sound.Line, error) {
	l, err := c.System.Open(ctx, out, in)
	return clockedLine{l, c}, err
}

type clockedLine struct {
	sound.Line
	clock *clocked
}

func (l clockedLine) Run(ctx context.Context, p sound.Play, take func(a, b []float64) error) error {
	var began time.Time
	frames, block := 0, 0
	return l.Line.Run(ctx, p, func(a, b []float64) error {
		if began.IsZero() {
			began, block = time.Now(), len(a)
		}
		frames += len(a)
		err := take(a, b)
		l.clock.desk.mu.Lock()
		part := l.clock.desk.live.Part
		l.clock.desk.mu.Unlock()
		l.clock.mu.Lock()
		defer l.clock.mu.Unlock()
		if _, known := l.clock.heard[part]; !known {
			l.clock.heard[part] = began.Add(time.Duration(frames-block) * time.Second / time.Duration(l.Rate()))
		}
		return err
	})
}

// processor is what this process, without the browser, has used.
func processor() time.Duration {
	var u syscall.Rusage
	syscall.Getrusage(syscall.RUSAGE_SELF, &u)
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// seen makes the page note when a frame shows a part of the sweep that it did not show before.
const seen = `(() => {
  window.seen = {};
  const look = () => { const v = document.querySelector("#progress").value; if (!(v in window.seen)) setTimeout(() => { window.seen[v] ??= Date.now(); }); requestAnimationFrame(look); };
  requestAnimationFrame(look);
  return true;
})()`

// The page draws the curve as it grows, part after part, in Chromium and in real time. How
// fast is logged (docs/performance.md) and not judged: that depends on the machine.
func TestOutsideCurveIsDrawnWhileItPlays(t *testing.T) {
	r := start(t, 1)
	clock := &clocked{System: r.desk.opt.System, desk: r.desk, heard: map[float64]time.Time{}}
	r.desk.opt.System, r.desk.opt.Sweep = clock, signal.Signal{Lo: 5, Hi: 10000, Duration: 12}
	p := browser.Start(t).Visit(t, r.server.Address(), browser.View{Width: 1280})
	time.Sleep(time.Second) // until the page is at rest
	paint := browser.Eval[float64](p, `performance.getEntriesByName("first-contentful-paint")[0].startTime - performance.getEntriesByType("navigation")[0].fetchStart`)
	size := browser.Eval[float64](p, `[...performance.getEntriesByType("resource"), ...performance.getEntriesByType("navigation")].reduce((s, e) => s + e.transferSize, 0)`)
	t.Logf("first paint after %.0f ms, %.0f kB", paint, size/1000)
	r.ready(r.open()) // pressed for the page of the browser as well: there is one job
	browser.Eval[bool](p, seen)
	began, used := time.Now(), processor()
	const press = `(b => { b?.click(); return b !== null; })(document.querySelector("#sweep-buttons .main"))`
	for !browser.Eval[bool](p, press) { // the page may not show the screen yet
		time.Sleep(50 * time.Millisecond)
	}
	v := r.until(r.open(), "the sweep", func(v view) bool { return len(v.Sweeps) == 1 && v.Run == "" })
	t.Logf("processor %.0f %% of one core, the virtual bench and the reading at the end included", 100*(processor()-used).Seconds()/time.Since(began).Seconds())
	if v.Problem != nil {
		t.Fatal(v.Problem)
	}
	var delays []float64 // ms
	for part, shown := range browser.Eval[map[string]float64](p, `window.seen`) {
		var at float64
		fmt.Sscan(part, &at)
		if heard, ok := clock.heard[at]; ok && at > 0 && at < 1 {
			delays = append(delays, shown-float64(heard.UnixMicro())/1000)
		}
	}
	slices.Sort(delays)
	if len(delays) < 10 {
		t.Fatalf("%d parts were drawn while the sweep played", len(delays))
	}
	t.Logf("%d parts drawn in 12 s; behind the sound by %.0f ms (median), %.0f ms (95 of 100), %.0f ms (most)", len(delays), delays[len(delays)/2], delays[len(delays)*95/100], delays[len(delays)-1])
}
