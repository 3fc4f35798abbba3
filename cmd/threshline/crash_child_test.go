package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"
)

// valleyToken is the secret of the tests' channels; no log may hold it.
const valleyToken = "valley-token-for-crash-tests-8812"

// patience bounds every wait of these tests: reached only when something hangs.
const patience = time.Minute

// site is a folder with a configuration and, once served, a store.
type site struct {
	program
	dir   string
	flags []string // of serve, besides its configuration
	log   journalOfRuns
	said  journalOfRuns // on standard output
}

// newSite writes the tests' configuration, with the address of the carrier
// that messages are handed to, after the changes.
func newSite(t testing.TB, p program, carrier string, changes ...string) *site {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(moduleRoot, "testdata", "crash", "valley.toml"))
	if err != nil {
		t.Fatal(err)
	}
	s := &site{program: p, dir: t.TempDir()}
	s.configure(t, strings.NewReplacer(append([]string{"CARRIER", carrier}, changes...)...).Replace(string(text)))
	t.Cleanup(func() {
		if t.Failed() {
			t.Logf("the end of the program's log:\n%s", s.log.tail())
		}
	})
	return s
}

func (s *site) configure(t testing.TB, text string) {
	t.Helper()
	if err := os.WriteFile(s.config(), []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

func (s *site) config() string { return filepath.Join(s.dir, "valley.toml") }
func (s *site) clock() string  { return filepath.Join(s.dir, "clock") }
func (s *site) store() string  { return filepath.Join(s.dir, "threshline.db") }

// journalOfRuns is what all runs of a site wrote to standard error.
type journalOfRuns struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (j *journalOfRuns) Write(p []byte) (int, error) {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.text.Write(p)
}

func (j *journalOfRuns) String() string {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.text.String()
}

func (j *journalOfRuns) tail() string {
	text := j.String()
	return text[max(0, len(text)-3000):]
}

// child is one run of the program.
type child struct {
	cmd     *exec.Cmd
	serving chan string // gets the address once it serves, and is closed at the end
	ended   chan error  // gets what Wait returned
	address string
}

// start begins a run, under the given limits of the shell's ulimit.
func (s *site) start(t testing.TB, limits ...string) *child {
	t.Helper()
	script := `exec "$0" "$@"`
	for _, l := range limits {
		script = "ulimit " + l + " && " + script
	}
	c := &child{cmd: exec.Command("sh", append([]string{"-c", script, s.path, "serve", "--config", s.config()}, s.flags...)...)}
	c.cmd.Env = append(os.Environ(), "THRESHLINE_CLOCK="+s.clock())
	c.cmd.Stdout = &s.said
	stderr, err := c.cmd.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	c.serving, c.ended = make(chan string, 1), make(chan error, 1)
	go func() {
		c.listen(io.TeeReader(stderr, &s.log))
		c.ended <- c.cmd.Wait()
	}()
	t.Cleanup(func() { _ = c.cmd.Process.Kill() })
	return c
}

// listen reads the log for the address, then on to its end.
func (c *child) listen(log io.Reader) {
	lines := bufio.NewReader(log)
	defer close(c.serving)
	for {
		line, err := lines.ReadBytes('\n')
		var entry struct{ Message, Address string }
		if json.Unmarshal(line, &entry) == nil && entry.Message == "serving" {
			c.serving <- entry.Address
		}
		if err != nil {
			return
		}
	}
}

// ready waits until the run serves.
func (c *child) ready(t testing.TB) {
	t.Helper()
	select {
	case address, ok := <-c.serving:
		if !ok {
			t.Fatal("the program ended before it served")
		}
		c.address = address
	case <-time.After(patience):
		t.Fatal("the program does not serve")
	}
	if status, text := c.get(t, "/readyz"); status != http.StatusOK {
		t.Fatalf("it serves but is not ready: %d %s", status, text)
	}
}

// get fetches a page of the run.
func (c *child) get(t testing.TB, path string) (status int, text string) {
	t.Helper()
	resp, err := http.Get("http://" + c.address + path)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return resp.StatusCode, string(body)
}

// kill is kill -9, as a power cut or the kernel's out-of-memory killer is.
func (c *child) kill(t testing.TB) {
	t.Helper()
	if err := c.cmd.Process.Kill(); err != nil && !errors.Is(err, os.ErrProcessDone) {
		t.Fatal(err)
	}
	c.end(t)
}

// stop asks the run to end and wants it to do so cleanly.
func (c *child) stop(t testing.TB) {
	t.Helper()
	if err := c.cmd.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	if err := c.end(t); err != nil {
		t.Fatalf("the program did not end cleanly: %v", err)
	}
}

func (c *child) end(t testing.TB) error {
	t.Helper()
	select {
	case err := <-c.ended:
		return err
	case <-time.After(patience):
		t.Fatal("the program does not end")
		return nil
	}
}
