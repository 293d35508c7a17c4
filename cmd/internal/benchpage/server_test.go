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
	"os"
	"path/filepath"
	"slices"
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
func (s *shop) Sheets() []Sheet                    { return []Sheet{{Path: "larch.toml", Name: "Larch"}} }
func (s *shop) Keep(typed map[string]string) error { s.kept = typed; return nil }
func (s *shop) Paper() []PaperValue                { return []PaperValue{{Name: "fs", Title: "Fs", Usual: "Hz"}} }
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

// Values of a data sheet make the spec sheet of the job; what is wrong with one is said of its
// field, and the job stays where it was.
func TestPaperValues(t *testing.T) {
	r := start(t, 0)
	p := r.open()
	if got := r.refused(p, "bench", map[string]any{"typed": map[string]string{}}); got.Field != "resistor" {
		t.Errorf("without a resistor: %+v", got)
	}
	r.do(p, "bench", map[string]any{"typed": map[string]string{"resistor": "10 ohm"}})
	wrong := map[string]any{"name": "Left woofer", "paper": map[string]string{"fs": "walnut"}}
	if got := r.refused(p, "driver", wrong); got.Field != "paper-fs" || got.Message == "" {
		t.Errorf("a wrong value: %+v", got)
	}
	if c := r.do(p, "driver", map[string]any{"name": "Left woofer", "paper": map[string]string{"fs": "31"}}); c != "" {
		t.Fatal(c)
	}
	v := r.until(p, "the sweep", func(v view) bool { return v.Screen == benchjob.Sweeps })
	if want := filepath.Join(r.folder, "left-woofer", "Left woofer.toml"); v.Sheet != want || v.Paper["fs"] != "31" || len(v.Paper) != 1 {
		t.Errorf("the sheet is %q of %q, wanted %q", v.Sheet, v.Paper, want)
	}
}

func TestOnlyThisPageIsAnswered(t *testing.T) {
	r := start(t, 0)
	for _, c := range []struct {
		name, method, path, host, origin, site string
		knows                                  bool
		want                                   int
	}{
		{"the page", "GET", "/", "", "", "", true, 200},
		{"a script", "GET", "/page/bench.js", "", "", "", true, 200},
		{"the styles", "GET", "/figures.css", "", "", "", true, 200},
		{"by its other name", "GET", "/", "localhost:PORT", "", "", true, 200},
		{"without the token", "GET", "/", "", "", "", false, 403},
		{"a script without the token", "GET", "/page/bench.js", "", "", "", false, 403},
		{"a wrong token", "GET", "/?token=AAAA", "", "", "", false, 403},
		{"another host", "GET", "/", "bench.example", "", "", true, 421},
		{"another host at this port", "POST", "/do/stop", "bench.example:PORT", "", "", true, 421},
		{"another port", "GET", "/", "127.0.0.1:1", "", "", true, 421},
		{"pressed on another site", "POST", "/do/stop", "", "http://bench.example", "", true, 403},
		{"sent by another site", "POST", "/do/stop", "", "", "cross-site", true, 403},
		{"pressed here", "POST", "/do/stop", "", "http://127.0.0.1:PORT", "same-origin", true, 200},
		{"a change by GET", "GET", "/do/stop", "", "", "", true, 405},
		{"out of the folder", "GET", "/page/..%2fserver.go", "", "", "", true, 404},
		{"a sheet before there is one", "GET", "/sheet", "", "", "", true, 404},
		{"a customer's sheet before there is one", "GET", "/customer.pdf", "", "", "", true, 404},
		{"into the book by GET", "GET", "/do/book", "", "", "", true, 405},
		{"into the book from another site", "POST", "/do/book", "", "http://bench.example", "", true, 403},
		{"into the book without the token", "POST", "/do/book", "", "", "", false, 403},
		{"nothing", "GET", "/nothing", "", "", "", true, 404},
	} {
		_, port, _ := net.SplitHostPort(r.server.host)
		req, _ := http.NewRequest(c.method, r.base+c.path, nil)
		req.Host = strings.ReplaceAll(c.host, "PORT", port)
		if c.origin != "" {
			req.Header.Set("Origin", strings.ReplaceAll(c.origin, "PORT", port))
		}
		if c.site != "" {
			req.Header.Set("Sec-Fetch-Site", c.site)
		}
		client := http.Client{}
		if c.knows {
			req.AddCookie(&http.Cookie{Name: r.server.cookie(), Value: r.server.token})
		}
		resp, err := client.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		resp.Body.Close()
		if resp.StatusCode != c.want {
			t.Errorf("%s: %d, want %d", c.name, resp.StatusCode, c.want)
		}
		if policy := resp.Header.Get("Content-Security-Policy"); c.want != 421 && (policy == "" || strings.Contains(policy, "unsafe") || strings.Contains(policy, "http")) {
			t.Errorf("%s: the policy is %q", c.name, policy)
		}
	}
}

