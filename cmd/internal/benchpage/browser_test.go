package benchpage

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"net/http"
	"net/http/httptest"
	"testing"

	"conewright/cmd/internal/sound"
)

// pageSide does what the scripts of the page do, over HTTP.
type pageSide struct {
	t    *testing.T
	base string
	b    *Browser
}

// post returns the status.
func (p pageSide) post(what string, body []byte) int {
	p.t.Helper()
	v := p.b.view()
	if v == nil {
		p.t.Fatal("there is no session")
	}
	resp, err := http.Post(p.base+"/audio/"+v.ID+"/"+what, "", bytes.NewReader(body))
	if err != nil {
		p.t.Fatal(err)
	}
	resp.Body.Close()
	return resp.StatusCode
}

func (p pageSide) ready(change func(map[string]any)) int {
	is := map[string]any{"Rate": 44100, "ContextRate": 44100, "Channels": 2, "Input": "line in", "Effects": []string{}}
	if change != nil {
		change(is)
	}
	data, _ := json.Marshal(is)
	return p.post("ready", data)
}

func floats(ch1, ch2 []float64) []byte {
	var data []byte
	for _, ch := range [][]float64{ch1, ch2} {
		for _, v := range ch {
			data = binary.LittleEndian.AppendUint32(data, math.Float32bits(float32(v)))
		}
	}
	return data
}

// browserRig is the sound of a browser with its routes; opened gets the sessions that open.
func browserRig(t *testing.T) (pageSide, chan string) {
	b := NewBrowser()
	changes := make(chan string, 100)
	b.show = func() {
		if v := b.view(); v != nil {
			changes <- fmt.Sprint(v.Play)
		} else {
			changes <- "over"
		}
	}
	mux := http.NewServeMux()
	b.routes(mux)
	s := httptest.NewServer(mux)
	t.Cleanup(s.Close)
	return pageSide{t, s.URL, b}, changes
}

func TestBrowserPlaysAndRecords(t *testing.T) {
	p, changes := browserRig(t)
	var got [2][]float64
	ended := make(chan error)
	go func() {
		line, err := p.b.Open(context.Background(), "", "")
		if err == nil && line.Rate() != 44100 {
			err = fmt.Errorf("the rate is %d", line.Rate())
		}
		if err == nil {
			err = line.Run(context.Background(), sound.Play{Samples: []float64{0.25, -0.5}}, func(a, b []float64) error {
				got[0], got[1] = append(got[0], a...), append(got[1], b...)
				if len(got[0]) >= 5 {
					return sound.ErrEnough
				}
				return nil
			})
		}
		ended <- err
	}()
	<-changes
	if s := p.ready(nil); s != 200 {
		t.Fatal(s)
	}
	if c := <-changes; c != "true" {
		t.Fatalf("after it is ready: %s", c)
	}
	resp, err := http.Get(p.base + "/audio/" + p.b.view().ID + "/play")
	if err != nil {
		t.Fatal(err)
	}
	data, _ := io.ReadAll(resp.Body)
	resp.Body.Close()
	if !bytes.Equal(data, floats([]float64{0.25, -0.5}, nil)) {
		t.Errorf("to play: % x", data)
	}
	for _, c := range []struct {
		query string
		body  []byte
		want  int
	}{{"block?frame=x", floats([]float64{1}, []float64{2}), 400}, {"block?frame=0", []byte{1, 2, 3}, 400}, {"block?frame=0", floats([]float64{math.NaN()}, []float64{0}), 400},
		{"block?frame=0", floats([]float64{1, 2, 3}, []float64{4, 5, 6}), 200}, {"block?frame=3", floats([]float64{7, 8}, []float64{9, 10}), 200}} {
		if s := p.post(c.query, c.body); s != c.want {
			t.Errorf("%s: %d, want %d", c.query, s, c.want)
		}
	}
	if err := <-ended; err != nil {
		t.Fatal(err)
	}
	if fmt.Sprint(got) != "[[1 2 3 7 8] [4 5 6 9 10]]" {
		t.Errorf("recorded %v", got)
	}
	resp, err = http.Post(p.base+"/audio/SOMETHING/block?frame=0", "", nil)
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	if resp.StatusCode != http.StatusGone {
		t.Errorf("a block after the end: %d", resp.StatusCode)
	}
}

func TestBrowserRefuses(t *testing.T) {
	for _, c := range []struct {
		name string
		act  func(p pageSide)
		want string
	}{
		{"one channel", func(p pageSide) { p.ready(func(m map[string]any) { m["Channels"] = 1 }) }, "sound-mono"},
		{"an effect", func(p pageSide) {
			p.ready(func(m map[string]any) { m["Effects"] = []string{"the automatic gain"} })
		}, "sound-processed"},
		{"another rate", func(p pageSide) { p.ready(func(m map[string]any) { m["ContextRate"] = 48000 }) }, "sound-rate"},
		{"forbidden", func(p pageSide) { p.post("fail", []byte(`{"code":"forbidden"}`)) }, "sound-forbidden"},
		{"unplugged", func(p pageSide) { p.post("fail", []byte(`{"code":"gone"}`)) }, "sound-gone"},
		{"something else", func(p pageSide) { p.post("fail", []byte(`{"code":"x","what":"no device"}`)) }, "sound-page"},
		{"a frame that is missing", func(p pageSide) {
			p.ready(nil)
			p.post("block?frame=0", floats([]float64{1, 2}, []float64{1, 2}))
			p.post("block?frame=3", floats([]float64{1, 2}, []float64{1, 2}))
		}, "sound-overrun"},
	} {
		p, changes := browserRig(t)
		ended := make(chan error)
		go func() {
			line, err := p.b.Open(context.Background(), "", "")
			if err == nil {
				err = line.Run(context.Background(), sound.Play{}, func(a, b []float64) error { return nil })
			}
			ended <- err
		}()
		<-changes
		c.act(p)
		if n := noticeOf(<-ended); n == nil || n.Code != c.want {
			t.Errorf("%s: %v, want %s", c.name, n, c.want)
		}
	}
}
