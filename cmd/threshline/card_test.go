package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestTheCardCommand(t *testing.T) {
	path := filepath.Join(t.TempDir(), "card.html")
	var out, errs bytes.Buffer
	if code := run(t.Context(), []string{"card", "--language", "sw", "-o", path}, stdio{strings.NewReader(""), &out, &errs}); code != 0 {
		t.Fatalf("exit %d: %s", code, errs.String())
	}
	page, err := os.ReadFile(path)
	if err != nil || !bytes.Contains(page, []byte(`<html lang="sw">`)) {
		t.Errorf("the page is not in Swahili: %v", err)
	}
	errs.Reset()
	if code := run(t.Context(), []string{"card", "--language", "xx"}, stdio{strings.NewReader(""), &out, &errs}); code != 1 ||
		!strings.Contains(errs.String(), `language "xx"`) || !strings.Contains(errs.String(), "hint") {
		t.Errorf("exit %d for an unknown language: %s", code, errs.String())
	}
}