func TestLongBodyIsRefused(t *testing.T) {
	r := start(t, 0)
	resp, err := r.client.Post(r.base+"/do/driver", "application/json", strings.NewReader(`{"name":"`+strings.Repeat("x", mostBody)+`"}`))
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	if resp.StatusCode != http.StatusRequestEntityTooLarge {
		t.Errorf("status %d", resp.StatusCode)
	}
	p := r.open()
	for _, body := range []any{"text", []int{1}} {
		if c := r.do(p, "driver", body); c != "page-action" {
			t.Errorf("%v: %q", body, c)
		}
	}
	if c := r.do(p, "walnut", nil); c != "page-action" {
		t.Errorf("an unknown action: %q", c)
	}
}

// A sweep is on the disk when it is over, its values are those of the driver, and the second
// page that is open sees the same.
func TestSweepIsKept(t *testing.T) {
	r := start(t, 0)
	p, other := r.open(), r.open()
	r.ready(p)
	if c := r.do(p, "sweep", nil); c != "" {
		t.Fatal(c)
	}
	over := func(v view) bool { return len(v.Sweeps) == 1 && v.Run == "" }
	v := r.until(p, "the sweep", over)
	r.until(other, "the sweep on the other page", over)
	if i := slices.IndexFunc(v.Values, func(v valueView) bool { return v.Symbol == "Fs" }); i < 0 || v.Values[i].Value != "33.55 Hz" { // 1/(2 pi sqrt(Mms Cms))
		t.Errorf("the values are %+v", v.Values)
	}
	if v.Now == nil || len(v.Now.Freq) < 100 || len(v.Sweeps[0].Notes) > 0 {
		t.Errorf("the sweep is %+v", v.Sweeps[0])
	}
	if info, err := os.Stat(filepath.Join(r.folder, "left-woofer", "before-free-1.wav")); err != nil || info.Size() < 4*48000*6 {
		t.Errorf("the file: %v", err)
	}
	if c := r.do(p, "sweep", map[string]any{"kind": "first"}); c != "job-kind" {
		t.Errorf("a repeat without a kind: %q", c)
	}
	if c := r.do(p, "sweep", map[string]any{"kind": "re-clamped"}); c != "" {
		t.Error(c)
	}
	v = r.until(p, "the repeat", func(v view) bool { return len(v.Sweeps) == 2 && v.Run == "" })
	if v.Sweeps[1].File != "before-free-2-re-clamped.wav" {
		t.Errorf("the repeat is %+v", v.Sweeps[1])
	}
	// Values stay until a sweep changes.
	r.desk.mu.Lock()
	both, again := r.desk.fit(r.desk.job, benchjob.Before), r.desk.fit(r.desk.job, benchjob.Before)
	r.desk.mu.Unlock()
	if len(both) == 0 || &both[0] != &again[0] {
		t.Error("nothing changed, and the sweeps were fitted again")
	}
	r.do(p, "aside", map[string]any{"file": v.Sweeps[1].File, "aside": true})
	r.desk.mu.Lock()
	one := r.desk.fit(r.desk.job, benchjob.Before)
	r.desk.mu.Unlock()
	if len(one) == 0 || &one[0] == &both[0] {
		t.Error("a sweep was left out, and the values are the old ones")
	}
	if v := r.shop.kept; v["resistor"] != "10 ohm" {
		t.Errorf("the bench that is kept is %q", v)
	}
}

