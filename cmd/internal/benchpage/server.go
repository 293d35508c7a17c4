package benchpage

import (
	"bytes"
	"crypto/rand"
	"crypto/subtle"
	"embed"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net"
	"net/http"
	"path"
	"strings"
	"time"

	"conewright/cmd/internal/page"
	"conewright/cmd/internal/plot"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/wording"
)

//go:embed page
var files embed.FS

const (
	mostBody = 64 << 10 // bytes of what a page sends when something was pressed
	patience = 5 * time.Second
	// policy lets the page use what comes from this server, and nothing else.
	policy = "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)

// Server serves the page on one address of this machine.
type Server struct {
	desk  *Desk
	token string // of this run; who does not know it gets nothing
	host  string // with port
	http  http.Server
}

// NewServer makes a server for the listener's address.
func NewServer(d *Desk, l net.Listener) *Server {
	s := &Server{desk: d, token: rand.Text(), host: l.Addr().String()}
	s.http = http.Server{Handler: s.Handler(), ReadHeaderTimeout: patience, MaxHeaderBytes: 16 << 10}
	return s
}

// Address is what the browser opens.
func (s *Server) Address() string { return "http://" + s.host + "/?token=" + s.token }

// Serve serves until the desk quits.
func (s *Server) Serve(l net.Listener) error {
	closing := make(chan struct{})
	go func() {
		<-s.desk.quit.Done()
		s.http.Close()
		close(closing)
	}()
	err := s.http.Serve(l)
	if errors.Is(err, http.ErrServerClosed) {
		<-closing
		return nil
	}
	return err
}

// Handler answers the browser: who asks for another host, comes from another site or does
// not know the token is sent away before anything else happens.
func (s *Server) Handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", s.index)
	mux.HandleFunc("GET /page/{file}", s.file)
	mux.HandleFunc("GET /figures.css", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/css; charset=utf-8")
		io.WriteString(w, plot.CSS())
	})
	mux.HandleFunc("GET /events", s.events)
	mux.HandleFunc("GET /sheet", s.sheet)
	mux.HandleFunc("GET /customer.pdf", s.customer)
	mux.HandleFunc("POST /do/{action}", s.act)
	if b, ok := s.desk.opt.System.(*Browser); ok {
		b.routes(mux)
	}
	var h http.Handler = s.knowing(mux)
	h = http.NewCrossOriginProtection().Handler(h)
	return s.guarded(h)
}

// guarded refuses other hosts, so that no name that leads here by a trick of name servers
// gets an answer, and sets what every answer says.
func (s *Server) guarded(next http.Handler) http.Handler {
	_, port, _ := net.SplitHostPort(s.host)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Host != s.host && r.Host != "localhost:"+port {
			http.Error(w, "this is the bench page of "+s.host, http.StatusMisdirectedRequest)
			return
		}
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		most := int64(mostBody)
		if strings.HasPrefix(r.URL.Path, "/audio/") {
			most = mostSound
		}
		r.Body = http.MaxBytesReader(w, r.Body, most)
		next.ServeHTTP(w, r)
	})
}

// cookie is its name; other ports of this machine share cookies.
func (s *Server) cookie() string {
	_, port, _ := net.SplitHostPort(s.host)
	return "conewright-" + port
}

// knowing lets in who knows the token: once in the address, then by the cookie.
func (s *Server) knowing(next http.Handler) http.Handler {
	knows := func(token string) bool { return subtle.ConstantTimeCompare([]byte(token), []byte(s.token)) == 1 }
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method == http.MethodGet && r.URL.Path == "/" && knows(r.URL.Query().Get("token")) {
			http.SetCookie(w, &http.Cookie{Name: s.cookie(), Value: s.token, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode})
			http.Redirect(w, r, "/", http.StatusSeeOther)
			return
		}
		c, err := r.Cookie(s.cookie())
		if err != nil || !knows(c.Value) {
			http.Error(w, "open the address that conewright bench printed", http.StatusForbidden)
			return
		}
		next.ServeHTTP(w, r)
	})
}

func (s *Server) index(w http.ResponseWriter, r *http.Request) { s.send(w, r, "bench.html") }

func (s *Server) file(w http.ResponseWriter, r *http.Request) { s.send(w, r, r.PathValue("file")) }

