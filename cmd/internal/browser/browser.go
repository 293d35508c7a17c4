//go:build outside

package browser

import (
	"context"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// Browser is a running browser.
type Browser struct{ ctx context.Context }

// Start starts a browser for one test. One that cannot be started fails the
// test: under the outside tag it has to be there. Flags are switches of its command line
// beyond the usual ones, such as those of devices that exist only for the test.
func Start(t *testing.T, flags ...chromedp.ExecAllocatorOption) *Browser {
	t.Helper()
	profile, err := os.MkdirTemp("", "browser")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithTimeout(context.Background(), 5*time.Minute)
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.NoSandbox, chromedp.DisableGPU, chromedp.UserDataDir(profile),
		chromedp.Flag("disable-component-update", true),
		chromedp.ProxyServer("127.0.0.1:9")) // nobody listens: whatever asks for the network gets an error
	ctx, end := chromedp.NewExecAllocator(ctx, append(options, flags...)...)
	ctx, closeTab := chromedp.NewContext(ctx)
	t.Cleanup(func() {
		closeTab()
		end()
		stop()
		os.RemoveAll(profile)
	})
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("starting the browser: %v", err)
	}
	return &Browser{ctx}
}

// View is how a page is looked at.
type View struct {
	Width  int  // CSS pixels
	Dark   bool // the reader prefers dark colours
	Mobile bool // a phone: touch, and the viewport that the page asks for
}

// Page is an open page and what it did.
type Page struct {
	t   *testing.T
	ctx context.Context

	mu       sync.Mutex
	requests []string
	messages []string
}

// Open opens the file at path in a tab of its own.
func (b *Browser) Open(t *testing.T, path string, v View) *Page {
	t.Helper()
	absolute, err := filepath.Abs(path)
	if err != nil {
		t.Fatal(err)
	}
	address := url.URL{Scheme: "file", Path: absolute}
	return b.Visit(t, address.String(), v)
}

// Visit opens an address in a tab of its own; only servers of this machine are reached.
func (b *Browser) Visit(t *testing.T, address string, v View) *Page {
	t.Helper()
	ctx, closeTab := chromedp.NewContext(b.ctx)
	t.Cleanup(closeTab)
	p := &Page{t: t, ctx: ctx}
	if err := chromedp.Listen(ctx, p.note); err != nil {
		t.Fatalf("opening a tab: %v", err)
	}
	scheme := "light"
	if v.Dark {
		scheme = "dark"
	}
	p.must(chromedp.Call(ctx, network.Enable, network.EnableParams{}))
	p.must(chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}}))
	size := []chromedp.EmulateViewportOption{}
	if v.Mobile {
		size = append(size, chromedp.EmulateMobile, chromedp.EmulateTouch, chromedp.EmulatePortrait)
	}
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(int64(v.Width), 900, size...), chromedp.Navigate(address)); err != nil {
		t.Fatalf("opening %s: %v", address, err)
	}
	return p
}

func (p *Page) must(_ any, err error) {
	p.t.Helper()
	if err != nil {
		p.t.Fatal(err)
	}
}

// note keeps what the page asked for and what it complained of.
func (p *Page) note(event any) {
	p.mu.Lock()
	defer p.mu.Unlock()
	switch e := event.(type) {
	case *network.EventRequestWillBeSent:
		if !strings.HasPrefix(e.Request.URL, "data:") {
			p.requests = append(p.requests, e.Request.URL)
		}
	case *runtime.EventExceptionThrown:
		p.messages = append(p.messages, "exception: "+e.ExceptionDetails.Text)
	case *runtime.EventConsoleAPICalled:
		if e.Type == "error" || e.Type == "warning" {
			p.messages = append(p.messages, "console "+string(e.Type))
		}
	case *log.EventEntryAdded:
		if e.Entry.Level == "error" || e.Entry.Level == "warning" {
			p.messages = append(p.messages, string(e.Entry.Level)+": "+e.Entry.Text)
		}
	}
}

// Requests returns the addresses that were asked for, the page itself first.
func (p *Page) Requests() []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return append([]string(nil), p.requests...)
}

// Complaints returns errors and warnings from the console.
func (p *Page) Complaints() []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return append([]string(nil), p.messages...)
}

// Context is for driving the page further with chromedp.
func (p *Page) Context() context.Context { return p.ctx }

// Eval returns the value of a JavaScript expression on the page.
func Eval[T any](p *Page, expression string) T {
	p.t.Helper()
	v, err := chromedp.Run(p.ctx, chromedp.Evaluate[T](expression))
	if err != nil {
		p.t.Fatalf("evaluating %s: %v", expression, err)
	}
	return v
}

// PDF returns the page as printed on paper.
func (p *Page) PDF(paper chromedp.PaperSize) []byte {
	p.t.Helper()
	pdf, err := chromedp.Run(p.ctx, chromedp.PrintToPDF(chromedp.PDFPaper(paper)))
	if err != nil {
		p.t.Fatal(err)
	}
	return pdf
}

// Picture returns the whole page as PNG.
func (p *Page) Picture() []byte {
	p.t.Helper()
	png, err := chromedp.Run(p.ctx, chromedp.FullScreenshot(100))
	if err != nil {
		p.t.Fatal(err)
	}
	return png
}
