package book

import (
	"context"
	"database/sql"
	"flag"
	"fmt"
	"math"
	"os"
	"runtime/debug"
	"strconv"
	"strings"
	"testing"
	"time"

	"conewright/ts/param"
)

// units is the size of the large book; docs/performance.md has the figures
// of 100,000.
var units = flag.Int("units", 500, "how many units the large book of the test has")

// testLarge lists a lot and counts its statistics, and says how long that took and how
// much memory the program has had.
func testLarge(t *testing.T, place func(*testing.T) string) {
	ctx := context.Background()
	b := open(t, place(t))
	n, err := b.NewJob(ctx, Job{Title: "lot", Opened: day})
	if err != nil {
		t.Fatal(err)
	}
	fit := `{"schema":"conewright/fit/1","joint":"` + strings.Repeat("0.123456789,", 1000) + `"}` // as large as one is
	err = b.write(ctx, func(tx *sql.Tx) error {
		for i := range *units {
			a := Addition{Ref: Ref{n, fmt.Sprintf("u%d", i), AsReceived}, Result: resultOf(31 + math.Sin(float64(i)))}
			a.Result.Fit = []byte(fit)
			for _, id := range Kept {
				a.Result.Values[id] = Value{float64(id) + 1 + 0.01*math.Sin(float64(i)), 0.01}
			}
			driver, err := b.driverID(ctx, tx, a.Ref, true)
			if err != nil {
				return err
			}
			stage, err := stageFor(ctx, tx, driver, a)
			if err != nil {
				return err
			}
			if err := insertSweep(ctx, tx, driver, stage, fmt.Sprintf("%064x", i), Sweep{Name: "sweep.csv", Added: day, Version: "test"}); err != nil {
				return err
			}
			if err := saveResult(ctx, tx, stage, a.Result); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	debug.FreeOSMemory()
	begin, busy := time.Now(), processorTime()
	listed, sum := 0, 0.0
	if err := b.EachUnit(ctx, Which{Job: n, Last: true}, func(u Unit) error { listed++; sum += u.Values[param.Re].Value; return nil }); err != nil {
		t.Fatal(err)
	}
	jobs, err := b.Jobs(ctx, "lot", 50)
	if err != nil || len(jobs) != 1 || jobs[0].Drivers != *units || listed != *units || math.Abs(sum/float64(listed)-1) > 0.01 {
		t.Fatalf("%d of %d units listed, mean of Re %v, %v, %v", listed, *units, sum/float64(listed), jobs, err)
	}
	t.Logf("%d units listed and counted in %v, %v of it processor time; at most %s MB of memory so far",
		listed, time.Since(begin).Round(time.Millisecond), processorTime()-busy, peakMemory())
}

// processorTime reads how long the program has been worked on, where the system tells: on a
// busy machine the clock says little.
func processorTime() time.Duration {
	stat, err := os.ReadFile("/proc/self/stat")
	if err != nil {
		return 0
	}
	fields := strings.Fields(string(stat[strings.LastIndexByte(string(stat), ')')+1:]))
	user, _ := strconv.Atoi(fields[11])
	system, _ := strconv.Atoi(fields[12])
	return time.Duration(user+system) * 10 * time.Millisecond
}

// peakMemory reads how much memory the program has had at most, where the system tells.
func peakMemory() string {
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return "?"
	}
	for line := range strings.Lines(string(status)) {
		if rest, ok := strings.CutPrefix(line, "VmHWM:"); ok {
			kb, _ := strconv.Atoi(strings.Fields(rest)[0])
			return strconv.Itoa(kb / 1024)
		}
	}
	return "?"
}
