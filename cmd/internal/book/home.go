package book

import (
	"context"
	"database/sql"
	"strings"

	"conewright/cmd/internal/rawstore"

	"github.com/pressly/goose/v3"
)

// home is where a book is kept, a folder or a PostgreSQL server: everything in which the two
// differ. The statements of this package are the same for both.
type home interface {
	// name is how messages name the book. It has no password in it.
	name() string
	// connect opens the database and changes nothing.
	connect() (*sql.DB, error)
	// found says whether a book is there. What belongs to another program is an error.
	found(ctx context.Context, db *sql.DB) (bool, error)
	// schema are the folder of the migrations, and in what dialect they are written.
	schema() (folder string, dialect goose.Dialect)
	// mark makes the place one of a book, before its first migration.
	mark(ctx context.Context, db *sql.DB) error
	// raw opens the place of the raw files, after the last migration.
	raw(ctx context.Context, db *sql.DB) (rawstore.Store, error)

	// turn waits until this program may make a change, and returns what ends it.
	turn() (end func())
	// begun is called at the begin of every change. No other change, of no program, is made
	// beside one that is alone.
	begun(ctx context.Context, tx *sql.Tx, alone bool) error
	// rowLock is what a SELECT ends with so that no other change gets the same row meanwhile.
	rowLock() string
	// setting is the expression for a setting of a bench, from a column with its JSON.
	setting(column, name string) string
	// oneMoment are the options of a transaction whose every SELECT sees the same moment.
	oneMoment() *sql.TxOptions

	// dropped does what a deletion still needs within its change: raw files that nothing refers to.
	dropped(ctx context.Context, tx *sql.Tx) error
	// scrub overwrites what was deleted.
	scrub(ctx context.Context, db *sql.DB) error
	// check looks for damage.
	check(ctx context.Context, db *sql.DB) error
	// backup copies everything into a new folder.
	backup(ctx context.Context, db *sql.DB, to string) error

	// wrong turns an error of the database into one that says what to do.
	wrong(err error) error
}

// serverStarts are what the name of a book on a server begins with.
var serverStarts = []string{"postgres://", "postgresql://"}

// IsServer says whether the name of a book means one on a server and not a folder.
func IsServer(place string) bool {
	for _, s := range serverStarts {
		if strings.HasPrefix(place, s) {
			return true
		}
	}
	return false
}

func homeAt(place string) (home, error) {
	if IsServer(place) {
		return newServer(place)
	}
	return &folder{path: place}, nil
}
