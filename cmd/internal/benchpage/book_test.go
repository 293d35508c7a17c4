package benchpage

import (
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"conewright/cmd/internal/benchjob"
	"conewright/ts/notice"
)

// The job goes into the book only from a verdict and by a press; what is wrong is said of the button
// and leaves the verdict where it is. The customer's sheet is there after that, and goes with the job.
func TestKeepInTheBook(t *testing.T) {
	r := start(t, 0)
	p := r.open()
	r.ready(p)
	if c := r.do(p, "sweep", nil); c != "" {
		t.Fatal(c)
	}
	r.until(p, "a sweep", func(v view) bool { return len(v.Sweeps) == 1 && v.Run == "" })
	if c := r.do(p, "book", nil); c != "job-order" || len(r.shop.booked) != 0 {
		t.Errorf("before the verdict: %q, %v", c, r.shop.booked)
	}
	r.shop.answers = true
	if c := r.do(p, "judge", nil); c != "" {
		t.Fatal(c)
	}
	if v := r.until(p, "the verdict", func(v view) bool { return v.Answer != nil }); v.Answer.Kept != nil || v.Book != "The book is here." {
		t.Errorf("kept before it was pressed: %+v, %q", v.Answer.Kept, v.Book)
	}
	if got := r.get("/customer.pdf"); got != 404 {
		t.Errorf("a sheet of a job that is not in the book: %d", got)
	}

	r.shop.bookWrong = notice.New("book-newer", notice.Facts{"path": "book.sqlite", "have": 9, "known": 2})
	if got := r.refused(p, "book", nil); got.Field != "book" || got.Code != "book-newer" {
		t.Errorf("a newer book: %+v", got)
	}
	r.shop.bookWrong = nil
	dir := filepath.Join(r.folder, "left-woofer")
	if err := os.Remove(filepath.Join(dir, jobFile)); err != nil {
		t.Fatal(err)
	}
	if got := r.refused(p, "book", nil); got.Message != "" {
		t.Fatalf("%+v", got)
	}
	if len(r.shop.booked) != 1 || r.shop.booked[0] != dir {
		t.Errorf("booked are %q", r.shop.booked)
	}
	var kept keptJob
	if data, err := os.ReadFile(filepath.Join(dir, jobFile)); err != nil || json.Unmarshal(data, &kept) != nil || kept.Job.Screen != benchjob.Verdict {
		t.Errorf("the folder was not up to date before it was read: %v", err)
	}
	if v := r.until(p, "the book", func(v view) bool { return v.Answer != nil && v.Answer.Kept != nil }); v.Screen != benchjob.Verdict || v.Answer.Kept.Job != 7 || v.Answer.Kept.Says != "this is job:7" {
		t.Errorf("kept as %+v", v.Answer.Kept)
	}
	resp, err := r.client.Get(r.base + "/customer.pdf")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	text, _ := io.ReadAll(resp.Body)
	if h := resp.Header; string(text) != "%PDF of job:7" || h.Get("Content-Type") != "application/pdf" || !strings.Contains(h.Get("Content-Disposition"), "job-7.pdf") {
		t.Errorf("the sheet is %q, %v", text, h)
	}
	r.shop.bookWrong = notice.New("book-busy", notice.Facts{"path": "book.sqlite"})
	if got := r.refused(p, "book", nil); got.Field != "book" || r.get("/customer.pdf") != 404 {
		t.Errorf("pressed again with a book that is not to be had: %+v, and the sheet is still offered", got)
	}
	r.shop.bookWrong = nil
	if c := r.do(p, "book", nil) + r.do(p, "next", nil); c != "" {
		t.Fatal(c)
	}
	if got := r.get("/customer.pdf"); got != 404 {
		t.Errorf("the sheet of the last job is given for the next driver: %d", got)
	}
}
