package sound

import (
	"context"
	"slices"
	"sync"
	"time"

	"conewright/sweeps/virtual"
	"conewright/ts/notice"
)

// Virtual is a sound card with an amplifier and a bench behind it that exist only as
// numbers. What it is connected to, and what happens to it, is said by [Virtual.Connect].
type Virtual struct {
	RateHz int
	Speed  float64 // times real time; 0: as fast as it goes
	Amp    float64 // V at the amplifier's output for full scale; full scale of the inputs is 1 V

	mu       sync.Mutex
	bench    virtual.Bench
	happened []Happening
}

// Happening is something that happens during a run.
type Happening struct {
	After float64 // s from the start of the run
	Do    func(*virtual.Stream)
	Pull  bool // the sound card is pulled out
}

// Connect says what hangs on the terminals from the next run on, and what happens during
// each.
func (v *Virtual) Connect(b virtual.Bench, happenings ...Happening) {
	v.mu.Lock()
	defer v.mu.Unlock()
	v.bench, v.happened = b, happenings
}

func (v *Virtual) Kind() string { return "virtual" }
func (v *Virtual) Name() string { return "virtual bench" }

// Devices returns the one output and the one input.
func (v *Virtual) Devices(context.Context) (Devices, error) {
	return Devices{[]Device{{ID: "out", Name: "virtual amplifier", Channels: 2, Usual: true}},
		[]Device{{ID: "in", Name: "virtual inputs", Channels: 2, Usual: true}}}, nil
}

// Open opens it, whatever is named.
func (v *Virtual) Open(context.Context, string, string) (Line, error) { return virtualLine{v}, nil }

type virtualLine struct{ *Virtual }

func (v virtualLine) Rate() int { return v.RateHz }

func (v virtualLine) Run(ctx context.Context, play Play, take func(ch1, ch2 []float64) error) error {
	v.mu.Lock()
	bench, happenings := v.bench, slices.Clone(v.happened)
	v.mu.Unlock()
	stream, err := bench.Stream(v.RateHz)
	if err != nil {
		return err
	}
	p := newPlayer(play)
	out := make([]float64, stream.Block())
	began := time.Now()
	for frames := 0; ctx.Err() == nil; frames += len(out) {
		seconds := float64(frames) / float64(v.RateHz)
		for len(happenings) > 0 && happenings[0].After <= seconds {
			if happenings[0].Pull {
				return notice.New("sound-gone", nil)
			}
			happenings[0].Do(stream)
			happenings = happenings[1:]
		}
		p.fill(out)
		for i := range out {
			out[i] *= v.Amp
		}
		ch1, ch2 := stream.Pass(out)
		if v.Speed > 0 {
			due := began.Add(time.Duration((seconds + float64(len(out))/float64(v.RateHz)) / v.Speed * float64(time.Second)))
			select {
			case <-ctx.Done():
				return nil
			case <-time.After(time.Until(due)):
			}
		}
		if err := take(slices.Clone(ch1), slices.Clone(ch2)); err != nil {
			return ended(err)
		}
	}
	return nil
}
