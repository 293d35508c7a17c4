package param

import (
	"fmt"

	"conewright/ts/notice"
)

// Mounting says what surrounds the driver; it changes the air that moves with
// the cone, so values are comparable only at equal mounting.
type Mounting uint8

// The mountings.
const (
	FreeAir Mounting = iota
	Baffle
)

// String returns the word used in files and on the command line.
func (m Mounting) String() string { return Word(m, "free-air", "baffle") }

// Check refuses a mounting that is none.
func (m Mounting) Check() error {
	if m > Baffle {
		return notice.New("bad-mounting", notice.Facts{"mounting": int(m)})
	}
	return nil
}

// Word returns the word for one of several values that are counted from 0; of another
// value type and number: "Mounting(9)".
func Word[T ~uint8](v T, words ...string) string {
	if int(v) < len(words) {
		return words[v]
	}
	return fmt.Sprintf("%T(%d)", v, uint8(v))
}
