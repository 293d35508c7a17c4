//go:build outside && unix

package book

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"encoding/pem"
	"fmt"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"conewright/cmd/internal/pgtest"
	"conewright/cmd/internal/wording"
	"conewright/ts/measured"
)

// What each role may do, with the SQL that the document shows.
func TestOutsideRoles(t *testing.T) {
	ctx := context.Background()
	s := pgtest.Start(t, "fsync = off")
	owner := s.Database(t)
	t.Setenv(RawVariable, t.TempDir())
	b, n := filled(t, owner)
	s.SQL(t, owner, pgtest.Documented(t, "../../../docs/many-benches.md", "conewright_inspector")+`
		CREATE ROLE anybody LOGIN; CREATE ROLE eye LOGIN IN ROLE conewright_reader;
		CREATE ROLE hand LOGIN IN ROLE conewright_bench; CREATE ROLE head LOGIN IN ROLE conewright_inspector;`)
	as := func(user string) string { return strings.Replace(owner, pgtest.Owner+"@", user+"@", 1) }
	const allowed = ""
	count := 0
	actions := []struct {
		name string
		do   func(b *Book) error
	}{
		{"list", func(b *Book) error { _, err := b.Jobs(ctx, "", 10); return err }},
		{"show", func(b *Book) error { _, err := b.Job(ctx, n); return err }},
		{"begin and add", func(b *Book) error {
			k, err := b.NewJob(ctx, Job{Opened: day})
			if err != nil {
				return err
			}
			count++
			return b.Add(ctx, Addition{Ref: Ref{k, "left", AsReceived}, Sweeps: []NewSweep{sweepOf(t, fmt.Sprint("new ", count), measured.Load{})}, Result: resultOf(30)})
		}},
		{"describe", func(b *Book) error {
			_, err := b.Describe(ctx, Ref{n, "right", ""}, About{"Larch 25", "", file(t, "larch.toml", "[limits]")}, inSpec)
			return err
		}},
		{"change", func(b *Book) error { return b.Change(ctx, n, "Title", "", "", "") }},
		{"compute anew", func(b *Book) error {
			return b.Renew(ctx, Addition{Ref: Ref{n, "right", AsReceived}, Known: 1, Result: resultOf(33)})
		}},
		{"parts and cabinet", func(b *Book) error {
			for range 2 { // the second time what is there is said anew
				if err := b.Add(ctx, Addition{Ref: Ref{n, "right", Parts}, Parts: []NewPart{partOf(t, "part", "8uF")}}); err != nil {
					return err
				}
			}
			count++
			return b.Add(ctx, Addition{Ref: Ref{n, "right", fmt.Sprint(InCabinet, "-", count)}, Sweeps: []NewSweep{sweepOf(t, fmt.Sprint("box ", count), measured.Load{})}, Cabinet: boxOf("")})
		}},
		{"delete", func(b *Book) error {
			k, err := open(t, owner).NewJob(ctx, Job{Opened: day})
			if err != nil {
				return err
			}
			return b.Delete(ctx, k)
		}},
	}
	const no = "book-no-right"
	for user, want := range map[string][]string{
		"eye":  {allowed, allowed, no, no, no, no, no, no},
		"hand": {allowed, allowed, allowed, allowed, allowed, allowed, allowed, no},
		"head": {allowed, allowed, allowed, allowed, allowed, allowed, allowed, allowed},
	} {
		b, err := OpenExisting(ctx, as(user))
		if err != nil {
			t.Fatalf("%s: %v", user, err)
		}
		for i, a := range actions {
			err := a.do(b)
			switch {
			case want[i] == allowed && err != nil:
				t.Errorf("%s, %s: %v", user, a.name, err)
			case want[i] != allowed:
				refused(t, err, want[i])
			}
		}
		// Nobody but the owner changes or removes what was measured.
		for _, statement := range []string{`UPDATE sweep SET name = 'x'`, `DELETE FROM sweep`, `DELETE FROM stage`, `UPDATE raw SET place = '/'`, `DROP TABLE report`} {
			if _, err := b.db.Exec(statement); err == nil {
				t.Errorf("%s may do: %s", user, statement)
			}
		}
		if err := b.Close(); err != nil {
			t.Error(err)
		}
	}
	_, err := OpenExisting(ctx, as("anybody"))
	refused(t, err, "book-no-right")
	if _, err := b.Job(ctx, n); err != nil {
		t.Error(err)
	}
}

