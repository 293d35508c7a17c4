//go:build unix

package savefile

import (
	"io"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"
)

// A request to end the program while a file is written leaves the old one and nothing
// else.
func TestWriteInterrupted(t *testing.T) {
	for _, ask := range []syscall.Signal{syscall.SIGINT, syscall.SIGTERM} {
		path := filepath.Join(t.TempDir(), "x.txt")
		if err := Write(path, false, text("precious")); err != nil {
			t.Fatal(err)
		}
		err := Write(path, true, func(w io.WriteSeeker) error {
			if err := syscall.Kill(os.Getpid(), ask); err != nil {
				return err
			}
			for range 1000 {
				if err := text("half")(w); err != nil {
					return err
				}
				time.Sleep(10 * time.Millisecond)
			}
			t.Error("the writing went on")
			return nil
		})
		if got := code(t, err); got != "save-interrupted" {
			t.Errorf("%v: got %s", ask, got)
		}
		holds(t, path, "precious")
	}
}

// A device is no place for a result: a rename would replace it.
func TestCheckDevice(t *testing.T) {
	if got := code(t, Check(os.DevNull, true)); got != "save-device" {
		t.Errorf("got %s", got)
	}
}
