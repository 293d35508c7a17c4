package book

import (
	"cmp"
	"os"
	"path/filepath"
	"runtime"

	"conewright/ts/notice"
)

// FolderVariable is the environment variable that names the book, a folder or one on a server.
const FolderVariable = "CONEWRIGHT_BOOK"

// Place returns where the book is, its folder or its address on a server: where option says, else the environment variable, else
// the place that the system has for a user's data.
func Place(option string) (string, error) {
	if named := cmp.Or(option, os.Getenv(FolderVariable)); named != "" {
		if IsServer(named) {
			return named, nil
		}
		return filepath.Abs(named)
	}
	data := os.Getenv("XDG_DATA_HOME")
	if !filepath.IsAbs(data) { // the specification has relative ones ignored
		home, err := os.UserHomeDir()
		if err != nil {
			return "", notice.New("book-no-place", nil)
		}
		switch runtime.GOOS {
		case "windows":
			data = cmp.Or(os.Getenv("LocalAppData"), filepath.Join(home, "AppData", "Local"))
		case "darwin":
			data = filepath.Join(home, "Library", "Application Support")
		default:
			data = filepath.Join(home, ".local", "share")
		}
	}
	return filepath.Join(data, "conewright"), nil
}
