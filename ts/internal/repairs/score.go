package repairs

import (
	"math/rand/v2"
	"slices"
	"sort"
	"strings"
	"sync"

	"conewright/ts/change"
)

// Outcome is how one judgement compares with the truth.
type Outcome uint8

// The outcomes.
const (
	Right  Outcome = iota // one explanation, the true one
	Tie                   // several explanations, the true one among them
	Part                  // named some of the true causes, and none that is not at work
	Missed                // said that nothing changed, or that nothing known explains it
	Wrong                 // named something else, and not the truth
)

// String returns the word used in the tables.
func (o Outcome) String() string { return [...]string{"right", "tie", "part", "missed", "wrong"}[o] }

// Judge compares what was found with what the row did.
func Judge(row Row, c *change.Compared) Outcome {
	want := name(row.Causes)
	if c.Unexplained {
		return Missed
	}
	for _, e := range c.Explanations {
		if found(e) == want {
			if len(c.Explanations) == 1 {
				return Right
			}
			return Tie
		}
	}
	if found(c.Explanations[0]) == string(change.NoChange) {
		return Missed
	}
	for _, e := range c.Explanations {
		if !slices.ContainsFunc(e.Causes, func(cause change.Cause) bool { return !slices.Contains(row.Causes, cause.ID) }) {
			return Part
		}
	}
	return Wrong
}

// found names the causes of an explanation in a fixed order.
func found(e change.Explanation) string {
	var ids []change.CauseID
	for _, c := range e.Causes {
		ids = append(ids, c.ID)
	}
	return name(ids)
}

func name(ids []change.CauseID) string {
	words := make([]string, len(ids))
	for i, id := range ids {
		words[i] = string(id)
	}
	sort.Strings(words)
	return strings.Join(words, " + ")
}

// Count is the outcome of many simulations of one row at one size.
type Count struct {
	Row      Row
	Size     int
	Each     []Outcome // of each run
	Outcomes [5]int    // how often each
	Runs     int
	Doubts   int            // how often the test on Re and the coil found a change
	Found    map[string]int // what was named, all explanations of a run joined by "or"
	First    map[string]int // what was named first
}

// Named returns what was found, the most frequent first.
func (c Count) Named() []string {
	var keys []string
	for k := range c.Found {
		keys = append(keys, k)
	}
	sort.Slice(keys, func(i, j int) bool {
		if c.Found[keys[i]] != c.Found[keys[j]] {
			return c.Found[keys[i]] > c.Found[keys[j]]
		}
		return keys[i] < keys[j]
	})
	return keys
}

// Run simulates every row at every size and counts. Each simulation has a seed
// of its own, so the result does not depend on the number of workers.
func Run(runs int, bench Bench, seed uint64, workers int) ([]Count, error) {
	var counts []Count
	for _, row := range Rows {
		for size := range row.Sizes {
			if size == 0 || row.Sizes[size] != "" {
				counts = append(counts, Count{Row: row, Size: size, Runs: runs, Each: make([]Outcome, runs), Found: map[string]int{}, First: map[string]int{}})
			}
		}
	}
	type job struct{ count, run int }
	jobs := make(chan job)
	var (
		lock  sync.Mutex
		first error
		wait  sync.WaitGroup
	)
	for range workers {
		wait.Go(func() {
			for j := range jobs {
				c := &counts[j.count]
				rng := newRand(seed, uint64(j.count)<<32|uint64(j.run))
				outcome, named, leading, rejected, err := one(c.Row, c.Size, bench, rng)
				lock.Lock()
				if err != nil && first == nil {
					first = err
				}
				c.Each[j.run] = outcome
				c.Outcomes[outcome]++
				if rejected {
					c.Doubts++
				}
				c.Found[named]++
				c.First[leading]++
				lock.Unlock()
			}
		})
	}
	for i := range counts {
		for run := range runs {
			jobs <- job{i, run}
		}
	}
	close(jobs)
	wait.Wait()
	return counts, first
}

func newRand(seed, stream uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, stream)) }

// FalseAlarms counts, over the rows that leave the coil alone, the repairs after
// which the test on Re and the coil found a change all the same.
func FalseAlarms(counts []Count) (alarms, runs int) {
	for _, c := range counts {
		if !slices.ContainsFunc(c.Row.Causes, touchesCoil) {
			alarms, runs = alarms+c.Doubts, runs+c.Runs
		}
	}
	return alarms, runs
}

// touchesCoil says whether a cause shows in Re or in the inductance.
func touchesCoil(id change.CauseID) bool {
	switch id {
	case change.MotorWeaker, change.MotorStronger, change.CoilDifferent, change.ShortedTurns, change.CoilOffset, change.SeriesResistance:
		return true
	}
	return false
}

// one simulates, compares and scores; named is all that was found, first what
// was found most probable.
func one(row Row, size int, bench Bench, rng *rand.Rand) (o Outcome, named, first string, rejected bool, err error) {
	before, after, err := Simulate(row, size, bench, rng)
	if err != nil {
		return Missed, "", "", false, err
	}
	c, err := change.Compare(before, after, change.Options{})
	if err != nil { // a refusal is a correct answer, but not one that helps
		return Missed, "refused", "refused", false, nil
	}
	var all []string
	for _, e := range c.Explanations {
		all = append(all, found(e))
	}
	first = all[0]
	slices.Sort(all)
	named = strings.Join(all, " or ")
	if c.Unexplained {
		first, named = "unexplained", "unexplained, nearest "+named
	}
	return Judge(row, c), named, first, c.Null.Rejected(), nil
}
