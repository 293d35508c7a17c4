package notice_test

import (
	"errors"
	"io/fs"
	"testing"

	"conewright/ts/notice"
)

// The cause of a notice is found through it, as a value and as an error.
func TestUnwrap(t *testing.T) {
	n := notice.New("file-open", nil).In("a.wav").Because(fs.ErrNotExist)
	if !errors.Is(n, fs.ErrNotExist) || !errors.Is(*n, fs.ErrNotExist) {
		t.Errorf("%v has lost its cause", n)
	}
	if cause := notice.New("x", nil).Unwrap(); cause != nil {
		t.Errorf("no cause, and %v", cause)
	}
	if got, want := notice.New("x", notice.Facts{"b": 1, "a": 2.5}).At("f", 3).Because(errors.New("why")).Error(), "f:3: x a=2.5 b=1: why"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}
