//go:build unix

package pgtest

import (
	"fmt"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"
)

// Server is a running server.
type Server struct {
	folder string
	port   int // of the socket, and of TCP where it listens
	number atomic.Int32
	run    *exec.Cmd
}

// Owner is the user to whom everything on the server belongs.
const Owner = "owner"

// port is that of the next server; nobody else has its socket, whose folder is its own.
var port atomic.Int32

// Start starts a server with these lines more in its configuration, and stops it when the test ends.
func Start(t testing.TB, lines ...string) *Server {
	t.Helper()
	folder, err := os.MkdirTemp("", "pg") // the path of a socket must be short
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(folder) })
	s := &Server{folder: folder, port: 20000 + os.Getpid()%20000 + int(port.Add(1))}
	if id, ok := ordinary(t); ok {
		if err := os.Chown(folder, int(id.Uid), int(id.Gid)); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Chmod(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	out, err := s.command(t, "initdb", "-D", s.Data(), "-U", Owner, "--auth=trust", "--encoding=UTF8", "--locale=C.UTF-8", "--no-sync").CombinedOutput()
	if err != nil {
		t.Fatalf("initdb: %v\n%s", err, out)
	}
	config := append([]string{"listen_addresses = ''", "unix_socket_directories = '" + folder + "'", "port = " + strconv.Itoa(s.port),
		"max_connections = 200", "log_statement = 'ddl'"}, lines...)
	s.Configure(t, "postgresql.conf", config...)
	s.Run(t)
	t.Cleanup(func() { s.Kill(t) })
	return s
}

// Data is the folder of the server's data.
func (s *Server) Data() string { return filepath.Join(s.folder, "data") }

// Configure appends lines to a file of its configuration; they hold from the next start.
func (s *Server) Configure(t testing.TB, file string, lines ...string) {
	t.Helper()
	f, err := os.OpenFile(filepath.Join(s.Data(), file), os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := f.WriteString(strings.Join(lines, "\n") + "\n"); err != nil {
		t.Fatal(err)
	}
}

// Give puts a file into its data, for it alone.
func (s *Server) Give(t testing.TB, name string, content []byte) {
	t.Helper()
	path := filepath.Join(s.Data(), name)
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
	if id, ok := ordinary(t); ok {
		if err := os.Chown(path, int(id.Uid), int(id.Gid)); err != nil {
			t.Fatal(err)
		}
	}
}

// Run starts the server, and returns when it answers.
func (s *Server) Run(t testing.TB) {
	t.Helper()
	log, err := os.OpenFile(s.Log(), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o666)
	if err != nil {
		t.Fatal(err)
	}
	defer log.Close()
	s.run = s.command(t, "postgres", "-D", s.Data())
	s.run.Stdout, s.run.Stderr = log, log
	if err := s.run.Start(); err != nil {
		t.Fatal(err)
	}
	for range 600 {
		if s.command(t, "pg_isready", "-q", "-h", s.folder, "-p", strconv.Itoa(s.port), "-d", "postgres").Run() == nil {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	said, _ := os.ReadFile(s.Log())
	t.Fatalf("the server does not answer\n%s", said)
}

// Kill ends the server and every process of it at once, as a power cut would; what it began is gone.
func (s *Server) Kill(t testing.TB) {
	t.Helper()
	if s.run == nil {
		return
	}
	// The postmaster first, so that it starts no other; each of its processes has a group of its own.
	children := childrenOf(s.run.Process.Pid)
	s.run.Process.Kill()
	s.run.Wait()
	for _, pid := range children {
		syscall.Kill(pid, syscall.SIGKILL)
	}
	s.run = nil
	os.Remove(filepath.Join(s.Data(), "postmaster.pid"))
}

// ProcessorTime is what the server has used so far, with all its processes.
func (s *Server) ProcessorTime(t testing.TB) time.Duration {
	t.Helper()
	ticks := 0
	add := func(pid, from, to int) {
		stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
		if err != nil {
			return // it has ended, and the first process has its time
		}
		// proc(5): user and system time stand in fields 14 and 15, those of children that have ended in 16 and 17; field 3 is
		// the first after the name.
		for _, f := range strings.Fields(string(stat[strings.LastIndexByte(string(stat), ')')+1:]))[from-3 : to-2] {
			n, _ := strconv.Atoi(f)
			ticks += n
		}
	}
	first := s.run.Process.Pid
	add(first, 14, 17)
	for _, pid := range childrenOf(first) {
		add(pid, 14, 15)
	}
	const tick = 10 * time.Millisecond // USER_HZ of Linux
	return time.Duration(ticks) * tick
}

// childrenOf lists the processes that one has started.
func childrenOf(parent int) []int {
	var list []int
	stats, _ := filepath.Glob("/proc/[0-9]*/stat")
	for _, path := range stats {
		stat, err := os.ReadFile(path)
		if err != nil {
			continue // it has ended
		}
		fields := strings.Fields(string(stat[strings.LastIndexByte(string(stat), ')')+1:]))
		if fields[1] == strconv.Itoa(parent) {
			pid, _ := strconv.Atoi(filepath.Base(filepath.Dir(path)))
			list = append(list, pid)
		}
	}
	return list
}

// Log is the file of what the server says.
func (s *Server) Log() string { return filepath.Join(s.folder, "log") }

// Database makes an empty database and returns its address.
func (s *Server) Database(t testing.TB) string {
	t.Helper()
	name := fmt.Sprintf("test%d", s.number.Add(1))
	s.SQL(t, s.Address("postgres", Owner), "CREATE DATABASE "+name)
	return s.Address(name, Owner)
}

// Address is how a user reaches a database.
func (s *Server) Address(database, user string) string {
	return fmt.Sprintf("postgres://%s@/%s?host=%s&port=%d", user, database, s.folder, s.port)
}

// Port is that of the server.
func (s *Server) Port() int { return s.port }

// SQL carries out statements and returns what they print, without heads.
func (s *Server) SQL(t testing.TB, address, statements string) string {
	t.Helper()
	cmd := exec.Command("psql", "-X", "-q", "-A", "-t", "-v", "ON_ERROR_STOP=1", "-d", address)
	cmd.Stdin = strings.NewReader(statements)
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%s\n%v\n%s", statements, err, out)
	}
	return strings.TrimSpace(string(out))
}

// command is a program of the server, run by an ordinary user in a group of its own: it refuses to be run by root.
func (s *Server) command(t testing.TB, name string, args ...string) *exec.Cmd {
	t.Helper()
	found, _ := filepath.Glob("/usr/lib/postgresql/*/bin/" + name)
	if len(found) == 0 {
		t.Fatalf("%s is missing: install the package postgresql", name)
	}
	cmd := exec.Command(found[len(found)-1], args...)
	cmd.Dir = s.folder
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	if id, ok := ordinary(t); ok {
		cmd.SysProcAttr.Credential = id
	}
	return cmd
}

// ordinary is the user whom root becomes.
func ordinary(t testing.TB) (*syscall.Credential, bool) {
	t.Helper()
	if os.Getuid() != 0 {
		return nil, false
	}
	nobody, err := user.Lookup("nobody")
	if err != nil {
		t.Fatal(err)
	}
	uid, _ := strconv.Atoi(nobody.Uid)
	gid, _ := strconv.Atoi(nobody.Gid)
	return &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}, true
}

// Documented is the block of SQL in a document that has these words.
func Documented(t testing.TB, path, words string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for _, part := range strings.Split(string(text), "```sql\n")[1:] {
		if sql, _, _ := strings.Cut(part, "```"); strings.Contains(sql, words) {
			return sql
		}
	}
	t.Fatalf("%s has no SQL with %q", path, words)
	return ""
}
