package main

import (
	"bufio"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"
)

// The disk takes what the real program writes and then fails to sync it. Carriers
// are told to come again, nobody is answered as if it were stored, the program ends
// for its supervisor to start it again, and then knows all that it had answered.
func TestTheProgramEndsWhenASyncFails(t *testing.T) {
	t.Parallel()
	for _, journal := range []bool{false, true} {
		t.Run(fmt.Sprintf("journal %v", journal), func(t *testing.T) {
			t.Parallel()
			syncFails(t, journal)
		})
	}
}

func syncFails(t *testing.T, journal bool) {
	changes := []string{}
	if !journal {
		changes = []string{`journal = "threshline.journal"`, ""}
	}
	s := newSite(t, buildProgram(t), "127.0.0.1:1", changes...)
	run := s.start(t)
	run.ready(t)
	var answered sync.Map // text by message id
	said := func(id int) (status int, after, text string) {
		form := url.Values{"msisdn": {fmt.Sprintf("+33639988%03d", id%50)}, "input": {""}, "sid": {strconv.Itoa(id)}, "mid": {strconv.Itoa(id)}}
		req, err := http.NewRequest(http.MethodPost, "http://"+run.address+"/in/valley-ussd", strings.NewReader(form.Encode()))
		if err != nil {
			t.Error(err)
			return
		}
		req.Header.Set("X-Token", valleyToken)
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		resp, err := http.DefaultClient.Do(req)
		if err != nil { // it has ended
			return 0, "", ""
		}
		defer resp.Body.Close()
		line, _ := bufio.NewReader(resp.Body).ReadString(0)
		return resp.StatusCode, resp.Header.Get("Retry-After"), line
	}
	for id := range 50 {
		status, _, text := said(id)
		if status != http.StatusOK {
			t.Fatalf("answered %d while all is well", status)
		}
		answered.Store(id, text)
	}
	failSyncs(t, run.cmd.Process.Pid)
	var all sync.WaitGroup
	statuses := make([]int, 50)
	for i := range statuses {
		all.Go(func() {
			var after string
			statuses[i], after, _ = said(100 + i)
			if statuses[i] == http.StatusServiceUnavailable && after == "" {
				t.Error("a 503 does not say when to come again")
			}
		})
	}
	all.Wait()
	told := 0
	for _, status := range statuses {
		switch status {
		case 0:
		case http.StatusServiceUnavailable:
			told++
		default:
			t.Errorf("answered %d while nothing can be stored", status)
		}
	}
	if told == 0 {
		t.Error("nobody was told to come again")
	}
	var exit *exec.ExitError
	if err := run.end(t); !errors.As(err, &exit) || exit.ExitCode() != 1 {
		t.Errorf("the program ended with %v, want exit code 1", err)
	}
	run = s.start(t)
	run.ready(t)
	answered.Range(func(id, want any) bool {
		if status, _, text := said(id.(int)); status != http.StatusOK || text != want {
			t.Errorf("message %d, delivered again after the start, was answered %d %q, not %q", id, status, text, want)
		}
		return true
	})
	if status, _, _ := said(100); status != http.StatusOK {
		t.Errorf("what was refused is answered %d after the start", status)
	}
	run.stop(t)
}

// failSyncs has each sync of a process fail from now on, as on a disk that dies.
func failSyncs(t *testing.T, pid int) {
	t.Helper()
	tracer := exec.Command("strace", "-f", "-p", strconv.Itoa(pid), "-e", "trace=fsync,fdatasync", "-e", "inject=fsync,fdatasync:error=EIO")
	said, err := tracer.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := tracer.Start(); err != nil {
		t.Fatalf("%v: this test needs strace (the Debian package strace)", err)
	}
	ended := make(chan struct{})
	attached := make(chan struct{})
	go func() {
		lines := bufio.NewScanner(said)
		for first := true; lines.Scan(); {
			if first && strings.Contains(lines.Text(), "attached") {
				first = false
				close(attached)
			}
		}
		_ = tracer.Wait() // it ends with what it traces
		close(ended)
	}()
	t.Cleanup(func() {
		_ = tracer.Process.Kill()
		<-ended
	})
	select {
	case <-attached:
	case <-ended:
		t.Fatal("strace may not trace here")
	case <-time.After(patience):
		t.Fatal("strace does not begin")
	}
}

// By the real program: no backup is written over the store of a gateway that runs,
// nor is a store of 0 bytes, which is all that a disk left of one, begun anew.
func TestTheProgramLeavesAStoreAlone(t *testing.T) {
	t.Parallel()
	s := newSite(t, buildProgram(t), "127.0.0.1:1", `journal = "threshline.journal"`, "")
	fill(t, s)
	run := s.start(t)
	run.ready(t)
	backup := exec.Command(s.path, "backup", "--config", s.config(), "--to", s.store(), "--overwrite")
	if out, err := backup.CombinedOutput(); err == nil || !strings.Contains(string(out), "choose another file") {
		t.Errorf("a backup over the running store: %v %s", err, out)
	}
	if status, _ := run.get(t, "/readyz"); status != http.StatusOK {
		t.Errorf("after that /readyz says %d", status)
	}
	run.stop(t)
	if len(kept(t, s.store()).checks) == 0 {
		t.Error("the store has lost its checks")
	}
	if err := os.Truncate(s.store(), 0); err != nil {
		t.Fatal(err)
	}
	run = s.start(t)
	var exit *exec.ExitError
	if err := run.end(t); !errors.As(err, &exit) || exit.ExitCode() != 1 {
		t.Errorf("over a store of 0 bytes the program ended with %v, want exit code 1", err)
	}
	if log := s.log.tail() + s.said.tail(); !strings.Contains(log, "restore the last backup") {
		t.Errorf("it does not say what to do: %s", log)
	}
	if info, err := os.Stat(s.store()); err != nil || info.Size() != 0 {
		t.Errorf("the file has changed: %v", err)
	}
}
