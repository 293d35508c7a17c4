package dsp

import (
	"fmt"
	"math/cmplx"
	"os"
	"strings"
	"testing"

	"github.com/mjibson/go-dsp/fft"
	"gonum.org/v1/gonum/dsp/fourier"
)

// transformFile is what numpy made of 60 numbers.
const transformFile = "../../../testdata/recording/transform.txt"

// Both transforms that the estimators use, against numpy's.
func TestTransform(t *testing.T) {
	text, err := os.ReadFile(transformFile)
	if err != nil {
		t.Fatal(err)
	}
	rows := strings.Split(strings.TrimSpace(string(text)), "\n")
	x := make([]float64, len(rows))
	want := make([]complex128, len(rows))
	for i, row := range rows {
		var k int
		var re, im float64
		if _, err := fmt.Sscan(row, &k, &x[i], &re, &im); err != nil || k != i {
			t.Fatal(row, err)
		}
		want[i] = complex(re, im)
	}
	if len(x) != 60 {
		t.Fatalf("%d rows", len(x))
	}
	hot := fourier.NewFFT(len(x)).Coefficients(nil, x)
	other := fft.FFTReal(x)
	for k := range len(x)/2 + 1 {
		if cmplx.Abs(hot[k]-want[k]) > 1e-14*float64(len(x)) {
			t.Errorf("line %d: %v, numpy has %v", k, hot[k], want[k])
		}
		if cmplx.Abs(other[k]-want[k]) > 1e-13*float64(len(x)) {
			t.Errorf("line %d by the other transform: %v, numpy has %v", k, other[k], want[k])
		}
	}
}

func TestSmoothLengths(t *testing.T) {
	smooth := func(n int) bool {
		for _, p := range []int{2, 3, 5} {
			for n%p == 0 {
				n /= p
			}
		}
		return n == 1
	}
	for n := 2; n < 5000; n++ {
		up, down := Smooth5(n), Smooth5Below(n)
		wantUp, wantDown := n, n
		for !smooth(wantUp) || wantUp%2 == 1 {
			wantUp++
		}
		for !smooth(wantDown) || wantDown%2 == 1 {
			wantDown--
		}
		if up != wantUp || down != wantDown {
			t.Fatalf("%d: up %d want %d, down %d want %d", n, up, wantUp, down, wantDown)
		}
	}
}
