// Package book keeps repairs for years: jobs, their drivers, the stages of each, the sweeps of
// every stage and what was computed from them.
//
// A book is a folder. Its file book.sqlite holds everything but the recordings and tables
// themselves; those lie in the folder raw under the SHA-256 of their content and are never
// changed. Several programs may work on one book at once. What a call has reported as written
// stays written, whatever happens to the program or to the power afterwards, and a job that
// is half written is never seen.
package book
