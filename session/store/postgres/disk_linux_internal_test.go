package postgres

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"threshline/session"
	"threshline/session/store/postgres/cluster"
)

// smallDisk mounts a disk of its own for what a test puts in temporary folders,
// and returns its folder.
func smallDisk(t *testing.T, size string) string {
	t.Helper()
	if os.Getuid() != 0 {
		if os.Getenv("CI") != "" {
			t.Fatal("a disk is mounted only by root: run this as root")
		}
		t.Skip("a disk is mounted only by root; TestATableWithoutRoomIsToldAndGoesOn tries less without it")
	}
	dir, err := os.MkdirTemp("", "full-") // short: a server's socket lies below it
	if err != nil {
		t.Fatal(err)
	}
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "mode=0777,size="+size); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := errors.Join(syscall.Unmount(dir, 0), os.Remove(dir)); err != nil {
			t.Error(err)
		}
	})
	t.Setenv("TMPDIR", dir)
	return dir
}

// fillUp takes all the room of a disk, until what it returns is called.
func fillUp(t *testing.T, dir string) (room func()) {
	t.Helper()
	path := filepath.Join(dir, "ballast")
	ballast, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer ballast.Close()
	if _, err := io.Copy(ballast, zeros{}); !errors.Is(err, syscall.ENOSPC) {
		t.Fatalf("the disk is not full: %v", err)
	}
	return func() {
		if err := os.Remove(path); err != nil {
			t.Fatal(err)
		}
	}
}

type zeros struct{}

func (zeros) Read(b []byte) (int, error) {
	clear(b)
	return len(b), nil
}

// The database's disk is full: carriers are told to come again, and when there is
// room everything goes on by itself. When its log had no room either the server
// ends, and who watches over it starts it again.
func TestAFullDiskIsToldAndGoesOn(t *testing.T) {
	disk := smallDisk(t, "160m")
	server := cluster.Start(t, "min_wal_size=32MB", "max_wal_size=64MB", "autovacuum=off")
	s := at(t, server.URL("postgres"), Options{CallersClock: true})
	filed := 0
	fileSome := func(n int) (err error) {
		for range n {
			if err = file(s, filed); err != nil {
				return err
			}
			filed++
		}
		return nil
	}
	if err := fileSome(20); err != nil {
		t.Fatal(err)
	}
	room := fillUp(t, disk)
	err := fileSome(2000)
	if !is(err, session.ErrFull) {
		t.Fatalf("on a full disk %d checks were filed, then: %v", filed, err)
	}
	if err := s.Read(t.Context(), func(v session.View) error { _, err := v.ChecksOf("g", 5); return err }); err != nil {
		t.Errorf("nothing is read on a full disk: %v", err)
	}
	room()
	recovers(t, s, "with room")
	if err := fileSome(50); err != nil {
		t.Errorf("with room again: %v", err)
	}

	room = fillUp(t, disk)
	deadline := time.Now().Add(time.Minute)
	for err = nil; err == nil && time.Now().Before(deadline); {
		_, _ = server.Try(t.Context(), t, "postgres", "select pg_switch_wal()")
		_, err = talk(s, time.Now().String())
	}
	away(t, "without room for the log", err)
	room()
	server.Restart(t)
	recovers(t, s, "with room for the log")
	if err := fileSome(50); err != nil {
		t.Errorf("with room for the log again: %v", err)
	}
	if err := s.Verify(t.Context()); err != nil {
		t.Error(err)
	}
	if list, err := s.Newest(t.Context(), 10_000); err != nil || len(list) != filed {
		t.Errorf("%d checks are there, %d were answered: %v", len(list), filed, err)
	}
}

// Every sync of the database takes longer than a gateway waits: carriers are told
// to come again, and a message that comes again is not done twice.
func TestASlowDiskIsToldAndGoesOn(t *testing.T) {
	t.Parallel()
	server := cluster.Start(t)
	s := at(t, server.URL("postgres"), impatient)
	if _, err := talk(s, "before"); err != nil {
		t.Fatal(err)
	}
	fast := server.SlowSyncs(t, 3*time.Second)
	_, err := talk(s, "during")
	away(t, "while a sync takes seconds", err)
	eventually(t, "it is told", func() bool { return s.Healthy() != nil })
	fast()
	recovers(t, s, "during")
	if out, err := talk(s, "during"); err != nil || !out.Duplicate || out.Reply.Text != "page 2" {
		t.Errorf("the message that came again was answered %+v, %v", out, err)
	}
}