// A loose clip is told while the sweep plays, and by one note when it is over.
func TestLooseClipIsOneNote(t *testing.T) {
	r := start(t, 0)
	p := r.open()
	r.ready(p)
	if c := r.do(p, "sweep", map[string]any{"goesWrong": "loose-clip"}); c != "" {
		t.Fatal(c)
	}
	v := r.until(p, "the sweep", func(v view) bool { return len(v.Sweeps) == 1 && v.Run == "" })
	r.desk.mu.Lock()
	live := r.desk.live.Found
	r.desk.mu.Unlock()
	if len(live) != 1 || live[0].Code != "live-contact" {
		t.Errorf("while it played: %+v", live)
	}
	if notes := v.Sweeps[0].Notes; len(notes) != 1 || notes[0].Code != "unsteady-contact" {
		t.Errorf("when it was over: %+v", notes)
	}
}

// A job is gone on with by another run of the program: its sweeps, values and notes are there, and
// its name is not given to another job.
func TestJobIsGoneOnWith(t *testing.T) {
	r := start(t, 0)
	p := r.open()
	r.ready(p)
	if c := r.do(p, "sweep", nil); c != "" {
		t.Fatal(c)
	}
	first := r.until(p, "the sweep", func(v view) bool { return len(v.Sweeps) == 1 && v.Run == "" })
	r.do(p, "mass", map[string]any{"mass": "20.0 g"})
	r.do(p, "sweep", nil)
	was := r.until(p, "the sweep with a mass", func(v view) bool { return len(v.Sweeps) == 2 && v.Run == "" })

	again := startIn(t, 0, r.folder)
	p = again.open()
	v := again.until(p, "the first screen", func(view) bool { return true })
	if len(v.Waiting) != 1 || v.Waiting[0].Name != "Left woofer" || !strings.HasPrefix(v.Waiting[0].Says, "2 sweeps, before the repair, ") || len(v.Sweeps) != 0 {
		t.Fatalf("it offers %+v", v.Waiting)
	}
	again.do(p, "bench", map[string]any{"typed": map[string]string{"resistor": "10 ohm"}})
	if got := again.refused(p, "driver", map[string]any{"name": "left Woofer"}); got.Code != "job-name-taken" || got.Field != "name" {
		t.Errorf("a new job of that name: %+v", got)
	}
	if c := again.do(p, "continue", map[string]any{"file": "../left-woofer"}); c != "job-unreadable" {
		t.Errorf("a job that is not in the folder: %q", c)
	}
	if c := again.do(p, "continue", map[string]any{"file": "left-woofer"}); c != "" {
		t.Fatal(c)
	}
	v = again.until(p, "the job", func(v view) bool { return len(v.Sweeps) == 2 })
	if v.Screen != benchjob.Mass || v.Mass != "20.0 g" || v.Sweeps[1].File != was.Sweeps[1].File || len(v.Waiting) != 0 || v.Problem != nil {
		t.Errorf("it goes on with %+v on %s, %v", v.Sweeps, v.Screen, v.Problem)
	}
	if len(v.Values) == 0 || v.Values[0].Value != was.Values[0].Value || len(v.Now.Freq) != len(was.Now.Freq) || len(first.Values) == 0 {
		t.Errorf("the values are %+v, and were %+v", v.Values, was.Values)
	}
	if c := again.do(p, "sweep", map[string]any{"kind": "again"}); c != "" {
		t.Fatal(c)
	}
	again.until(p, "a sweep after the pause", func(v view) bool { return len(v.Sweeps) == 3 && v.Sweeps[2].File == "before-20.0g-2-again.wav" })

	// A sweep that is gone is said and left out; the rest goes on.
	if err := os.Remove(filepath.Join(r.folder, "left-woofer", "before-20.0g-1.wav")); err != nil {
		t.Fatal(err)
	}
	third := startIn(t, 0, r.folder)
	p = third.open()
	third.do(p, "continue", map[string]any{"file": "left-woofer"})
	v = third.until(p, "the job with one sweep less", func(v view) bool { return len(v.Sweeps) == 3 })
	if !v.Sweeps[1].Aside || len(v.Sweeps[1].Notes) != 1 || v.Sweeps[0].Aside || v.Sweeps[2].Aside {
		t.Errorf("without a file the sweeps are %+v", v.Sweeps)
	}

	// At the next pause that is not said once more.
	fourth := startIn(t, 0, r.folder)
	p = fourth.open()
	fourth.do(p, "continue", map[string]any{"file": "left-woofer"})
	v = fourth.until(p, "the job once more", func(v view) bool { return len(v.Sweeps) == 3 })
	if len(v.Sweeps[1].Notes) != 1 {
		t.Errorf("a file that is gone is said %+v", v.Sweeps[1].Notes)
	}

	// One that cannot be read is not offered, and nothing replaces it.
	path := filepath.Join(r.folder, "left-woofer", "job.json")
	if err := os.WriteFile(path, []byte("{"), 0o666); err != nil {
		t.Fatal(err)
	}
	broken := startIn(t, 0, r.folder)
	p = broken.open()
	if v := broken.until(p, "the first screen", func(view) bool { return true }); len(v.Waiting) != 0 {
		t.Errorf("it offers %+v", v.Waiting)
	}
	broken.do(p, "bench", map[string]any{"typed": map[string]string{"resistor": "10 ohm"}})
	if c := broken.do(p, "driver", map[string]any{"name": "Left woofer"}); c != "job-unreadable" {
		t.Errorf("a new job in its folder: %q", c)
	}
}

