// Package pgtest starts a PostgreSQL server for a test, as an ordinary user in a temporary folder, reached
// through a socket. It needs the program from Debian's package postgresql.
package pgtest
