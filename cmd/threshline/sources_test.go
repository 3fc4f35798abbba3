package main

import (
	"bufio"
	"go/ast"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// tagPattern finds a source tag in a comment or a data file: [IRRI-MC],
// [CFR-868 §868.308].
var tagPattern = regexp.MustCompile(`\[([A-Z][A-Z0-9.]+(?:-[A-Z0-9.]+)+)(?: [^\]\n]{1,60})?\]`)

// sourceStatuses are what a row may say about how far a source was used.
var sourceStatuses = []string{"used", "partial", "secondary", "weak", "from memory", "assumed", "common practice", "superseded"}

func readSources(t *testing.T) map[string]bool {
	t.Helper()
	file, err := os.Open(filepath.Join(moduleRoot, "testdata", "sources", "index.txt"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows := map[string]bool{}
	lines := bufio.NewScanner(file)
	for n := 1; lines.Scan(); n++ {
		line := strings.TrimSpace(lines.Text())
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		columns := strings.Split(line, "|")
		for i := range columns {
			columns[i] = strings.TrimSpace(columns[i])
		}
		if len(columns) != 6 || slices.Contains(columns, "") {
			t.Errorf("index.txt:%d: want six filled columns: tag, title, issuer and edition, where read, date read, status", n)
			continue
		}
		if !slices.Contains(sourceStatuses, columns[5]) {
			t.Errorf("index.txt:%d: status %q, want one of %q", n, columns[5], sourceStatuses)
		}
		if rows[columns[0]] {
			t.Errorf("index.txt:%d: %s stands twice", n, columns[0])
		}
		rows[columns[0]] = true
	}
	if len(rows) == 0 {
		t.Fatal("index.txt holds no source")
	}
	return rows
}

// citedTags lists every tag with one place where it is cited: comments and
// strings of Go files, and the data files beside them.
func citedTags(t *testing.T) map[string]string {
	t.Helper()
	cited := map[string]string{}
	note := func(where, text string) {
		for _, m := range tagPattern.FindAllStringSubmatch(text, -1) {
			cited[m[1]] = where
		}
	}
	files, _ := parseModule(t)
	for _, f := range files {
		for _, group := range f.tree.Comments {
			note(f.name, group.Text())
		}
		ast.Inspect(f.tree, func(n ast.Node) bool {
			if lit, ok := n.(*ast.BasicLit); ok {
				note(f.name, lit.Value)
			}
			return true
		})
	}
	data := 0
	for _, pattern := range []string{"*.md", "grading/*/*.toml", "advice/*.toml", "session/*/*.toml", "gateway/*/*.toml", "testdata/*/*.csv", "testdata/*/*.txt"} {
		names, err := filepath.Glob(filepath.Join(moduleRoot, pattern))
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range names {
			if strings.Contains(filepath.ToSlash(name), "testdata/sources/") {
				continue
			}
			text, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			data++
			note(name, string(text))
			for _, m := range sourceKey.FindAllStringSubmatch(string(text), -1) {
				cited[m[1]] = name
			}
		}
	}
	if data == 0 {
		t.Fatal("found no data file to look at")
	}
	return cited
}

// sourceKey finds the tag that a data file gives as a value.
var sourceKey = regexp.MustCompile(`(?m)^\s*(?:source_tag|tag)\s*=\s*"([A-Z][A-Z0-9.-]+)"`)

func TestEveryTagHasARowAndEveryRowIsCited(t *testing.T) {
	rows, cited := readSources(t), citedTags(t)
	for tag, where := range cited {
		if !rows[tag] {
			t.Errorf("%s cites [%s], which has no row in testdata/sources/index.txt", where, tag)
		}
	}
	for tag := range rows {
		if _, ok := cited[tag]; !ok {
			t.Errorf("testdata/sources/index.txt has a row %s that nothing cites", tag)
		}
	}
}
