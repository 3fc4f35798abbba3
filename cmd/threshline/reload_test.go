package main

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// reloads is how often the configuration is changed under the phones.
const reloads = 6

// TestTheConfigurationIsReadAgainUnderway changes the configuration of the
// running program under dozens of phones: none sees a request fail, none has
// its dialogue dropped, the new words show, and a bad file changes nothing.
func TestTheConfigurationIsReadAgainUnderway(t *testing.T) {
	t.Parallel()
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	carrier := newCarrierStub(t, rand.New(rand.NewPCG(seed, 2)))
	site := newSite(t, buildProgram(t), carrier.address())
	town := newTown(40)
	phones := settle(t, town, carrier, seed)
	whole, err := os.ReadFile(site.config())
	if err != nil {
		t.Fatal(err)
	}
	run := site.start(t)
	run.ready(t)
	town.move(run.address)
	writeWording(t, site)
	for n := range reloads {
		town.answered(100)
		change, says := strings.NewReplacer(`"agmark-paddy"`, `"no-such-standard"`), "the old one stays in force"
		if n%2 == 1 {
			change, says = strings.NewReplacer(`currency = "MVS"`, `wording_dir = "words"`, `budget = 160`, `budget = 150`), "configuration loaded again"
		}
		site.configure(t, change.Replace(string(whole)))
		before := strings.Count(site.log.String(), says)
		if err := run.cmd.Process.Signal(syscall.SIGHUP); err != nil {
			t.Fatal(err)
		}
		// Phones go on while it reloads; each answer is a chance to look.
		for strings.Count(site.log.String(), says) == before && !t.Failed() {
			town.answered(20)
		}
	}
	town.update(func() { town.over = true })
	town.await(func() bool { return town.left == town.phones })
	run.stop(t)
	examine(t, site, phones, true)
	shown := 0
	for _, p := range phones {
		for _, reply := range p.replies {
			if strings.Contains(reply, "Lay a check") {
				shown++
			}
		}
	}
	if shown == 0 {
		t.Error("no phone saw the new words")
	}
}

// writeWording writes a catalogue that says one thing in its own way.
func writeWording(t *testing.T, s *site) {
	t.Helper()
	dir := filepath.Join(s.dir, "words")
	if err := os.Mkdir(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	text := "[meta]\nlanguage = \"en\"\nname = \"English\"\n\n[menu]\ncheck = \"1 Lay a check\"\n"
	if err := os.WriteFile(filepath.Join(dir, "en.toml"), []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}
