//go:build outside && work && unix

package main

import (
	"bytes"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
)

// A bench that sends every second waits for a server that is away, sends what was added meanwhile when it is back, and ends
// when it is asked to.
func TestOutsideSendWaits(t *testing.T) {
	s := newSharedBook(t, t.TempDir())
	folder := filepath.Dir(tables(t, 2))
	bench := filepath.Join(t.TempDir(), "bench")
	s.says("job:1 begun", "job", "new", "Of the bench", "--book", bench)
	add := func(name string) {
		s.says("1 sweep added", "job", "add", "job:1/"+name+"/as-received", filepath.Join(folder, name+".txt"), "--book", bench)
	}
	var out bytes.Buffer
	there := func(want string) {
		t.Helper()
		for range 100 {
			if s.server.SQL(t, s.address, `SELECT string_agg(d.side, ',' ORDER BY s.id) FROM conewright.driver d JOIN conewright.stage s ON s.driver = d.id WHERE d.job > 1`) == want {
				return
			}
			time.Sleep(100 * time.Millisecond)
		}
		t.Fatalf("%s was not sent:\n%s", want, out.String())
	}
	s.server.Kill(t)
	add("u0")
	sender := s.start(&out, "job", "send", "--to", s.address, "--every", "1s", "--book", bench)
	time.Sleep(1500 * time.Millisecond)
	s.server.Run(t)
	there("u0")
	add("u1")
	there("u0,u1")
	if err := sender.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	if err := sender.Wait(); err != nil {
		t.Errorf("%v", err)
	}
	for _, want := range []string{"connection refused", "1 job and 1 stage sent to", "\n1 stage sent to", "nothing left to send"} {
		if strings.Count(out.String(), want) == 0 {
			t.Errorf("without %q:\n%s", want, out.String())
		}
	}
	if n := strings.Count(out.String(), "connection refused"); n != 1 {
		t.Errorf("said %d times that the server is away:\n%s", n, out.String())
	}
	number := regexp.MustCompile(`job:1 is job:(\d+) there`).FindStringSubmatch(out.String()) // some are left out after a crash of the server
	if number == nil {
		t.Fatal(out.String())
	}
	n, _ := strconv.Atoi(number[1])
	same(t, results(t, s.address, n), results(t, bench, 1))
}
