package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"flag"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/cookiejar"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"conewright/sweeps"
)

// benchKills is how often the page is killed; docs/reliability.md has the figures of a long run.
var benchKills = flag.Int("bench-kills", 2, "how often to kill conewright bench in mid-sweep")

// killable is a bench page in a process of its own, and the one page of it that is open.
type killable struct {
	t       *testing.T
	process *exec.Cmd
	base    string
	client  *http.Client
	page    string
	views   chan string
}

// fastBench is a page of a virtual bench that is as fast as it computes.
func fastBench(folder string) *exec.Cmd {
	return exec.Command("conewright", "bench", "--virtual", "--speed", "1000", "--no-open", "--folder", folder)
}

// startKillable starts a page.
func startKillable(t *testing.T, process *exec.Cmd) *killable {
	t.Helper()
	k := &killable{t: t, process: process, views: make(chan string, 1000)}
	out, err := k.process.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := k.process.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(k.kill)
	lines := bufio.NewScanner(out)
	address := ""
	for address == "" && lines.Scan() {
		address = regexp.MustCompile(`http://\S+`).FindString(lines.Text())
	}
	jar, _ := cookiejar.New(nil)
	k.client = &http.Client{Jar: jar}
	k.base, _, _ = strings.Cut(address, "/?")
	resp, err := k.client.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	events, err := k.client.Get(k.base + "/events")
	if err != nil {
		t.Fatal(err)
	}
	ids := make(chan string)
	go k.follow(events.Body, ids)
	k.page = <-ids
	return k
}

// follow takes in what the page is told, until the process is gone.
func (k *killable) follow(body io.ReadCloser, ids chan<- string) {
	defer body.Close()
	lines := bufio.NewScanner(body)
	lines.Buffer(nil, 1<<20)
	event := ""
	for lines.Scan() {
		if name, ok := strings.CutPrefix(lines.Text(), "event: "); ok {
			event = name
		}
		data, ok := strings.CutPrefix(lines.Text(), "data: ")
		switch {
		case ok && event == "page":
			ids <- strings.Trim(data, `"`)
		case ok && event == "view":
			k.views <- data
		}
	}
	close(k.views)
}

// press presses something on the page.
func (k *killable) press(action string, body map[string]any) {
	k.t.Helper()
	if text := k.refused(action, body); text != "" {
		k.t.Fatalf("%s: %s", action, text)
	}
}

// refused presses something and returns why it is refused, "" where it is not.
func (k *killable) refused(action string, body map[string]any) string {
	k.t.Helper()
	data, _ := json.Marshal(body)
	req, _ := http.NewRequest(http.MethodPost, k.base+"/do/"+action, bytes.NewReader(data))
	req.Header.Set("X-Page", k.page)
	resp, err := k.client.Do(req)
	if err != nil {
		k.t.Fatal(err)
	}
	defer resp.Body.Close()
	text, _ := io.ReadAll(resp.Body)
	if resp.StatusCode == http.StatusOK {
		return ""
	}
	return string(text)
}

// pageView is the part of what a page shows that these tests look at.
type pageView struct {
	Run     string
	Unsaved string
	Problem *struct{ Code, Message, Hint string }
	Sweeps  []struct{ File string }
}

// until takes in what the page shows until it is as wanted, or the process has ended.
func (k *killable) until(enough func(v pageView) bool) (v pageView) {
	for data := range k.views {
		v = pageView{}
		if err := json.Unmarshal([]byte(data), &v); err != nil {
			k.t.Fatal(err)
		}
		if enough(v) {
			break
		}
	}
	return v
}

// shown takes in what the page shows until enough says so, and returns the files of the
// sweeps that it showed last.
func (k *killable) shown(enough func(files []string) bool) (files []string) {
	k.until(func(v pageView) bool {
		files = files[:0]
		for _, s := range v.Sweeps {
			files = append(files, s.File)
		}
		return enough(files)
	})
	return files
}

func (k *killable) kill() {
	k.process.Process.Kill()
	k.process.Wait()
}

// killWhileWriting kills the program as soon as the folder holds one more file than now, under
// whatever name.
func (k *killable) killWhileWriting(folder string) {
	before, err := os.ReadDir(folder)
	for now := before; err == nil && len(now) <= len(before); now, err = os.ReadDir(folder) {
		time.Sleep(time.Millisecond)
	}
	k.process.Process.Kill()
}

// Killed in mid-sweep or while a sweep is written, the program leaves every sweep that the page showed, and nothing
// half-written under the name of a sweep. The next one goes on with all of them.
func TestBenchKilled(t *testing.T) {
	if testing.Short() {
		t.Skip("starts programs and waits for them")
	}
	folder := t.TempDir()
	shown, inMid := map[string]bool{}, 0
	for i := range *benchKills {
		k := startKillable(t, fastBench(folder))
		k.press("bench", map[string]any{"typed": map[string]string{"resistor": "10.02 ohm"}})
		kind, known := "first", 0
		if i == 0 {
			k.press("driver", map[string]any{"name": "left woofer"})
		} else {
			k.press("continue", map[string]any{"file": "left-woofer"})
			files := k.shown(func(files []string) bool { return len(files) > 0 })
			for f := range shown {
				if !slices.Contains(files, f) {
					t.Errorf("the page showed %s, and the job goes on without it", f)
				}
			}
			kind, known = "again", len(files)
		}
		k.press("sweep", map[string]any{"kind": kind})
		first := k.shown(func(files []string) bool { return len(files) > known })
		k.press("sweep", map[string]any{"kind": "again"})
		if i%2 == 0 {
			time.AfterFunc(time.Duration(rand.IntN(4000))*time.Millisecond, func() { k.process.Process.Kill() })
		} else {
			go k.killWhileWriting(filepath.Join(folder, "left-woofer"))
		}
		last := k.shown(func([]string) bool { return false })
		if len(last) < known+2 {
			inMid++
		}
		for _, f := range append(first, last...) {
			shown[f] = true
		}
	}
	paths, err := filepath.Glob(filepath.Join(folder, "left-woofer", "*.wav"))
	if err != nil {
		t.Fatal(err)
	}
	there := map[string]bool{}
	for _, path := range paths {
		there[filepath.Base(path)] = true
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		// A header says how long the sweep is; the reader notes where less follows.
		rec, err := sweeps.ReadRecording(bytes.NewReader(data), int64(len(data)), path)
		if err != nil {
			t.Errorf("%s: %v", path, err)
			continue
		}
		if seconds := float64(rec.Frames) / rec.Rate; seconds < pageSweep.Duration || len(rec.Warnings) > 0 {
			t.Errorf("%s holds %.1f s of a sweep of %.0f s, %v", path, seconds, pageSweep.Duration, rec.Warnings)
		}
	}
	for f := range shown {
		if !there[f] {
			t.Errorf("the page showed %s, and it is gone", f)
		}
	}
	t.Logf("%d kills, %d of them before the second sweep was shown; %d sweeps shown, %d files", *benchKills, inMid, len(shown), len(there))
	if len(shown) < *benchKills {
		t.Errorf("%d sweeps were shown", len(shown))
	}
}
