package cluster

import (
	"os"
	"os/exec"
	"sync"
	"syscall"
	"testing"
)

// template is a server's data as initdb makes it, made once and copied for each
// server.
var template struct {
	sync.Mutex
	home string // the process's folder for temporary files; "" before Run
	data string
}

// made is where the template lies.
func made(t testing.TB) string {
	t.Helper()
	tools(t)
	template.Lock()
	defer template.Unlock()
	if template.data != "" {
		return template.data
	}
	dir, err := os.MkdirTemp(template.home, "template-")
	if err != nil {
		t.Fatal(err)
	}
	s := &Server{dir: dir}
	s.owned(t)
	s.run(t, "initdb", "-D", s.data(), "-A", "trust", "-U", User, "-E", "UTF8", "--locale=C", "--no-sync")
	template.data = s.data()
	return template.data
}

// copy makes the server's data of a template.
func (s *Server) copy(t testing.TB, from string) {
	t.Helper()
	cmd := exec.Command("cp", "-R", "-p", from, s.data())
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: s.owner}
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("cp: %v\n%s", err, out)
	}
}
