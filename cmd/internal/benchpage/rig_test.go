package benchpage

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/cookiejar"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"conewright/cmd/internal/benchjob"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/sound"
	"conewright/sweeps/bench"
	"conewright/sweeps/signal"
	"conewright/sweeps/virtual"
	"conewright/ts/driver"
	"conewright/ts/measured"
	"conewright/ts/notice"
)

// shop is a workshop of a virtual bench with one driver.
type shop struct {
	v    *sound.Virtual
	kept map[string]string

	booked    []string // folders
	bookWrong error
	answers   bool // there is an answer to give
}

var woofer = driver.Driver{Re: 5.6, BL: 8, Mms: 0.03, Cms: 0.75e-3, Rms: 1.5, Coil: driver.LossyCoil{K: 0.02, N: 0.7}}

func (s *shop) Settings(typed map[string]string) (bench.Bench, measured.Conditions, error) {
	return bench.Bench{Resistor: 10}, measured.Conditions{}, nil
}
func (s *shop) Mass(text string) (measured.Load, error) {
	return measured.Load{Kind: measured.AddedMass, Value: 0.02, Std: 1e-5}, nil
}
func (s *shop) Sheets() []Sheet                           { return []Sheet{{Path: "larch.toml", Name: "Larch"}} }
func (s *shop) OwnSheet(dir, path string) (string, error) { return path, nil }
func (s *shop) Keep(typed map[string]string) error        { s.kept = typed; return nil }
func (s *shop) Paper() []PaperValue                       { return []PaperValue{{Name: "fs", Title: "Fs", Usual: "Hz"}} }
func (s *shop) NewSheet(dir string, typed map[string]string) (string, error) {
	if typed["fs"] == "walnut" {
		return "", &FieldError{"paper-fs", notice.New("job-no-paper", nil)}
	}
	return filepath.Join(dir, typed["name"]+".toml"), nil
}
func (s *shop) Book(dir string) (Kept, error) {
	if s.bookWrong != nil {
		return Kept{}, s.bookWrong
	}
	s.booked = append(s.booked, dir)
	return Kept{Job: 7, Says: "this is job:7"}, nil
}
func (s *shop) CustomerSheet(w io.Writer, k Kept) error {
	_, err := fmt.Fprintf(w, "%%PDF of job:%d", k.Job)
	return err
}
func (s *shop) Mishaps() []string { return nil }
func (s *shop) Prepare(next benchjob.Sweep, goesWrong string) {
	z := woofer.Impedance
	if next.Mass != "" {
		z = func(f float64) complex128 { return woofer.LoadedImpedance(f, 0.02, 0) }
	}
	flaws := virtual.Flaws{Noise: [2]float64{1e-5, 1e-5}}
	var happens []sound.Happening
	switch goesWrong {
	case "unplugged":
		happens = []sound.Happening{{After: 2, Pull: true}}
	case "loose-clip":
		happens = []sound.Happening{{After: 2, Do: func(s *virtual.Stream) { s.Open(0.01) }}}
	}
	s.v.Connect(virtual.Bench{Z: z, Bench: bench.Bench{Resistor: 10}, Flaws: flaws}, happens...)
}
func (s *shop) PrepareCheck(part Part, ohm string) error {
	s.v.Connect(virtual.Bench{Z: func(float64) complex128 { return 27 }, Bench: bench.Bench{Resistor: 10}})
	return nil
}
func (s *shop) Check(typed map[string]string, c Checked) (map[string]string, []string, error) {
	return map[string]string{"resistor": typed["resistor"], "wiring": "resistor-first"}, []string{string("checked by " + c.Ohm)}, nil
}
func (s *shop) Answer(dir string, j benchjob.Job) (*report.Report, string, error) {
	if s.answers {
		return &report.Report{Title: "left woofer"}, "conewright fit", nil
	}
	return nil, "", notice.New("job-free-first", nil)
}

func (s *shop) Box(b benchjob.Box) error {
	if b.Volume == "walnut" {
		return &FieldError{"volume", notice.New("job-no-paper", nil)}
	}
	return nil
}
func (s *shop) Cabinet(dir string, j benchjob.Job) (*report.Report, string, error) {
	return &report.Report{Title: "box of " + filepath.Base(dir), Cabinet: &report.InCabinet{}}, "conewright cabinet", nil
}

func (s *shop) Part(p benchjob.Part) error {
	if p.Nominal == "walnut" {
		return &FieldError{"nominal", notice.New("job-no-paper", nil)}
	}
	return nil
}
func (s *shop) Parts(dir string, j benchjob.Job) (PartsFound, error) {
	var found PartsFound
	for _, p := range j.UsedParts() {
		found.Lines = append(found.Lines, PartLine{Name: p.Part.Name, Verdict: "in spec"})
	}
	return found, nil
}

func (s *shop) PartsAnswer(dir string, j benchjob.Job) (*report.Report, string, error) {
	return &report.Report{Title: "parts of " + filepath.Base(dir), Parts: []report.PartSide{}}, "conewright part", nil
}

// talker tells when the virtual card runs.
type talker struct {
	*sound.Virtual
	running *atomic.Int32
}

func (k talker) Open(ctx context.Context, out, in string) (sound.Line, error) {
	l, err := k.Virtual.Open(ctx, out, in)
	return talkingLine{l, k.running}, err
}

