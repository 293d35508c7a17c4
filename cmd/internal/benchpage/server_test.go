package benchpage

import (
	"io"
	"net"
	"net/http"
	"strings"
	"testing"
)

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
