package main

import (
	"fmt"
	"math/rand/v2"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"golang.org/x/sys/unix"
)

// TestTheProgramInTightPlaces starts the real program under limits of the
// system and with rude visitors.
func TestTheProgramInTightPlaces(t *testing.T) {
	t.Parallel()
	p := buildProgram(t)
	for name, place := range map[string]func(*testing.T, program){
		"no room on the disk":             func(t *testing.T, p program) { fullDisk(t, p, false) },
		"no room on the disk, and killed": func(t *testing.T, p program) { fullDisk(t, p, true) },
		"a store that cannot be written":  readOnly,
		"no file descriptors":             fewDescriptors,
		"slow and half-open visitors":     slowVisitors,
		"a busy log":                      busyLog,
		"more than it can take":           overload,
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			place(t, p)
		})
	}
}

// inhabit makes a site and a town of phones for it.
func inhabit(t *testing.T, p program, phones int, changes ...string) (*site, *town, []*phone) {
	t.Helper()
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	carrier := newCarrierStub(t, rand.New(rand.NewPCG(seed, 2)))
	s := newSite(t, p, carrier.address(), changes...)
	town := newTown(phones)
	return s, town, settle(t, town, carrier, seed)
}

// finish lets the phones end what they are at, stops the run, and looks.
func finish(t *testing.T, s *site, town *town, run *child, phones []*phone) {
	t.Helper()
	town.update(func() { town.over = true })
	town.await(func() bool { return town.left == town.phones })
	run.stop(t)
	examine(t, s, phones, true)
	holdLog(t, s.log.String(), phones)
}

// fullDisk takes the program's room away while it works, wants a clear no,
// and goes on when there is room again, by itself or after a kill.
func fullDisk(t *testing.T, p program, killed bool) {
	s, town, phones := inhabit(t, p, 40)
	run := s.start(t)
	run.ready(t)
	town.move(run.address)
	town.answered(100)
	room(t, run, 32<<10) // less than the store is long by now
	status, text := run.get(t, "/readyz")
	for tries := 0; status != http.StatusServiceUnavailable && tries < 3000; tries++ {
		<-time.After(20 * time.Millisecond) // a watcher's own patience; the phones go on
		status, text = run.get(t, "/readyz")
	}
	if status != http.StatusServiceUnavailable || !strings.Contains(text, "not ready") {
		t.Errorf("a full store says %d %q", status, text)
	}
	told, after := refused(t, run)
	if told != http.StatusServiceUnavailable || after != "60" {
		t.Errorf("a message is answered %d, come again after %q s", told, after)
	}
	if killed {
		town.move("")
		run.kill(t)
		town.quiet()
		examine(t, s, phones, false)
		run = s.start(t)
		run.ready(t)
		town.move(run.address)
	} else {
		room(t, run, unix.RLIM_INFINITY)
	}
	town.answered(200)
	finish(t, s, town, run, phones)
}

// room bounds how long the files of a run may become.
func room(t *testing.T, run *child, bytes uint64) {
	t.Helper()
	limit := unix.Rlimit{Cur: bytes, Max: unix.RLIM_INFINITY}
	if err := unix.Prlimit(run.cmd.Process.Pid, unix.RLIMIT_FSIZE, &limit, nil); err != nil {
		t.Fatal(err)
	}
}

// refused sends one message that the program cannot store.
func refused(t *testing.T, run *child) (status int, retryAfter string) {
	t.Helper()
	req, err := http.NewRequest(http.MethodPost, "http://"+run.address+"/in/valley-ussd", strings.NewReader("msisdn=%2B33639989999&input=&sid=x&mid=refused"))
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("X-Token", valleyToken)
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	return resp.StatusCode, resp.Header.Get("Retry-After")
}

// readOnly wants a start on a store that cannot be written to end at once,
// saying which file and what to do.
func readOnly(t *testing.T, p program) {
	s := newSite(t, p, "127.0.0.1:1", `journal = "threshline.journal"`, "")
	fill(t, s)
	for path, mode := range map[string]os.FileMode{s.store(): 0o444, s.config(): 0o444, s.dir: 0o555, filepath.Dir(s.dir): 0o755, p.path: 0o755, filepath.Dir(p.path): 0o755} {
		if err := os.Chmod(path, mode); err != nil {
			t.Fatal(err)
		}
	}
	defer os.Chmod(s.dir, 0o755)
	cmd := exec.Command(p.path, "serve", "--config", s.config())
	if os.Geteuid() == 0 { // who may write everything must be somebody else
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
	}
	out, err := cmd.CombinedOutput()
	if err == nil || cmd.ProcessState.ExitCode() != 1 || !strings.Contains(string(out), "cannot be written") || !strings.Contains(string(out), "hint: ") {
		t.Errorf("%v: %s", err, out)
	}
}

// overload gives the program two places for exchanges under way: who finds no
// place is told so at once and comes again; nothing is lost or done twice.
func overload(t *testing.T, p program) {
	for _, busy := range []string{"", "busy = \"Busy. Nothing is lost. Dial again.\"\n"} {
		s, town, phones := inhabit(t, p, 30, "phone_burst =", "in_flight = 2\nphone_burst =", "kind = \"ussd\"\n", "kind = \"ussd\"\n"+busy)
		run := s.start(t)
		run.ready(t)
		for _, p := range phones {
			p.busy = busy != ""
		}
		town.move(run.address)
		town.answered(300)
		_, metrics := run.get(t, "/metrics")
		if !strings.Contains(metrics, `threshline_refusals_total{channel="valley-ussd",reason="overload"}`) {
			t.Errorf("nobody was turned away: %s", fmt.Sprint(len(metrics)))
		}
		finish(t, s, town, run, phones)
	}
}