type talkingLine struct {
	sound.Line
	running *atomic.Int32
}

func (l talkingLine) Run(ctx context.Context, p sound.Play, take func(a, b []float64) error) error {
	l.running.Add(1)
	defer l.running.Add(-1)
	return l.Line.Run(ctx, p, take)
}

// rig is a running server and its parts.
type rig struct {
	t       *testing.T
	server  *Server
	desk    *Desk
	shop    *shop
	base    string
	client  *http.Client
	running *atomic.Int32
	folder  string
}

// start starts a server whose virtual card runs at that speed.
func start(t *testing.T, speed float64) *rig {
	t.Helper()
	return startIn(t, speed, t.TempDir())
}

// startIn starts one that keeps its jobs in that folder.
func startIn(t *testing.T, speed float64, folder string) *rig {
	t.Helper()
	v := &sound.Virtual{RateHz: 48000, Amp: 10, Speed: speed}
	r := &rig{t: t, shop: &shop{v: v}, running: &atomic.Int32{}, folder: folder}
	r.shop.Prepare(benchjob.Sweep{}, "")
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, quit := context.WithCancel(context.Background())
	r.desk = New(ctx, Options{System: talker{v, r.running}, Workshop: r.shop, Folder: r.folder, Job: benchjob.New(nil), Sweep: signal.Signal{Lo: 8, Hi: 2000, Duration: 4}, Book: "The book is here."})
	r.server = NewServer(r.desk, l)
	ended := make(chan error)
	go func() { ended <- r.server.Serve(l) }()
	jar, _ := cookiejar.New(nil)
	r.client = &http.Client{Jar: jar, Timeout: time.Minute}
	r.base = "http://" + l.Addr().String()
	t.Cleanup(func() {
		quit()
		if err := <-ended; err != nil {
			t.Error(err)
		}
	})
	if got := r.get(strings.TrimPrefix(r.server.Address(), r.base)); got != 200 {
		t.Fatalf("the address gives %d", got)
	}
	return r
}

// get returns the status of a GET.
func (r *rig) get(path string) int {
	r.t.Helper()
	resp, err := r.client.Get(r.base + path)
	if err != nil {
		r.t.Fatal(err)
	}
	resp.Body.Close()
	return resp.StatusCode
}

// opened is an open page: its events come one after another.
type opened struct {
	id     string
	events chan string // of event "view", their data
	close  func()
}

// open opens a page, as a browser does.
func (r *rig) open() *opened {
	r.t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	r.t.Cleanup(stop)
	req, _ := http.NewRequestWithContext(ctx, http.MethodGet, r.base+"/events", nil)
	resp, err := (&http.Client{Jar: r.client.Jar}).Do(req)
	if err != nil || resp.StatusCode != 200 {
		r.t.Fatal(err, resp)
	}
	p := &opened{events: make(chan string, 1000), close: stop}
	lines := bufio.NewScanner(resp.Body)
	lines.Buffer(nil, 1<<20)
	ready := make(chan string)
	go func() {
		defer resp.Body.Close()
		event := ""
		for lines.Scan() {
			switch line := lines.Text(); {
			case strings.HasPrefix(line, "event: "):
				event = line[7:]
			case strings.HasPrefix(line, "data: ") && event == "page":
				ready <- strings.Trim(line[6:], `"`)
			case strings.HasPrefix(line, "data: ") && event == "view":
				p.events <- line[6:]
			}
		}
		close(p.events)
	}()
	p.id = <-ready
	return p
}

// until waits for a view that is as wanted.
func (r *rig) until(p *opened, what string, wanted func(v view) bool) view {
	r.t.Helper()
	late := time.After(2 * time.Minute)
	for {
		select {
		case data, ok := <-p.events:
			var v view
			if !ok || json.Unmarshal([]byte(data), &v) != nil {
				r.t.Fatalf("waiting for %s: the events end with %q", what, data)
			}
			if wanted(v) {
				return v
			}
		case <-late:
			r.t.Fatalf("this did not come: %s", what)
		}
	}
}

// do presses something and returns the code of what is refused, "" for none.
func (r *rig) do(p *opened, action string, body any) string { return r.refused(p, action, body).Code }

// refused presses something and returns why it is refused.
func (r *rig) refused(p *opened, action string, body any) refusal {
	r.t.Helper()
	data, _ := json.Marshal(body)
	req, _ := http.NewRequest(http.MethodPost, r.base+"/do/"+action, bytes.NewReader(data))
	req.Header.Set("X-Page", p.id)
	resp, err := r.client.Do(req)
	if err != nil {
		r.t.Fatal(err)
	}
	defer resp.Body.Close()
	text, _ := io.ReadAll(resp.Body)
	if resp.StatusCode == 200 {
		return refusal{}
	}
	var s refusal
	if json.Unmarshal(text, &s) != nil || s.Message == "" || s.Hint == "" {
		r.t.Errorf("%s: %d %q", action, resp.StatusCode, text)
	}
	return s
}

// ready goes to the sweep.
func (r *rig) ready(p *opened) {
	r.t.Helper()
	if c := r.do(p, "bench", map[string]any{"typed": map[string]string{"resistor": "10 ohm"}}) + r.do(p, "driver", map[string]any{"name": "Left woofer"}); c != "" {
		r.t.Fatal(c)
	}
}
