// Package cluster starts PostgreSQL servers for tests: real ones, in temporary
// folders, as a user that is not root, gone with the test.
package cluster

import (
	"context"
	"fmt"
	"net"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
)

// User is the superuser of every server; no password is asked for.
const User = "threshline"

// Server is one PostgreSQL server.
type Server struct {
	Port     int
	Settings []string // "name=value", for the next start

	dir   string
	owner *syscall.Credential // nil when the test's own user will do
	child *os.Process
	gone  chan struct{} // closed when the process has ended
}

// startWithin bounds how long a server may take to answer.
const startWithin = 60 * time.Second

// tools finds the folder of PostgreSQL's programs. Without one a test is passed
// over, but fails where everything must be there.
func tools(t testing.TB) string {
	t.Helper()
	found, _ := filepath.Glob("/usr/lib/postgresql/*/bin/initdb") // as Debian has it
	if path, err := exec.LookPath("initdb"); err == nil && len(found) == 0 {
		if path, err = filepath.EvalSymlinks(path); err == nil {
			return filepath.Dir(path)
		}
	}
	if len(found) == 0 {
		if os.Getenv("CI") != "" {
			t.Fatal("no PostgreSQL server on this machine: install Debian's package postgresql")
		}
		t.Skip("no PostgreSQL server on this machine: install Debian's package postgresql to run this test")
	}
	slices.Sort(found)
	return filepath.Dir(found[len(found)-1])
}

// New makes an empty server without starting it.
func New(t testing.TB, settings ...string) *Server {
	t.Helper()
	s := blank(t, settings)
	s.copy(t, made(t))
	return s
}

// Start makes an empty server and starts it.
func Start(t testing.TB, settings ...string) *Server {
	t.Helper()
	s := New(t, settings...)
	s.Start(t)
	return s
}

func blank(t testing.TB, settings []string) *Server {
	t.Helper()
	tools(t)
	dir, err := os.MkdirTemp("", "threshline-postgres-")
	if err != nil {
		t.Fatal(err)
	}
	s := &Server{Port: freePort(t), Settings: settings, dir: dir}
	s.owned(t)
	t.Cleanup(func() {
		s.Kill()
		if err := os.RemoveAll(dir); err != nil {
			t.Errorf("the server's folder: %v", err)
		}
	})
	return s
}

// owned gives the server's folder to who runs it.
func (s *Server) owned(t testing.TB) {
	t.Helper()
	if os.Getuid() != 0 {
		return
	}
	s.owner = unprivileged(t)
	if err := os.Chown(s.dir, int(s.owner.Uid), int(s.owner.Gid)); err != nil {
		t.Fatal(err)
	}
}

// unprivileged is who runs a server that a test of root starts.
func unprivileged(t testing.TB) *syscall.Credential {
	t.Helper()
	for _, name := range []string{"postgres", "nobody"} {
		u, err := user.Lookup(name)
		if err != nil {
			continue
		}
		uid, _ := strconv.Atoi(u.Uid)
		gid, _ := strconv.Atoi(u.Gid)
		return &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
	}
	t.Fatal("PostgreSQL does not run as root, and there is no user postgres or nobody")
	return nil
}

func freePort(t testing.TB) int {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port
}

func (s *Server) data() string { return filepath.Join(s.dir, "data") }

// Data is the folder of the server's files.
func (s *Server) Data() string { return s.data() }

func (s *Server) command(t testing.TB, program string, args ...string) *exec.Cmd {
	cmd := exec.Command(filepath.Join(tools(t), program), args...)
	cmd.Dir = s.dir
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: s.owner, Setpgid: true}
	return cmd
}

func (s *Server) run(t testing.TB, program string, args ...string) {
	t.Helper()
	if out, err := s.command(t, program, args...).CombinedOutput(); err != nil {
		t.Fatalf("%s: %v\n%s", program, err, out)
	}
}

// Start starts the server and waits until it answers.
func (s *Server) Start(t testing.TB) {
	t.Helper()
	args := []string{"-D", s.data(), "-p", strconv.Itoa(s.Port), "-k", s.dir, "-c", "listen_addresses=127.0.0.1",
		"-c", "dynamic_shared_memory_type=mmap"} // in the server's folder: a server that is killed leaves nothing elsewhere
	for _, setting := range s.Settings {
		args = append(args, "-c", setting)
	}
	log, err := os.OpenFile(s.LogPath(), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		t.Fatal(err)
	}
	defer log.Close()
	cmd := s.command(t, "postgres", args...)
	cmd.Stdout, cmd.Stderr = log, log
	if err := startTied(cmd); err != nil {
		t.Fatal(err)
	}
	gone := make(chan struct{})
	s.child, s.gone = cmd.Process, gone
	go func() {
		_ = cmd.Wait()
		close(gone)
	}()
	s.await(t)
}

// LogPath is where the server writes what it does.
func (s *Server) LogPath() string { return filepath.Join(s.dir, "log") }

// await waits until the server answers.
func (s *Server) await(t testing.TB) {
	t.Helper()
	deadline := time.Now().Add(startWithin)
	for s.command(t, "pg_isready", "-q", "-h", s.dir, "-p", strconv.Itoa(s.Port)).Run() != nil {
		select {
		case <-s.gone:
			log, _ := os.ReadFile(s.LogPath())
			t.Fatalf("the server ended:\n%s", log)
		case <-time.After(20 * time.Millisecond):
		}
		if time.Now().After(deadline) {
			log, _ := os.ReadFile(s.LogPath())
			t.Fatalf("the server does not answer:\n%s", log)
		}
	}
}

