package main

import (
	"go/scanner"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// mostLines is how much a room may hold to be held in the head: lines of code
// without comments and blank ones, tests not counted. Those in larger are known to
// be more, and may not grow.
const mostLines = 3500

var larger = map[string]int{
	"gateway/desk": 4450, "session/store/bolt": 4250,
}

func TestEveryRoomCanBeHeldInTheHead(t *testing.T) {
	files, _ := parseModule(t)
	lines := map[string]int{}
	for _, f := range files {
		if !f.test {
			lines[f.pkg] += codeLines(t, f.name)
		}
	}
	for pkg, n := range lines {
		if most := max(mostLines, larger[pkg]); n > most {
			t.Errorf("%s holds %d lines, over %d: part it", pkg, n, most)
		}
	}
	for pkg := range larger {
		if lines[pkg] <= mostLines {
			t.Errorf("%s holds %d lines: it needs no allowance any more", pkg, lines[pkg])
		}
	}
}

// codeLines counts the lines of a file that hold code.
func codeLines(t *testing.T, name string) int {
	t.Helper()
	source, err := os.ReadFile(filepath.Join(moduleRoot, filepath.FromSlash(name)))
	if err != nil {
		t.Fatal(err)
	}
	var s scanner.Scanner
	file := token.NewFileSet().AddFile(name, -1, len(source))
	s.Init(file, source, nil, 0) // comments are passed over
	held := map[int]bool{}
	for {
		pos, tok, text := s.Scan()
		if tok == token.EOF {
			return len(held)
		}
		if tok == token.SEMICOLON && text == "\n" { // put in at the end of a line
			continue
		}
		for i := range 1 + strings.Count(text, "\n") {
			held[file.Line(pos)+i] = true
		}
	}
}

// sentenceEnd is where one sentence ends and another begins.
var sentenceEnd = regexp.MustCompile(`[.!?]\s+[A-Z]`)

// What a room is for is one sentence: the first paragraph of its doc comment.
func TestEveryPackagesPurposeIsOneSentence(t *testing.T) {
	files, _ := parseModule(t)
	purpose := map[string]string{}
	for _, f := range files {
		if _, known := purpose[f.pkg]; !known {
			purpose[f.pkg] = ""
		}
		if f.test || f.tree.Doc == nil {
			continue
		}
		if purpose[f.pkg] != "" {
			t.Errorf("%s: the package has a doc comment elsewhere", f.name)
		}
		purpose[f.pkg], _, _ = strings.Cut(f.tree.Doc.Text(), "\n\n")
	}
	for pkg, text := range purpose {
		begin := "Package " + pkg[strings.LastIndex(pkg, "/")+1:] + " "
		if strings.HasPrefix(pkg, "cmd/") && strings.Count(pkg, "/") == 1 {
			begin = "Command threshline "
		}
		text = strings.TrimSpace(text)
		if !strings.HasPrefix(text, begin) || !strings.HasSuffix(text, ".") || sentenceEnd.MatchString(text) {
			t.Errorf("%s: its doc comment must say in its first paragraph, in one sentence that begins with %q, what it is for; it says %q", pkg, begin, text)
		}
	}
}
