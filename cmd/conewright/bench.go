package main

import (
	"context"
	"fmt"
	"net"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"runtime"
	"syscall"

	"conewright/cmd/internal/benchpage"
	"conewright/cmd/internal/sound"
	"conewright/ts/notice"
)

var benchCommand = command{
	name:     "bench",
	synopsis: "[--virtual] [options]",
	summary:  "the page at the bench: connect, sweep, repair, sweep again, verdict",
	about: `Opens a page in the browser of this machine that leads through the whole job: connect the bench,
name the driver, sweep it while the curve grows, put a mass on the cone, repair, sweep again, and
read the verdict. Every finished sweep is kept as a file. Only this machine can open the page.
At the verdict a button keeps the job in the book (conewright job), as "job import" does.
With --virtual it needs no hardware: an invented woofer is measured before and after its repair,
and kept in a book of its own in the folder, unless --book names one.
Ctrl-C, and closing the page, stop the sound at once.`,
	examples: `
conewright bench
conewright bench --virtual
conewright bench --folder jobs --port 8437`,
	setup: func(g *optionGroups) action {
		var p pageOptions
		p.define(g)
		return func(c *console, args []string) (answer, error) {
			if len(args) > 0 {
				return done, wrongUse("conewright bench --folder DIR keeps its jobs in a folder", "bench reads no file, and %s was given", args[0])
			}
			return done, p.run(c)
		}
	},
}

// pageOptions are those of the page.
type pageOptions struct {
	folder  string
	port    int
	closed  bool
	browser bool
	book    bookOption
	virtual virtualOptions
}

func (p *pageOptions) define(g *optionGroups) {
	fs := g.group("Page")
	fs.StringVar(&p.folder, "folder", "", "`DIR` where jobs are kept, and spec sheets are looked for; bench-jobs if left out, with --virtual a temporary one")
	fs.IntVar(&p.port, "port", 0, "`NUMBER` of the port on this machine; a free one if left out")
	fs.BoolVar(&p.closed, "no-open", false, "print the address and open no browser")
	fs.BoolVar(&p.browser, "browser-sound", false, "play and record in the browser, also where there is a sound server")
	p.book.define(g.group("Book"))
	p.virtual.define(g)
}

func (p *pageOptions) run(c *console) error {
	if err := p.virtual.finish(); err != nil {
		return err
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	return p.serve(ctx, c)
}

// serve serves the page until ctx ends.
func (p *pageOptions) serve(ctx context.Context, c *console) error {
	workshop, system, err := p.open(ctx)
	if err != nil {
		return err
	}
	listener, err := net.Listen("tcp", fmt.Sprintf("127.0.0.1:%d", p.port))
	if err != nil {
		return notice.New("page-port", notice.Facts{"port": p.port}).Because(err)
	}
	desk := benchpage.New(ctx, benchpage.Options{System: system, Workshop: workshop, Folder: workshop.folder, Job: workshop.begin(), Sweep: pageSweep, Book: workshop.bookWords()})
	server := benchpage.NewServer(desk, listener)
	fmt.Fprintf(c.out, "The bench page is at\n\n    %s\n\nWhere no browser opens by itself, open that address in one on this machine. Sweeps are\nkept in %s. Ctrl-C ends the page.\n", server.Address(), workshop.folder)
	if !p.closed {
		openBrowser(server.Address())
	}
	return server.Serve(listener)
}

// open makes the folder and finds what plays and records.
func (p *pageOptions) open(ctx context.Context) (*workshop, sound.System, error) {
	w := &workshop{folder: p.folder, book: p.book}
	if p.virtual.on && w.folder == "" {
		dir, err := os.MkdirTemp("", "conewright-bench-")
		if err != nil {
			return nil, nil, err
		}
		w.folder = dir
	}
	if w.folder == "" {
		w.folder = "bench-jobs"
	}
	folder, err := filepath.Abs(w.folder)
	if err != nil {
		return nil, nil, err
	}
	w.folder = folder
	if err := os.MkdirAll(folder, 0o777); err != nil {
		return nil, nil, err
	}
	if !p.virtual.on {
		if !p.browser {
			if system, err := sound.NewPulse(ctx); err == nil {
				return w, system, nil
			}
		}
		return w, benchpage.NewBrowser(), nil
	}
	v := newVirtualBench(p.virtual.speed.value.SI)
	w.virtual = &v
	return w, v, w.furnish()
}

// openBrowser asks the system to open an address; the address was printed, so nothing is
// lost when it cannot.
func openBrowser(address string) {
	name, args := "xdg-open", []string{address}
	switch runtime.GOOS {
	case "darwin":
		name = "open"
	case "windows":
		name, args = "rundll32", []string{"url.dll,FileProtocolHandler", address}
	}
	if cmd := exec.Command(name, args...); cmd.Start() == nil {
		go cmd.Wait()
	}
}
