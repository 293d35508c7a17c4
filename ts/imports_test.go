package ts

import (
	"os/exec"
	"strings"
	"testing"
)

// goList runs go list with the given arguments at the top of the module and
// returns its lines.
func goList(t *testing.T, args ...string) []string {
	t.Helper()
	cmd := exec.Command("go", append([]string{"list"}, args...)...)
	cmd.Dir = ".."
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list %v: %v", args, err)
	}
	return strings.Fields(string(out))
}

// The rooms hang together in one direction: cmd knows sweeps and ts, sweeps
// knows ts, ts knows nobody. What ts needs from outside is given to it: it opens
// no file, reads no flag, no clock and no network.
func TestImportDirection(t *testing.T) {
	const module = "conewright"
	may := []struct {
		packages string
		rooms    []string // of this module
	}{
		{"./ts/...", []string{"ts"}},
		{"./sweeps/...", []string{"sweeps", "ts"}},
	}
	for _, m := range may {
		found := 0
		for _, dep := range goList(t, "-deps", m.packages) {
			path, ours := strings.CutPrefix(dep, module+"/")
			if !ours {
				continue
			}
			found++
			room, _, _ := strings.Cut(path, "/")
			allowed := false
			for _, r := range m.rooms {
				allowed = allowed || r == room
			}
			if !allowed {
				t.Errorf("%s depends on %s", m.packages, dep)
			}
		}
		if found == 0 {
			t.Errorf("go list found no package for %s", m.packages)
		}
	}

	outside := map[string]bool{"os": true, "flag": true, "time": true, "net/http": true, "os/exec": true, "io/ioutil": true, "net": true}
	checked := 0
	for _, line := range goList(t, "-f", `{{.ImportPath}}:{{.Name}}:{{join .Imports ","}}`, "./ts/...") {
		part := strings.SplitN(line, ":", 3)
		if part[1] == "main" { // generators and benchmarks that live beside what they serve
			continue
		}
		checked++
		for _, imported := range strings.Split(part[2], ",") {
			if outside[imported] {
				t.Errorf("%s imports %s", part[0], imported)
			}
		}
	}
	if checked < 2 {
		t.Errorf("only %d packages checked", checked)
	}
}
