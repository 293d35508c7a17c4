package book

import (
	"bufio"
	"context"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"strconv"
	"testing"
	"time"

	"conewright/ts/measured"
	"conewright/ts/param"
)

// kills is how often the program is killed while it writes; docs/reliability.md has the
// figures of a long run.
var kills = flag.Int("kills", 4, "how often to kill a program that writes a book")

// writerVariable makes this test binary the program that is killed: it names the book.
const writerVariable = "CONEWRIGHT_TEST_WRITER"

func TestMain(m *testing.M) {
	flag.Parse()
	if folder := os.Getenv(writerVariable); folder != "" {
		writeUntilKilled(folder)
		return
	}
	os.Exit(m.Run())
}

// writeUntilKilled writes job after job and says the number of each once it is whole.
func writeUntilKilled(folder string) {
	b, err := Open(context.Background(), folder)
	if err != nil {
		fmt.Println("failed", err)
		return
	}
	for {
		n, err := writeWhole(b)
		if err != nil {
			fmt.Println("failed", err)
			return
		}
		fmt.Println(n)
	}
}

// writeWhole writes one job as the command does: job first, then its stages.
func writeWhole(b *Book) (int, error) {
	ctx := context.Background()
	n, err := b.NewJob(ctx, Job{Title: "killed", Opened: day})
	if err != nil {
		return 0, err
	}
	for _, side := range []string{"left", "right"} {
		path := fmt.Sprintf("%s/conewright-%d-%d-%s.csv", os.TempDir(), os.Getpid(), n, side)
		content := fmt.Sprintf("sweep of %d, %s", n, side)
		if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
			return 0, err
		}
		hash := hashOf(content)
		sweep := NewSweep{File{path, hash}, Sweep{SHA256: hash, Name: "sweep.csv", Load: measured.Load{}, Added: day, Version: "test"}}
		result := &Result{Made: day, Version: "test", Values: map[param.ID]Value{param.Fs: {float64(n), 1}}, Fit: []byte(`{}`)}
		if err := b.Add(ctx, Addition{Ref: Ref{n, side, AsReceived}, Sweeps: []NewSweep{sweep}, Result: result}); err != nil {
			return 0, err
		}
		if err := os.Remove(path); err != nil {
			return 0, err
		}
	}
	return n, nil
}

// testKilledWhileWriting kills a program at random moments: what it has said to be written
// is there, nothing is half there, and the file is sound.
func testKilledWhileWriting(t *testing.T, place func(*testing.T) string) {
	if testing.Short() {
		t.Skip("starts programs and waits for them")
	}
	ctx := context.Background()
	folder := place(t)
	all, lost, half := 0, 0, 0
	for k := range *kills {
		cmd := exec.Command(os.Args[0], "-test.run=^$")
		cmd.Env = append(os.Environ(), writerVariable+"="+folder, "TMPDIR="+t.TempDir())
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		// Every other one is killed from its start on, the others once they write.
		begun := make(chan bool, 1)
		begun <- k%2 == 0
		go func() {
			for !<-begun {
			}
			time.Sleep(time.Duration(rand.IntN(400)) * time.Millisecond)
			cmd.Process.Kill()
		}()
		acknowledged := []int{}
		for lines := bufio.NewScanner(out); lines.Scan(); {
			if len(acknowledged) == 0 && k%2 == 1 {
				begun <- true
			}
			n, err := strconv.Atoi(lines.Text())
			if err != nil {
				t.Fatalf("after %d kills: %s", k, lines.Text())
			}
			acknowledged = append(acknowledged, n)
		}
		cmd.Wait()
		b, err := Open(ctx, folder)
		if err != nil {
			t.Fatalf("after %d kills: %v", k+1, err)
		}
		if !IsServer(folder) { // which is not what was killed
			if err := b.Check(ctx); err != nil {
				t.Fatalf("after %d kills: %v", k+1, err)
			}
		}
		for _, n := range acknowledged {
			all++
			j, err := b.Job(ctx, n)
			if err != nil || len(j.Drivers) != 2 {
				lost++
			}
		}
		list, err := b.Jobs(ctx, "", 1e6)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range list[:min(len(list), len(acknowledged)+3)] {
			if !whole(b, s.Number) {
				half++
			}
		}
		if err := b.Close(); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("%d kills, %d acknowledged jobs, %d lost, %d with a part missing", *kills, all, lost, half)
	if lost > 0 || half > 0 || all == 0 {
		t.Errorf("%d of %d acknowledged jobs lost, %d half", lost, all, half)
	}
}

// whole says whether every driver of a job has its stage, its sweep with the raw file, and
// its result: one addition is one change.
func whole(b *Book, number int) bool {
	j, err := b.Job(context.Background(), number)
	if err != nil {
		return false
	}
	for _, d := range j.Drivers {
		if len(d.Stages) != 1 || len(d.Stages[0].Sweeps) != 1 || d.Stages[0].Result == nil {
			return false
		}
		content, err := os.ReadFile(b.RawPath(d.Stages[0].Sweeps[0].SHA256))
		if err != nil || string(content) != fmt.Sprintf("sweep of %d, %s", number, d.Side) {
			return false
		}
	}
	return true
}
