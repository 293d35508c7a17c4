package sound

import (
	"context"
	"encoding/binary"
	"math"
	"time"

	"conewright/ts/notice"

	"github.com/jfreymuth/pulse/proto"
)

const (
	// longBuffer is what lies ready at the server while a signal plays once: with half a
	// second it ran dry on a busy machine. Ending the connection drops it at once.
	longBuffer = 4 * time.Second
	// shortBuffer is that of a sound that goes round, whose level is set while it plays.
	shortBuffer = 200 * time.Millisecond
	// pulseBlock is how much is recorded at a time.
	pulseBlock = 20 * time.Millisecond
	// stalled is how long a recorder may be silent, its start included.
	stalled = 5 * time.Second

	sampleBytes = 4
)

// pulseLine is an output and an input at the server.
type pulseLine struct{ out, in pulseDevice }

func (l *pulseLine) Rate() int { return int(l.in.rate) }

// Run plays and records in one connection of its own. The recorder starts first; what it
// records is handed on until take has enough, so nothing depends on when the server
// believes that the output has ended.
func (l *pulseLine) Run(ctx context.Context, play Play, take func(ch1, ch2 []float64) error) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	messages := make(chan any, 256)
	c, err := connect(ctx, func(message any) {
		if p, ok := message.(*proto.DataPacket); ok {
			message = &proto.DataPacket{StreamIndex: p.StreamIndex, Data: append([]byte(nil), p.Data...)}
		}
		select {
		case messages <- message:
		case <-ctx.Done():
		}
	})
	if err != nil {
		return err
	}
	defer c.close()
	r := &pulseRun{line: l, connection: c, player: newPlayer(play), take: take}
	if err := r.record(); err != nil {
		return err
	}
	watchdog := time.NewTimer(stalled)
	defer watchdog.Stop()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-watchdog.C:
			return notice.New("sound-stalled", notice.Facts{"device": l.in.device.Name, "seconds": stalled.Seconds()})
		case m := <-messages:
			if err := r.hear(ctx, m); err != nil {
				return ended(err)
			}
			if _, ok := m.(*proto.DataPacket); ok {
				watchdog.Reset(stalled)
			}
		}
	}
}

// pulseRun is one run.
type pulseRun struct {
	line *pulseLine
	*connection
	player  *player
	take    func(ch1, ch2 []float64) error
	in, out uint32 // streams
	playing bool
	started bool     // the output has begun
	wanted  chan int // bytes that the server asks for
	rest    []byte   // of a frame that came in pieces
}

// record starts the recorder.
func (r *pulseRun) record() error {
	d := r.line.in
	var reply proto.CreateRecordStreamReply
	err := r.ask(&proto.CreateRecordStream{
		SampleSpec: proto.SampleSpec{Format: proto.FormatFloat32LE, Channels: byte(len(d.channels)), Rate: d.rate},
		ChannelMap: d.channels, SourceIndex: d.index,
		BufferMaxLength: proto.Undefined, BufferFragSize: bytesFor(pulseBlock, d),
		NoRemap: true, NoRemix: true, NoMove: true, AdjustLatency: true,
		DirectOnInputIndex: proto.Undefined,
		ChannelVolumes:     full(d), VolumeSet: true, MutedSet: true,
		Properties: proto.PropList{"media.name": proto.PropListString("bench, both channels")},
	}, &reply)
	r.in = reply.StreamIndex
	return err
}

// start starts the output and what feeds it.
func (r *pulseRun) start(ctx context.Context) error {
	d := r.line.out
	buffer := longBuffer
	if r.player.Loop {
		buffer = shortBuffer
	}
	d.rate = r.line.in.rate // the server makes it that of the output
	var reply proto.CreatePlaybackStreamReply
	err := r.ask(&proto.CreatePlaybackStream{
		SampleSpec: proto.SampleSpec{Format: proto.FormatFloat32LE, Channels: byte(len(d.channels)), Rate: d.rate},
		ChannelMap: d.channels, SinkIndex: d.index,
		BufferMaxLength: 2 * bytesFor(buffer, d), BufferTargetLength: bytesFor(buffer, d), BufferPrebufferLength: proto.Undefined, BufferMinimumRequest: proto.Undefined,
		NoRemap: true, NoRemix: true, NoMove: true, AdjustLatency: true,
		ChannelVolumes: full(d), VolumeSet: true, MutedSet: true,
		Properties: proto.PropList{"media.name": proto.PropListString("test signal")},
	}, &reply)
	if err != nil {
		return err
	}
	r.playing, r.out = true, reply.StreamIndex
	r.wanted = make(chan int, 1024)
	r.wanted <- int(reply.Missing)
	go r.feed(ctx)
	return nil
}