// The sound has one owner, and falls silent when that page is gone.
func TestOneOwnerOfTheSound(t *testing.T) {
	r := start(t, 0.1) // a sweep takes 50 s
	p, other := r.open(), r.open()
	r.ready(p)
	if c := r.do(p, "tone", nil); c != "" {
		t.Fatal(c)
	}
	if c := r.do(other, "tone", nil); c != "sound-busy" {
		t.Errorf("the other page begins a tone as well: %q", c)
	}
	if c := r.do(p, "sweep", nil); c != "" { // its own tone ends first
		t.Fatal(c)
	}
	for _, action := range []string{"tone", "sweep", "next", "bench", "mass"} {
		if c := r.do(p, action, map[string]any{"typed": map[string]string{"resistor": "9 ohm"}}); c != "sound-busy" {
			t.Errorf("%s in mid-sweep: %q", action, c)
		}
	}
	if c := r.do(p, "level", map[string]any{"level": -40}); c != "" {
		t.Errorf("quieter in mid-sweep: %q", c)
	}
	sounds := func() bool {
		r.desk.mu.Lock()
		defer r.desk.mu.Unlock()
		return r.desk.run != nil && r.desk.run.what == "sweep" && r.desk.live.Peak[0] > 0
	}
	for end := time.Now().Add(time.Minute); !sounds(); time.Sleep(5 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatal("the sweep does not begin")
		}
	}
	began := time.Now()
	p.close()
	for r.running.Load() > 0 {
		if time.Since(began) > 20*time.Second { // long before the sweep ends
			t.Fatal("the tone goes on without its page")
		}
		time.Sleep(time.Millisecond)
	}
	t.Logf("silent %.0f ms after the page was closed", 1e3*time.Since(began).Seconds())
	v := r.until(other, "the end of the sound", func(v view) bool { return v.Run == "" && v.Problem != nil })
	if v.Problem.Code != "page-gone" || len(v.Sweeps) > 0 {
		t.Errorf("the other page says %+v", v.Problem)
	}
	if c := r.do(p, "tone", nil); c != "page-gone" {
		t.Errorf("a page that is gone begins a tone: %q", c)
	}
	if c := r.do(other, "tone", nil); c != "" {
		t.Errorf("the other page does not get the sound: %q", c)
	}
}

