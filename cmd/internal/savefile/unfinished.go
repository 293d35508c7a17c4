package savefile

import (
	"os"
	"sync"
)

// unfinished are the files and folders that are to go when the program ends before it is
// done with them.
var unfinished = struct {
	mu    sync.Mutex
	paths map[string]bool
}{paths: map[string]bool{}}

// Unfinished notes a file or folder that is of no use once the program has ended.
func Unfinished(path string) {
	unfinished.mu.Lock()
	defer unfinished.mu.Unlock()
	unfinished.paths[path] = true
}

// Finished takes back what [Unfinished] noted.
func Finished(path string) {
	unfinished.mu.Lock()
	defer unfinished.mu.Unlock()
	delete(unfinished.paths, path)
}

// RemoveUnfinished removes all that was noted. The program is to end at once after it.
func RemoveUnfinished() {
	unfinished.mu.Lock()
	defer unfinished.mu.Unlock()
	for path := range unfinished.paths {
		os.RemoveAll(path)
	}
}
