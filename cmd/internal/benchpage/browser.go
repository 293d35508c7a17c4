package benchpage

import (
	"context"
	"crypto/rand"
	"encoding/binary"
	"encoding/json"
	"errors"
	"io"
	"math"
	"net/http"
	"strconv"
	"sync"
	"time"

	"conewright/cmd/internal/sound"
	"conewright/ts/notice"
)

// Browser is the sound of the browser that shows the page, where the machine has no sound
// server that speaks to us. The page plays what it fetches, and sends what it records block
// by block with the number of its first frame.
type Browser struct {
	mu      sync.Mutex
	devices sound.Devices
	session *session // that is open; nil: none
	show    func()   // tells the pages that the session is another
}

// NewBrowser returns the sound of the browser.
func NewBrowser() *Browser { return &Browser{show: func() {}} }

// session is one use of the browser's sound.
type session struct {
	id            string
	output, input string
	rate          int
	ready         chan struct{} // closed when the page can play and record
	play          *sound.Play   // nil: not yet
	next          int           // frame that comes next
	blocks        chan [2][]float64
	failed        chan error // holds the first failure
	ended         chan struct{}
}

const (
	permission   = time.Minute // for the question whether the page may record
	silentFor    = 5 * time.Second
	mostSound    = 1 << 20 // bytes of one block
	floatBytes   = 4
	blocksWaited = 64
)

func (b *Browser) Kind() string { return "browser" }
func (b *Browser) Name() string { return "the sound of this browser" }

// Devices are those that the page saw last; a browser tells them once it may record.
func (b *Browser) Devices(context.Context) (sound.Devices, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.devices, nil
}

// Open asks the page to get ready and waits until it is.
func (b *Browser) Open(ctx context.Context, output, input string) (sound.Line, error) {
	s := &session{id: rand.Text(), output: output, input: input, ready: make(chan struct{}), blocks: make(chan [2][]float64, blocksWaited), failed: make(chan error, 1), ended: make(chan struct{})}
	b.set(s)
	select {
	case <-s.ready:
		return browserLine{b, s}, nil
	case err := <-s.failed:
		b.end(s)
		return nil, err
	case <-time.After(permission):
		b.end(s)
		return nil, notice.New("sound-forbidden", nil)
	case <-ctx.Done():
		b.end(s)
		return nil, context.Cause(ctx)
	}
}

func (b *Browser) set(s *session) {
	b.mu.Lock()
	b.session = s
	b.mu.Unlock()
	b.show()
}

// end ends a session; the page stops when it sees that, or at its next block.
func (b *Browser) end(s *session) {
	b.mu.Lock()
	if b.session == s {
		b.session = nil
	}
	b.mu.Unlock()
	close(s.ended)
	b.show()
}

type browserLine struct {
	*Browser
	session *session
}

func (l browserLine) Rate() int { return l.session.rate }

// Run lets the page play and hands on what it records. The page follows the level itself.
func (l browserLine) Run(ctx context.Context, play sound.Play, take func(ch1, ch2 []float64) error) error {
	s := l.session
	defer l.end(s)
	l.mu.Lock()
	s.play = &play
	l.mu.Unlock()
	l.show()
	for {
		select {
		case <-ctx.Done():
			return nil
		case err := <-s.failed:
			return err
		case block := <-s.blocks:
			if err := take(block[0], block[1]); err != nil {
				if errors.Is(err, sound.ErrEnough) {
					return nil
				}
				return err
			}
		case <-time.After(silentFor):
			return notice.New("sound-stalled", notice.Facts{"device": l.Name(), "seconds": silentFor.Seconds()})
		}
	}
}

// sessionView is what the page has to know of a session.
type sessionView struct {
	ID     string `json:"id"`
	Output string `json:"output"`
	Input  string `json:"input"`
	Play   bool   `json:"play"`
	Loop   bool   `json:"loop"`
}

// view is the open session; nil when there is none.
func (b *Browser) view() *sessionView {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.session == nil {
		return nil
	}
	v := &sessionView{ID: b.session.id, Output: b.session.output, Input: b.session.input, Play: b.session.play != nil}
	v.Loop = v.Play && b.session.play.Loop
	return v
}

// of is the session of a request; nil when it is over.
func (b *Browser) of(r *http.Request) *session {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.session != nil && b.session.id == r.PathValue("session") {
		return b.session
	}
	return nil
}

// routes adds what the page asks for while it plays and records.
func (b *Browser) routes(mux *http.ServeMux) {
	with := func(act func(w http.ResponseWriter, r *http.Request, s *session)) http.HandlerFunc {
		return func(w http.ResponseWriter, r *http.Request) {
			if s := b.of(r); s != nil {
				act(w, r, s)
				return
			}
			http.Error(w, "this recording is over", http.StatusGone)
		}
	}
	mux.HandleFunc("POST /audio/{session}/ready", with(b.getReady))
	mux.HandleFunc("GET /audio/{session}/play", with(b.sendPlay))
	mux.HandleFunc("POST /audio/{session}/block", with(b.takeBlock))
	mux.HandleFunc("POST /audio/{session}/fail", with(b.fail))
}