// Kill ends the server and all its processes as a power cut does, and waits
// until they are gone.
func (s *Server) Kill() {
	if s.child == nil {
		return
	}
	all := append(children(s.child.Pid), s.child.Pid)
	for _, pid := range slices.Backward(all) { // the first one first, or it would end cleanly
		_ = syscall.Kill(pid, syscall.SIGKILL)
	}
	<-s.gone
	for deadline := time.Now().Add(5 * time.Second); time.Now().Before(deadline); time.Sleep(time.Millisecond) {
		if !slices.ContainsFunc(all, runs) {
			break
		}
	}
	s.child = nil
}

// runs reports whether a process has not ended. One that has ended may stay listed
// until the system's first process looks after it: for a second, or for ever.
func runs(pid int) bool {
	text, _ := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	_, rest, _ := strings.Cut(string(text), ") ") // a name may hold spaces
	return syscall.Kill(pid, 0) == nil && !strings.HasPrefix(rest, "Z")
}

// children lists the processes that one has started, each in a session of its
// own. Where the system does not tell, they end by themselves.
func children(pid int) (list []int) {
	text, _ := os.ReadFile(fmt.Sprintf("/proc/%d/task/%d/children", pid, pid))
	for _, word := range strings.Fields(string(text)) {
		if child, err := strconv.Atoi(word); err == nil {
			list = append(list, child)
		}
	}
	return list
}

// Bound lets no file of the server grow beyond some bytes, "unlimited" ends
// that. Who serves later is bound as well. It takes Debian's prlimit.
func (s *Server) Bound(t testing.TB, bytes string) {
	t.Helper()
	for _, pid := range append(children(s.child.Pid), s.child.Pid) {
		cmd := exec.Command("prlimit", "--pid", strconv.Itoa(pid), "--fsize="+bytes+":") // the soft limit alone
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: s.owner}
		if out, err := cmd.CombinedOutput(); err != nil && syscall.Kill(pid, 0) == nil {
			t.Fatalf("prlimit: %v\n%s", err, out)
		}
	}
}

// Restart kills the server and starts it again.
func (s *Server) Restart(t testing.TB) {
	t.Helper()
	s.Kill()
	s.Start(t)
}

// Signal sends the server's first process a signal.
func (s *Server) Signal(t testing.TB, sig os.Signal) {
	t.Helper()
	if err := s.child.Signal(sig); err != nil {
		t.Fatal(err)
	}
}

// Address is the server's host and port.
func (s *Server) Address() string { return net.JoinHostPort("127.0.0.1", strconv.Itoa(s.Port)) }

// URL is the address of a database on servers of which one takes writes.
func URL(database string, addresses ...string) string {
	return fmt.Sprintf("postgres://%s@%s/%s?sslmode=disable&connect_timeout=2", User, strings.Join(addresses, ","), database)
}

// URL is the address of a database on this server.
func (s *Server) URL(database string) string { return URL(database, s.Address()) }

// Run has the server execute statements, by its own client program.
func (s *Server) Run(t testing.TB, database, sql string) string {
	t.Helper()
	out, err := s.Try(t.Context(), t, database, sql)
	if err != nil {
		t.Fatalf("%s: %v\n%s", sql, err, out)
	}
	return out
}

// Try is Run, but gives the error back.
func (s *Server) Try(ctx context.Context, t testing.TB, database, sql string) (string, error) {
	cmd := s.command(t, "psql", "-X", "-q", "-A", "-t", "-v", "ON_ERROR_STOP=1", "-h", s.dir, "-p", strconv.Itoa(s.Port), "-U", User, "-d", database, "-c", sql)
	stop := context.AfterFunc(ctx, func() {
		if cmd.Process != nil {
			_ = cmd.Process.Kill()
		}
	})
	defer stop()
	out, err := cmd.CombinedOutput()
	return strings.TrimSpace(string(out)), err
}

// Standby makes and starts a standby that follows s under a name, with its
// settings and more, at a port; 0 is any.
func (s *Server) Standby(t testing.TB, name string, port int, settings ...string) *Server {
	t.Helper()
	b := blank(t, append(slices.Clone(s.Settings), settings...))
	if port != 0 {
		b.Port = port
	}
	b.run(t, "pg_basebackup", "-D", b.data(), "-R", "-X", "stream", "--checkpoint=fast", "--no-sync",
		"-d", fmt.Sprintf("host=127.0.0.1 port=%d user=%s application_name=%s", s.Port, User, name))
	b.Start(t)
	return b
}

// Promote makes a standby take writes.
func (s *Server) Promote(t testing.TB) {
	t.Helper()
	s.run(t, "pg_ctl", "promote", "-w", "-D", s.data())
}

// Processor is what the server's processes have used of processors so far, those
// that ended among them. Where the system does not tell it is 0.
func (s *Server) Processor() (used time.Duration) {
	for _, pid := range append(children(s.child.Pid), s.child.Pid) {
		text, _ := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
		_, rest, _ := strings.Cut(string(text), ") ") // a name may hold spaces
		fields := strings.Fields(rest)
		if len(fields) < 15 {
			continue
		}
		for i, field := range fields[11:15] { // its own, in two parts, then that of ended children
			if ticks, err := strconv.ParseInt(field, 10, 64); err == nil && (i < 2 || pid == s.child.Pid) {
				used += time.Duration(ticks) * tick
			}
		}
	}
	return used
}

// tick is what /proc counts in: Linux gives programs 100 a second on every
// machine that Go runs on.
const tick = time.Second / 100