func (s *Server) send(w http.ResponseWriter, r *http.Request, name string) {
	data, err := fs.ReadFile(files, path.Join("page", name))
	if err != nil {
		http.NotFound(w, r)
		return
	}
	http.ServeContent(w, r, name, time.Time{}, bytes.NewReader(data))
}

// sheet is the report as a file to print or save. It has styles in it and no script.
func (s *Server) sheet(w http.ResponseWriter, _ *http.Request) {
	s.desk.mu.Lock()
	a := s.desk.answer
	s.desk.mu.Unlock()
	if a == nil {
		http.Error(w, "there is no verdict yet", http.StatusNotFound)
		return
	}
	r := *a.report
	r.Made = time.Now()
	var b bytes.Buffer
	if err := report.WriteHTML(&b, &r); err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Security-Policy", page.Page{}.Policy()+"; frame-ancestors 'none'")
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Write(b.Bytes())
}

// customer is the customer's sheet of the job as it stands in the book now.
func (s *Server) customer(w http.ResponseWriter, _ *http.Request) {
	s.desk.mu.Lock()
	var kept *Kept
	if s.desk.answer != nil {
		kept = s.desk.answer.Kept
	}
	s.desk.mu.Unlock()
	if kept == nil {
		http.Error(w, "this job is not in the book yet: press Keep in the book on the screen Verdict", http.StatusNotFound)
		return
	}
	var b bytes.Buffer
	if err := s.desk.opt.Workshop.CustomerSheet(&b, *kept); err != nil {
		message, hint := wording.Error(err)
		http.Error(w, message+"; "+hint, http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "application/pdf")
	w.Header().Set("Content-Disposition", fmt.Sprintf(`attachment; filename="job-%d.pdf"`, kept.Job))
	w.Write(b.Bytes())
}

// act carries out what was pressed.
func (s *Server) act(w http.ResponseWriter, r *http.Request) {
	control := http.NewResponseController(w)
	control.SetReadDeadline(time.Now().Add(patience))
	body, err := io.ReadAll(r.Body)
	control.SetReadDeadline(time.Time{})
	if err != nil {
		http.Error(w, "the request is too long or did not arrive", http.StatusRequestEntityTooLarge)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	if err := s.desk.do(r.PathValue("action"), r.Header.Get("X-Page"), body); err != nil {
		w.WriteHeader(http.StatusConflict)
		json.NewEncoder(w).Encode(refused(err))
		return
	}
	io.WriteString(w, "{}\n")
}

// events tells a page what to show, as server-sent events, until it is gone. A page that is
// gone, or does not take what it is sent in time, loses the sound device.
func (s *Server) events(w http.ResponseWriter, r *http.Request) {
	d, id := s.desk, rand.Text()
	control := http.NewResponseController(w)
	w.Header().Set("Content-Type", "text/event-stream")
	send := func(event string, data any) error {
		text, err := json.Marshal(data)
		if err != nil {
			return err
		}
		control.SetWriteDeadline(time.Now().Add(time.Second))
		if _, err := fmt.Fprintf(w, "event: %s\ndata: %s\n\n", event, text); err != nil {
			return err
		}
		return control.Flush()
	}
	d.mu.Lock()
	d.pages[id] = true
	d.mu.Unlock()
	defer d.leave(id)
	if send("page", id) != nil {
		return
	}
	beat := time.NewTicker(patience)
	defer beat.Stop()
	views, lives := -1, 0
	for {
		d.mu.Lock()
		changed := d.changed
		var v *view
		var l *liveView
		if d.views != views {
			now := d.view(id)
			v, views = &now, d.views
		}
		if d.lives != lives {
			now := d.live
			l, lives = &now, d.lives
		}
		d.mu.Unlock()
		var err error
		if v != nil {
			err = send("view", v)
		}
		if l != nil && err == nil {
			err = send("live", l)
		}
		if err != nil {
			return
		}
		select {
		case <-changed:
		case <-beat.C:
			if send("beat", struct{}{}) != nil {
				return
			}
		case <-r.Context().Done():
			return
		case <-d.quit.Done():
			return
		}
	}
}

// leave takes the sound device from a page that is gone.
func (d *Desk) leave(page string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	delete(d.pages, page)
	if d.run != nil && d.run.page == page {
		d.end(errPageGone)
	}
}
