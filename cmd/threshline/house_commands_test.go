package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// Where it may not install, the test command says what to type and runs nothing.
func TestTheTestCommandSaysWhatItLacks(t *testing.T) {
	bin := t.TempDir()
	for _, tool := range []string{"bash", "dirname", "grep", "sort", "xargs"} {
		at, err := exec.LookPath(tool)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.Symlink(at, filepath.Join(bin, tool)); err != nil {
			t.Fatal(err)
		}
	}
	for name, script := range map[string]string{"id": "echo 1000", "gcc": "", "strace": "", "go": "echo tested"} {
		if err := os.WriteFile(filepath.Join(bin, name), []byte("#!"+filepath.Join(bin, "bash")+"\n"+script+"\n"), 0o700); err != nil {
			t.Fatal(err)
		}
	}
	test := func() (string, error) {
		cmd := exec.Command(filepath.Join(bin, "bash"), filepath.Join(moduleRoot, ".ci", "test"))
		cmd.Env = []string{"PATH=" + bin}
		out, err := cmd.CombinedOutput()
		return string(out), err
	}
	if out, err := test(); err == nil || out != "sudo apt-get update && sudo apt-get install -y chromium\n" {
		t.Errorf("without a browser: %v, %q", err, out)
	}
	if err := os.Symlink(filepath.Join(bin, "gcc"), filepath.Join(bin, "chromium")); err != nil {
		t.Fatal(err)
	}
	if out, err := test(); err != nil || out != "tested\ntested\ntested\n" { // with the race detector, then in full
		t.Errorf("with all it needs: %v, %q", err, out)
	}
}

// What README tells to type is what the checks before a change run.
func TestReadmeNamesTheTestCommand(t *testing.T) {
	for _, name := range []string{"README.md", filepath.Join(".ci", "run")} {
		text, err := os.ReadFile(filepath.Join(moduleRoot, name))
		if err != nil {
			t.Fatal(err)
		}
		found := false
		for line := range strings.Lines(string(text)) {
			found = found || strings.HasPrefix(line, ".ci/test")
		}
		if !found {
			t.Errorf("%s does not run .ci/test", name)
		}
	}
}
