package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// TestScripts plays the sessions of testdata/cli; the first word of a file's
// name is the subcommand.
func TestScripts(t *testing.T) {
	dir := filepath.Join(moduleRoot, "testdata", "cli")
	files, err := filepath.Glob(filepath.Join(dir, "*.txtar"))
	if err != nil || len(files) == 0 {
		t.Fatalf("found no script in %s: %v", dir, err)
	}
	testscript.Run(t, testscript.Params{Dir: dir, UpdateScripts: os.Getenv("UPDATE_SCRIPTS") != ""})
}