// What a server says that lets nobody in, has no such database, or has other tables where the book would be.
func TestOutsideServersThatRefuse(t *testing.T) {
	ctx := context.Background()
	s := pgtest.Start(t, "fsync = off")
	t.Setenv(RawVariable, "")
	_, err := Open(ctx, s.Address("nothing", pgtest.Owner))
	refused(t, err, "book-not-let-in")
	_, err = Open(ctx, s.Address("postgres", "stranger"))
	refused(t, err, "book-not-let-in")
	empty := s.Database(t)
	_, err = OpenExisting(ctx, empty)
	refused(t, err, "book-none")
	_, err = Open(ctx, empty)
	refused(t, err, "book-no-raw")
	t.Setenv(RawVariable, filepath.Join(t.TempDir(), "not mounted"))
	_, err = Open(ctx, empty)
	refused(t, err, "raw-no-folder")
	foreign := s.Database(t)
	s.SQL(t, foreign, `CREATE SCHEMA conewright; CREATE TABLE conewright.job (n int);`)
	t.Setenv(RawVariable, t.TempDir())
	_, err = Open(ctx, foreign)
	refused(t, err, "book-other")
	b := open(t, s.Database(t))
	refused(t, b.Backup(ctx, filepath.Join(t.TempDir(), "copy")), "book-own-tools")
}

// A server that ends in the middle is said to be away, and the same book works again when it is back.
func TestOutsideServerAway(t *testing.T) {
	ctx := context.Background()
	s := pgtest.Start(t)
	t.Setenv(RawVariable, t.TempDir())
	b, n := filled(t, s.Database(t))
	want, err := b.Job(ctx, n)
	if err != nil {
		t.Fatal(err)
	}
	s.Kill(t)
	_, err = b.NewJob(ctx, Job{Opened: day})
	refused(t, err, "book-unreachable")
	_, err = b.Job(ctx, n)
	refused(t, err, "book-unreachable")
	s.Run(t)
	if got, err := b.Job(ctx, n); err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("%v\n%+v\n%+v", err, got, want)
	}
}

// Over TCP, with TLS that the server demands and a password from the file for it; a wrong password stays out
// of what is said.
func TestOutsideTLSAndPassword(t *testing.T) {
	ctx := context.Background()
	s := pgtest.Start(t, "fsync = off", "listen_addresses = '127.0.0.1'", "password_encryption = 'scram-sha-256'")
	database := s.Database(t)
	s.SQL(t, database, `CREATE ROLE bench LOGIN PASSWORD 'hunter2'`)
	name := strings.TrimPrefix(strings.Split(database, "?")[0], "postgres://"+pgtest.Owner+"@/")
	s.SQL(t, database, `GRANT ALL ON DATABASE `+name+` TO bench`)
	s.Kill(t)
	root := certificate(t, s)
	s.Configure(t, "postgresql.conf", "ssl = on")
	s.Give(t, "pg_hba.conf", []byte("hostssl all all 127.0.0.1/32 scram-sha-256\nhostnossl all all all reject\nlocal all all trust\n"))
	s.Run(t)

	t.Setenv(RawVariable, t.TempDir())
	passwords := filepath.Join(t.TempDir(), "passwords")
	t.Setenv("PGPASSFILE", passwords)
	write := func(password string) {
		if err := os.WriteFile(passwords, fmt.Appendf(nil, "127.0.0.1:%d:*:bench:%s\n", s.Port(), password), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	address := fmt.Sprintf("postgres://bench@127.0.0.1:%d/%s", s.Port(), name)
	write("hunter2")
	for _, mode := range []string{"", "?sslmode=verify-full&sslrootcert=" + root} {
		b, err := Open(ctx, address+mode)
		if err != nil {
			t.Fatalf("%s: %v", mode, err)
		}
		var encrypted bool
		if err := b.db.QueryRow(`SELECT ssl FROM pg_stat_ssl WHERE pid = pg_backend_pid()`).Scan(&encrypted); err != nil || !encrypted {
			t.Errorf("%s: TLS %v, %v", mode, encrypted, err)
		}
		if err := b.Close(); err != nil {
			t.Error(err)
		}
	}
	_, err := Open(ctx, address+"?sslmode=disable")
	refused(t, err, "book-not-let-in")
	other := certificate(t, nil)
	_, err = Open(ctx, address+"?sslmode=verify-full&sslrootcert="+other)
	refused(t, err, "book-unreachable")
	write("hunter3")
	_, err = Open(ctx, address)
	refused(t, err, "book-not-let-in")
	if message, hint := wording.Error(err); strings.Contains(message+hint+err.Error(), "hunter3") {
		t.Errorf("%s; %s; %v", message, hint, err)
	}
}

// certificate makes one that signs itself, for 127.0.0.1, puts it into the data of the server, and returns its file.
func certificate(t *testing.T, s *pgtest.Server) string {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	form := x509.Certificate{SerialNumber: big.NewInt(1), NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour),
		IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}, IsCA: true, BasicConstraintsValid: true}
	public, err := x509.CreateCertificate(rand.Reader, &form, &form, &key.PublicKey, key)
	if err != nil {
		t.Fatal(err)
	}
	private, err := x509.MarshalECPrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "root.crt")
	if err := os.WriteFile(path, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: public}), 0o600); err != nil {
		t.Fatal(err)
	}
	if s != nil {
		s.Give(t, "server.crt", pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: public}))
		s.Give(t, "server.key", pem.EncodeToMemory(&pem.Block{Type: "EC PRIVATE KEY", Bytes: private}))
	}
	return path
}