// getReady takes in what the page can record: two channels, at a rate of which the context
// that plays is as well, and nothing that is done to them.
func (b *Browser) getReady(w http.ResponseWriter, r *http.Request, s *session) {
	var is struct {
		Rate, ContextRate float64
		Channels          int
		Input             string
		Effects           []string
		Outputs, Inputs   []sound.Device
	}
	if err := json.NewDecoder(r.Body).Decode(&is); err != nil {
		http.Error(w, "this cannot be read", http.StatusBadRequest)
		return
	}
	var problem error
	switch {
	case is.Channels < 2:
		problem = notice.New("sound-mono", notice.Facts{"device": is.Input})
	case len(is.Effects) > 0:
		problem = notice.New("sound-processed", notice.Facts{"effect": is.Effects[0]})
	case is.Rate != is.ContextRate || is.Rate < 8000 || is.Rate > 768000:
		problem = notice.New("sound-rate", notice.Facts{"input": int(is.Rate), "output": int(is.ContextRate)})
	}
	b.mu.Lock()
	b.devices = sound.Devices{Outputs: is.Outputs, Inputs: is.Inputs}
	again := s.rate != 0
	if !again { // the rate is read without the lock once the session is ready
		s.rate = int(is.Rate)
	}
	b.mu.Unlock()
	if problem != nil {
		s.fail(problem)
	} else if !again {
		close(s.ready)
	}
	io.WriteString(w, "{}")
}

func (s *session) fail(err error) {
	select {
	case s.failed <- err:
	default: // the first one counts
	}
}

// sendPlay sends the samples to be played, as 32-bit floats.
func (b *Browser) sendPlay(w http.ResponseWriter, _ *http.Request, s *session) {
	b.mu.Lock()
	play := s.play
	b.mu.Unlock()
	if play == nil {
		http.Error(w, "nothing is to be played yet", http.StatusNotFound)
		return
	}
	data := make([]byte, floatBytes*len(play.Samples))
	for i, v := range play.Samples {
		binary.LittleEndian.PutUint32(data[floatBytes*i:], math.Float32bits(float32(v)))
	}
	w.Header().Set("Content-Type", "application/octet-stream")
	w.Write(data)
}

// takeBlock takes in what both channels recorded from a frame on: 32-bit floats, first all
// of channel 1, then all of channel 2. A frame that is missing ends the recording.
func (b *Browser) takeBlock(w http.ResponseWriter, r *http.Request, s *session) {
	frame, err := strconv.Atoi(r.URL.Query().Get("frame"))
	data, errBody := io.ReadAll(r.Body)
	if err != nil || errBody != nil || len(data)%(2*floatBytes) != 0 {
		http.Error(w, "this is no block", http.StatusBadRequest)
		return
	}
	n := len(data) / (2 * floatBytes)
	var block [2][]float64
	for c := range block {
		block[c] = make([]float64, n)
		for i := range block[c] {
			v := float64(math.Float32frombits(binary.LittleEndian.Uint32(data[floatBytes*(c*n+i):])))
			if !(math.Abs(v) <= 1e3) {
				http.Error(w, "this is no sound", http.StatusBadRequest)
				return
			}
			block[c][i] = v
		}
	}
	b.mu.Lock()
	missing := frame != s.next
	s.next = frame + n
	b.mu.Unlock()
	if missing {
		s.fail(notice.New("sound-overrun", nil))
		http.Error(w, "frames are missing", http.StatusGone)
		return
	}
	select {
	case s.blocks <- block:
		io.WriteString(w, "{}")
	case <-s.ended:
		http.Error(w, "this recording is over", http.StatusGone)
	case <-r.Context().Done():
	}
}

// fail takes in why the page cannot play or record.
func (b *Browser) fail(w http.ResponseWriter, r *http.Request, s *session) {
	var is struct{ Code, What string }
	if err := json.NewDecoder(r.Body).Decode(&is); err != nil {
		http.Error(w, "this cannot be read", http.StatusBadRequest)
		return
	}
	switch is.Code {
	case "forbidden":
		s.fail(notice.New("sound-forbidden", nil))
	case "gone":
		s.fail(notice.New("sound-gone", nil))
	case "lost":
		s.fail(notice.New("sound-overrun", nil))
	default:
		s.fail(notice.New("sound-page", notice.Facts{"what": is.What}))
	}
	io.WriteString(w, "{}")
}
