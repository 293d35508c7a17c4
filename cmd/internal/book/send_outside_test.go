//go:build outside && unix

package book

import (
	"context"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"conewright/cmd/internal/pgtest"
	"conewright/cmd/internal/s3test"
	"conewright/ts/measured"
)

// networkCuts is how often the network is cut; docs/reliability.md has the figures of a run.
var networkCuts = flag.Int("network-cuts", 20, "how often to cut the network while a book is sent")

// network is a way to a server that can be cut.
type network struct {
	listener net.Listener
	to       string
	mutex    sync.Mutex
	open     map[net.Conn]bool
	away     bool
}

// newNetwork begins one to an address.
func newNetwork(t *testing.T, to string) *network {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	n := &network{listener: l, to: to, open: map[net.Conn]bool{}}
	t.Cleanup(func() { l.Close(); n.cut() })
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			go n.carry(c)
		}
	}()
	return n
}

func (n *network) address() string { return n.listener.Addr().String() }

// carry carries one connection until it ends or is cut.
func (n *network) carry(from net.Conn) {
	defer from.Close()
	to, err := net.Dial("tcp", n.to)
	if err != nil {
		return
	}
	defer to.Close()
	n.mutex.Lock()
	n.open[from], n.open[to] = true, true
	away := n.away
	n.mutex.Unlock()
	if !away {
		ended := make(chan bool, 2)
		for _, way := range [][2]net.Conn{{from, to}, {to, from}} {
			go func() { io.Copy(way[0], way[1]); ended <- true }()
		}
		<-ended
	}
	n.mutex.Lock()
	delete(n.open, from)
	delete(n.open, to)
	n.mutex.Unlock()
}

// cut ends all connections at once, with what is on its way, and lets no new ones through until it is mended. It returns how
// many there were.
func (n *network) cut() int {
	n.mutex.Lock()
	defer n.mutex.Unlock()
	n.away = true
	for c := range n.open {
		c.(*net.TCPConn).SetLinger(0)
		c.Close()
	}
	return len(n.open) / 2
}

func (n *network) mend() {
	n.mutex.Lock()
	defer n.mutex.Unlock()
	n.away = false
}

// A bench goes on working while its book is sent, and the network is cut at random moments: in the end everything is there
// once, in its order, as it would be if nobody had disturbed it.
func TestOutsideSendOverBadNetwork(t *testing.T) {
	ctx := context.Background()
	server := pgtest.Start(t, "fsync = off", "listen_addresses = '127.0.0.1'")
	store := s3test.Start(t)
	direct := server.Database(t)
	host, rest, _ := strings.Cut(strings.TrimPrefix(store.Place, "s3://"), "/")
	database, files := newNetwork(t, fmt.Sprintf("127.0.0.1:%d", server.Port())), newNetwork(t, host)
	t.Setenv(RawVariable, store.Place)
	reader := open(t, direct)
	name, _, _ := strings.Cut(strings.TrimPrefix(direct, "postgres://"+pgtest.Owner+"@/"), "?")
	far := fmt.Sprintf("postgres://%s@%s/%s?sslmode=disable", pgtest.Owner, database.address(), name)
	t.Setenv(RawVariable, "s3://"+files.address()+"/"+rest)

	from := open(t, t.TempDir())
	work := func(i int) { // every fourth job gets a second driver, and the one before it a stage more
		n, err := from.NewJob(ctx, Job{Title: fmt.Sprint("job ", i), Opened: day})
		if err != nil {
			t.Error(err)
			return
		}
		refs := []Ref{{n, "left", AsReceived}}
		if i%4 == 3 {
			refs = append(refs, Ref{n, "right", AsReceived}, Ref{n - 1, "left", RunIn})
		}
		for _, r := range refs {
			a := Addition{Ref: r, Sweeps: []NewSweep{sweepOf(t, r.String(), measured.Load{}), sweepOf(t, r.String()+" with a mass", measured.Load{Kind: measured.AddedMass, Value: 0.02})}, Result: resultOf(30 + float64(i))}
			if err := from.Add(ctx, a); err != nil {
				t.Error(err)
			}
		}
	}
	ended := make(chan bool)
	var benches sync.WaitGroup
	benches.Go(func() {
		for i := 0; ; i++ {
			select {
			case <-ended:
				return
			default:
				work(i)
			}
		}
	})
	go func() {
		for cuts := 0; cuts < *networkCuts; {
			time.Sleep(time.Duration(20+rand.IntN(200)) * time.Millisecond)
			way := []*network{database, files}[rand.IntN(2)]
			if way.cut() > 0 {
				cuts++
			}
			time.Sleep(time.Duration(rand.IntN(100)) * time.Millisecond)
			way.mend()
		}
		close(ended)
	}()

	interrupted, twice := 0, 0
	try := func() error {
		to, err := OpenExisting(ctx, far)
		if err != nil {
			return err
		}
		defer to.Close()
		return from.Send(ctx, to, false, func(s Sent) {
			switch {
			case s.Err != nil:
				t.Errorf("%s: %v", s.Ref, s.Err)
			case !s.New:
				twice++
			}
		})
	}
	for {
		finished := false
		select {
		case <-ended:
			benches.Wait()
			finished = true
		default:
		}
		err := try()
		if err != nil {
			interrupted++
			if !hasCode(err, "book-unreachable", "raw-unreachable") {
				t.Errorf("cut off: %v", err)
			}
		}
		if finished && err == nil {
			break
		}
	}
	if jobs, stages := left(t, from); jobs+stages > 0 {
		t.Errorf("%d jobs and %d stages are left to send", jobs, stages)
	}
	sameJobs(t, reader, from)
	sent := stagesInOrder(t, reader)
	t.Logf("%d stages, the network was cut %d times, sending was interrupted %d times, %d steps came once more", len(sent), *networkCuts, interrupted, twice)

	calm := open(t, t.TempDir())
	if _, refused := send(t, from, calm, false); len(refused) > 0 {
		t.Errorf("%v", refused)
	}
	sameJobs(t, reader, calm)
	for _, other := range []*Book{from, calm} {
		if want := stagesInOrder(t, other); !slices.Equal(sent, want) {
			t.Errorf("%v\n%v", sent, want)
		}
	}
}
