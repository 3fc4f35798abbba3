package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"

	"golang.org/x/sys/unix"

	"threshline/cmd/threshline/config"
	"threshline/cmd/threshline/demo"
	"threshline/cmd/threshline/progress"
	"threshline/session/store/bolt"
)

// terminal is one end of a terminal to give to a command, and what was shown on
// it once the command is through.
func terminal(t *testing.T) (end *os.File, shown func() string) {
	t.Helper()
	here, err := os.OpenFile("/dev/ptmx", os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		t.Fatal(err)
	}
	var seen bytes.Buffer
	var wait sync.WaitGroup
	raw, err := here.SyscallConn()
	if err != nil {
		t.Fatal(err)
	}
	number := 0
	err = raw.Control(func(fd uintptr) {
		if err = unix.IoctlSetPointerInt(int(fd), unix.TIOCSPTLCK, 0); err == nil {
			number, err = unix.IoctlGetInt(int(fd), unix.TIOCGPTN)
		}
	})
	if err == nil {
		end, err = os.OpenFile(fmt.Sprintf("/dev/pts/%d", number), os.O_RDWR|unix.O_NOCTTY, 0)
	}
	if err != nil {
		t.Fatal(err)
	}
	wait.Go(func() { _, _ = io.Copy(&seen, here) }) // ends with an error when the other end is closed
	return end, func() string {
		end.Close()
		wait.Wait()
		here.Close()
		return seen.String()
	}
}

// whereItIs is what a bar says: a part done, a rate, and the time left.
var whereItIs = regexp.MustCompile(`\d+% .*/(s|min|hr)\)? *\[\d+[hms]`)

// TestLongWorkShowsWhereItIs runs each long command with a terminal as its
// standard error, and again with none.
func TestLongWorkShowsWhereItIs(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "valley.toml")
	if err := os.WriteFile(path, demo.Config, 0o600); err != nil {
		t.Fatal(err)
	}
	cfg, err := config.Load(path)
	if err != nil {
		t.Fatal(err)
	}
	cfg.Store.Journal = "valley.journal"
	if err := os.WriteFile(path, append([]byte(strings.Replace(string(demo.Config), "[store]\n", "[store]\njournal = \"valley.journal\"\n", 1)), '\n'), 0o600); err != nil {
		t.Fatal(err)
	}
	store, err := bolt.Open(cfg.StorePath(), storeOptions(cfg))
	if err != nil {
		t.Fatal(err)
	}
	p, _, err := cfg.Build()
	if err != nil {
		t.Fatal(err)
	}
	if err := demo.Fill(t.Context(), store, p, seasonsEnd, 600, func(int) {}); err != nil {
		t.Fatal(err)
	}
	if err := store.Close(); err != nil {
		t.Fatal(err)
	}
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	lot := strings.ReplaceAll(aLot, "\n", " ") + "\n"
	lots := write("lots.jsonl", strings.Repeat(lot, largeInput/len(lot)+1))
	people := "role,name,number\n"
	for i := range 1000 { // more than is read at once
		people += fmt.Sprintf("buyer,Wema,+3363998%04d\n", 1000+i)
	}
	roster := write("roster.csv", people)
	backup := filepath.Join(dir, "backup.db")
	for _, c := range []struct {
		name string
		args []string
	}{
		{"backup", []string{"backup", "--config", path, "--to", backup, "--overwrite"}},
		{"backup", []string{"restore", "--config", path, "--from", backup, "--overwrite"}},
		{"journal", []string{"restore", "--config", path, "--from-journal", filepath.Join(dir, "valley.journal"), "--overwrite"}},
		{"compact", []string{"compact", "--stopped", cfg.StorePath()}},
		{"roster", []string{"roster", "import", "--stopped", path, "--dry-run", roster}},
		{"grade", []string{"grade", "--no-remedy", "--json", lots}},
		{"load", []string{"load", "--program", "threshline", "--for", "20ms", "--phones", "1"}},
	} {
		end, shown := terminal(t)
		var out, problem bytes.Buffer
		if code := run(t.Context(), c.args, stdio{strings.NewReader(""), &out, end}); code != 0 {
			t.Errorf("%q: exit %d, %s", c.args, code, shown())
			continue
		}
		if text := shown(); !strings.Contains(text, c.name) || !whereItIs.MatchString(text) {
			t.Errorf("%q does not show where it is: %q", c.args, text)
		}
		if strings.Contains(out.String(), "\r") {
			t.Errorf("%q: a bar is in its output: %q", c.args, out.String())
		}
		if code := run(t.Context(), c.args, stdio{strings.NewReader(""), &out, &problem}); code != 0 || problem.Len() > 0 {
			t.Errorf("%q without a terminal: exit %d, %q", c.args, code, problem.String())
		}
	}
}

// A bar of which the end is not known, as an export's, says how much has come and
// how fast; a file that is read at places counts too.
func TestABarSaysWhatItKnows(t *testing.T) {
	end, shown := terminal(t)
	bar := progress.Bytes(end, "export", -1)
	if _, err := io.Copy(io.Discard, bar.Reader(strings.NewReader(strings.Repeat("x", 200_000)))); err != nil {
		t.Fatal(err)
	}
	if _, err := io.WriteString(bar.Above(end), "a row\n"); err != nil {
		t.Fatal(err)
	}
	bar.End()
	if text := shown(); !strings.Contains(text, "export") || !strings.Contains(text, "kB") || !strings.Contains(text, "a row") {
		t.Errorf("%q", text)
	}
	var nobody bytes.Buffer
	none := progress.Steps(&nobody, "load", "steps", 3)
	none.Add(1)
	none.End()
	if none != nil || nobody.Len() > 0 {
		t.Errorf("where nobody looks it shows %q", nobody.String())
	}
}
