package main

import (
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"threshline/cmd/threshline/config"
)

// tomlBlock finds the configuration examples of README.md: a whole file, or
// one channel.
var tomlBlock = regexp.MustCompile("(?s)```toml( channel)?\n(.*?)```")

func TestTheExamplesOfTheReadmeAreTrue(t *testing.T) {
	text, err := os.ReadFile(filepath.Join(moduleRoot, "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	for _, secret := range []string{"VALLEY_TOKEN", "RIVER_TOKEN", "HILL_TOKEN"} {
		t.Setenv(secret, "not-a-real-secret-0123456789")
	}
	t.Setenv("HILL_SIGNING_KEY", "whsec_bm90LWEtcmVhbC1zZWNyZXQtMDEyMzQ1Njc4OQ==")
	blocks := tomlBlock.FindAllStringSubmatch(string(text), -1)
	if len(blocks) < 3 {
		t.Fatalf("found %d examples, want the configuration and the carriers", len(blocks))
	}
	whole := blocks[0][2]
	for _, b := range blocks[1:] {
		if b[1] != "" {
			whole += "\n[[channel]]\n" + b[2]
		}
	}
	cfg, err := config.Parse("README.md", []byte(whole))
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := cfg.Build(); err != nil {
		t.Error(err)
	}
	built, err := buildChannels(cfg, http.DefaultClient)
	if err != nil || len(built.in) != 3 || len(built.out) != 1 {
		t.Errorf("built %d ways in and %d out: %v", len(built.in), len(built.out), err)
	}
}

// dialogueBlock finds the dialogue of README.md, and byChance in it what differs
// from check to check: the bags to spear and the slip.
var (
	dialogueBlock = regexp.MustCompile("(?s)## A check by phone.*?```\n(.*?)```")
	byChance      = regexp.MustCompile(`\d+(, \d+)+|Slip \w{7}`)
)

func TestTheDialogueOfTheReadmeIsTrue(t *testing.T) {
	text, err := os.ReadFile(filepath.Join(moduleRoot, "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	block := dialogueBlock.FindSubmatch(text)
	if block == nil {
		t.Fatal("found no dialogue")
	}
	keys, screens := append(slices.Clone(joined), "1"), []string{}
	for line := range strings.Lines(string(block[1])) {
		key, said, _ := strings.Cut(strings.TrimRight(line, "\n"), "   ")
		if typed, ok := strings.CutPrefix(key, "> "); ok {
			keys = append(keys, typed)
		}
		screens = append(screens, strings.Split(said, "...")...)
	}
	shown := byChance.ReplaceAllString(flat(startDemo(t).play(t, "valley-ussd", "+33639980042", keys...)), "#")
	for _, said := range screens {
		want := byChance.ReplaceAllString(strings.Join(strings.Fields(said), " "), "#")
		_, after, ok := strings.Cut(shown, want)
		if !ok {
			t.Fatalf("no screen says %q, or not at this step; what is left:\n%s", want, shown)
		}
		shown = after
	}
	if len(screens) < 10 {
		t.Errorf("found %d screens", len(screens))
	}
}

func TestTheReadmeNamesEveryCommand(t *testing.T) {
	text, err := os.ReadFile(filepath.Join(moduleRoot, "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	source, err := os.ReadFile("main.go")
	if err != nil {
		t.Fatal(err)
	}
	names := regexp.MustCompile("(?m)^\t([A-Z][a-z]+) +[a-z]+Cmd ").FindAllStringSubmatch(string(source), -1)
	if len(names) < 5 {
		t.Fatalf("found %d commands in main.go", len(names))
	}
	for _, n := range names {
		if !strings.Contains(string(text), "`threshline "+strings.ToLower(n[1])) {
			t.Errorf("README.md does not name threshline %s", strings.ToLower(n[1]))
		}
	}
}