func TestSweepThatCannotBeWritten(t *testing.T) {
	r := start(t, 0)
	p := r.open()
	r.ready(p)
	dir := filepath.Join(r.folder, "left-woofer")
	if err := os.WriteFile(dir, nil, 0o666); err != nil { // no folder can be made there
		t.Fatal(err)
	}
	if c := r.do(p, "sweep", nil); c != "save-failed" {
		t.Errorf("without a folder: %q", c)
	}
	os.Remove(dir)
	if c := r.do(p, "sweep", nil); c != "" {
		t.Fatal(c)
	}
	os.RemoveAll(dir)
	v := r.until(p, "the failure", func(v view) bool { return v.Run == "" && v.Unsaved != "" })
	if v.Unsaved != "before-free-1.wav" || v.Problem == nil {
		t.Errorf("the page says %q, %+v", v.Unsaved, v.Problem)
	}
	for _, action := range []string{"sweep", "next"} {
		if c := r.do(p, action, nil); c != "job-unsaved" {
			t.Errorf("%s with a sweep in hand: %q", action, c)
		}
	}
	if c := r.do(p, "save", nil); c == "" {
		t.Error("it was saved into a folder that is not there")
	}
	if err := os.Mkdir(dir, 0o777); err != nil {
		t.Fatal(err)
	}
	// Pressed twice, it is saved once, and the next sweep can come.
	codes := make(chan string)
	for range 2 {
		go func() { codes <- r.do(p, "save", nil) }()
	}
	if got := []string{<-codes, <-codes}; !slices.Contains(got, "") || slices.Contains(got, "save-exists") {
		t.Errorf("saved twice at once: %q", got)
	}
	r.until(p, "the sweep", func(v view) bool { return len(v.Sweeps) == 1 && v.Unsaved == "" })
	if c := r.do(p, "sweep", map[string]any{"kind": "again"}); c != "" {
		t.Errorf("the sweep after that: %q", c)
	}
}

// The check of the bench takes over what it finds and stays on the screen.
func TestCheckOfTheBench(t *testing.T) {
	r := start(t, 0)
	p := r.open()
	if c := r.do(p, "check", map[string]any{"part": "walnut", "typed": map[string]string{"resistor": "10 ohm"}}); c != "page-action" {
		t.Errorf("an unknown part: %q", c)
	}
	if c := r.do(p, "check", map[string]any{"part": "resistor"}); c != "job-resistor" {
		t.Errorf("without a series resistor: %q", c)
	}
	if c := r.do(p, "check", map[string]any{"part": "resistor", "ohm": "27 ohm", "typed": map[string]string{"resistor": "10 ohm"}}); c != "" {
		t.Fatal(c)
	}
	v := r.until(p, "the check", func(v view) bool { return v.Run == "" && len(v.Found) > 0 })
	if v.Found[0] != "checked by 27 ohm" || v.Typed["wiring"] != "resistor-first" || v.Typed["resistor"] != "10 ohm" || v.Screen != benchjob.Bench || len(v.Reached) != 1 {
		t.Errorf("after the check %q, %q on %s", v.Found, v.Typed, v.Screen)
	}
	r.ready(p)
	if c := r.do(p, "sweep", nil); c != "" {
		t.Fatal(c)
	}
	r.until(p, "a sweep", func(v view) bool { return v.Run == "" && len(v.Sweeps) == 1 })
	if c := r.do(p, "check", map[string]any{"part": "channels", "typed": map[string]string{"resistor": "10 ohm"}}); c != "job-bench-in-use" {
		t.Errorf("a check after a sweep, which would change its bench: %q", c)
	}
}

func TestCardPulledOut(t *testing.T) {
	r := start(t, 0)
	p := r.open()
	r.ready(p)
	if c := r.do(p, "sweep", map[string]any{"goesWrong": "unplugged"}); c != "" {
		t.Fatal(c)
	}
	v := r.until(p, "the failure", func(v view) bool { return v.Run == "" && v.Problem != nil })
	if v.Problem.Code != "sound-gone" || len(v.Sweeps) != 0 {
		t.Errorf("the page says %+v", v.Problem)
	}
	if c := r.do(p, "sweep", nil); c != "" {
		t.Errorf("the next sweep: %q", c)
	}
	r.until(p, "the next sweep", func(v view) bool { return len(v.Sweeps) == 1 })
}

// The page with all that it needs stays small.
func TestPageIsSmall(t *testing.T) {
	r := start(t, 0)
	total := 0
	for _, path := range []string{"/", "/page/bench.css", "/page/bench.js", "/page/chart.js", "/page/audio.js", "/page/recorder.js", "/page/icon.svg", "/figures.css"} {
		resp, err := r.client.Get(r.base + path)
		if err != nil {
			t.Fatal(err)
		}
		data, _ := io.ReadAll(resp.Body)
		resp.Body.Close()
		if resp.StatusCode != 200 || resp.Header.Get("Content-Type") == "" {
			t.Errorf("%s: %d", path, resp.StatusCode)
		}
		total += len(data)
	}
	if total > 250_000 {
		t.Errorf("the page has %d bytes", total)
	}
	t.Logf("%d bytes", total)
}