// feed sends what the server asks for: the signal in the first two channels, and silence
// after its end. A connection that is closed ends it.
func (r *pulseRun) feed(ctx context.Context) {
	channels := len(r.line.out.channels)
	owed := 0
	for {
		select {
		case <-ctx.Done():
			return
		case n := <-r.wanted:
			owed += n
		}
		frames := owed / (channels * sampleBytes)
		if frames == 0 {
			continue
		}
		owed -= frames * channels * sampleBytes
		samples := make([]float64, frames)
		r.player.fill(samples)
		data := make([]byte, frames*channels*sampleBytes)
		for i, v := range samples {
			for c := range min(2, channels) {
				binary.LittleEndian.PutUint32(data[(i*channels+c)*sampleBytes:], math.Float32bits(float32(v)))
			}
		}
		if r.client.Send(r.out, data) != nil {
			return
		}
	}
}

// hear acts on a message of the server.
func (r *pulseRun) hear(ctx context.Context, message any) error {
	gone := func(device pulseDevice) error {
		return notice.New("sound-gone", notice.Facts{"device": device.device.Name})
	}
	switch m := message.(type) {
	case *proto.DataPacket:
		if m.StreamIndex != r.in {
			return nil
		}
		if !r.playing {
			if err := r.start(ctx); err != nil {
				return err
			}
		}
		return r.deliver(m.Data)
	case *proto.Request:
		if r.playing && m.StreamIndex == r.out {
			select {
			case r.wanted <- int(m.Length):
			case <-ctx.Done():
			}
		}
	case *proto.Started:
		r.started = true
	case *proto.Underflow:
		if r.started && r.playing && m.StreamIndex == r.out && !r.player.Loop {
			return notice.New("sound-underrun", nil)
		}
	case *proto.Overflow:
		return notice.New("sound-overrun", nil)
	case *proto.PlaybackStreamKilled:
		return gone(r.line.out)
	case *proto.RecordStreamKilled:
		return gone(r.line.in)
	case *proto.PlaybackStreamSuspended:
		if m.Suspended {
			return gone(r.line.out)
		}
	case *proto.RecordStreamSuspended:
		if m.Suspended {
			return gone(r.line.in)
		}
	case *proto.ConnectionClosed:
		return notice.New("sound-server-gone", nil)
	}
	return nil
}

// deliver hands the first two channels on.
func (r *pulseRun) deliver(data []byte) error {
	channels := len(r.line.in.channels)
	data = append(r.rest, data...)
	frames := len(data) / (channels * sampleBytes)
	ch := [2][]float64{make([]float64, frames), make([]float64, frames)}
	for i := range frames {
		for c := range ch {
			ch[c][i] = float64(math.Float32frombits(binary.LittleEndian.Uint32(data[(i*channels+c)*sampleBytes:])))
		}
	}
	r.rest = append([]byte(nil), data[frames*channels*sampleBytes:]...)
	if frames == 0 {
		return nil
	}
	return r.take(ch[0], ch[1])
}

// bytesFor is the size of so much sound.
func bytesFor(d time.Duration, of pulseDevice) uint32 {
	return uint32(d.Seconds()*float64(of.rate)) * uint32(len(of.channels)) * sampleBytes
}

// full is full volume, whatever the server remembers of an earlier run.
func full(d pulseDevice) proto.ChannelVolumes {
	v := make(proto.ChannelVolumes, len(d.channels))
	for i := range v {
		v[i] = uint32(proto.VolumeNorm)
	}
	return v
}
