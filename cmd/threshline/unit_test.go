package main

import (
	"strings"
	"testing"
)

// The unit starts the command with flags that it has, and takes away what it
// does not need.
func TestTheUnitFile(t *testing.T) {
	code, out, _ := commandLine(t, "unit")
	if code != 0 {
		t.Fatal(code)
	}
	have := map[string]string{}
	for line := range strings.Lines(out) {
		line = strings.TrimSpace(line)
		if line == "" || line[0] == '#' || line[0] == '[' {
			continue
		}
		key, value, ok := strings.Cut(line, "=")
		if !ok {
			t.Errorf("%q is no setting", line)
		}
		have[key] = value
	}
	for key, want := range map[string]string{
		"NoNewPrivileges": "yes", "ProtectSystem": "strict", "DynamicUser": "yes", "CapabilityBoundingSet": "",
		"MemoryDenyWriteExecute": "yes", "UMask": "0077", "PrivateDevices": "yes", "Restart": "always",
	} {
		if got, ok := have[key]; !ok || got != want {
			t.Errorf("%s=%q, want %q", key, got, want)
		}
	}
	words := strings.Fields(have["ExecStart"])
	if len(words) != 4 || words[1] != "serve" || words[2] != "--config" {
		t.Fatalf("ExecStart=%q", have["ExecStart"])
	}
	config := newSite(t, program{}, "127.0.0.1:1").config() + "-none"
	if code, _, problem := commandLine(t, words[1], words[2], config); code != 2 || !strings.Contains(problem, "--config") {
		t.Errorf("%d %s", code, problem) // the flag is known; the file is not there
	}
}
