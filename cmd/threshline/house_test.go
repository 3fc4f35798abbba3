package main

import (
	"errors"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
)

// moduleRoot is where go.mod lies, seen from this package.
const moduleRoot = "../.."

// mayImport says, package by package, which packages of ours each may import.
// It is held against the source with go/parser: a cached `go list` would miss
// a new import.
var mayImport = map[string][]string{
	"grading":                       {},
	"grading/chance":                {"grading"},
	"grading/standard":              {"grading"},
	"grading/standard/standardtest": {"grading", "grading/standard"},
	"grading/sampling":              {"grading"},
	"grading/byhand":                {"grading", "grading/chance"},
	"advice":                        {"grading", "grading/byhand", "grading/chance", "advice/air"},
	"advice/air":                    {},

	"session":           {"grading", "advice"},
	"session/programme": {"session", "grading", "grading/chance", "grading/sampling", "grading/byhand", "advice"},
	"session/talk":      {"session", "session/programme", "session/wording", "grading", "grading/sampling", "grading/byhand", "advice"},
	"session/screen": {
		"session", "session/programme", "session/talk", "session/wording", "session/shorthand",
		"session/screen/ask", "session/screen/signs", "session/screen/answer", "session/screen/people", "session/screen/dry",
		"grading", "grading/chance", "grading/sampling", "grading/byhand", "advice",
	},
	"session/screen/ask":    {"session", "session/talk", "session/wording", "session/shorthand", "grading"},
	"session/screen/people": {"session", "session/programme", "session/screen/ask", "session/talk", "session/wording", "grading"},
	"session/screen/dry": {
		"session", "session/screen/answer", "session/screen/ask", "session/screen/signs", "session/shorthand", "session/talk", "session/wording", "grading", "advice",
	},
	"session/screen/signs": {"session", "session/screen/ask", "session/shorthand", "session/talk", "grading"},
	"session/screen/answer": {
		"session", "session/programme", "session/screen/ask", "session/screen/signs", "session/talk", "session/wording",
		"grading", "grading/byhand", "advice",
	},
	"session/wording":   {"grading"},
	"session/shorthand": {"grading", "session/wording"},
	"session/ledger": {
		"session", "session/programme", "session/ledger/figure", "session/ledger/hands", "session/ledger/packed",
		"grading", "grading/chance", "grading/byhand", "advice",
	},
	"session/ledger/hands":  {"session", "session/programme", "session/ledger/figure", "grading", "advice"},
	"session/ledger/figure": {"grading", "grading/chance"},
	"session/ledger/packed": {"session", "grading"},

	"session/store/record": {"session", "grading"},
	"session/store/bolt": {
		"session", "session/store/record", "session/store/disk", "session/store/journal", "session/store/bolt/pages", "session/store/recent",
	},
	"session/store/disk":             {},
	"session/store/bolt/pages":       {},
	"session/store/recent":           {"session"},
	"session/store/journal":          {"session", "session/store/record", "session/store/disk"},
	"session/store/postgres":         {"session", "session/store/record", "session/store/disk", "session/store/journal"},
	"session/store/postgres/cluster": {},
	"session/store/mem":              {"session", "grading", "advice"},
	"session/store/storetest":        {"session", "grading", "advice"},

	"gateway/gsm":         {"grading"},
	"gateway/bare":        {},
	"gateway/carrier":     {"session", "gateway/gsm"},
	"gateway/dispatch":    {"session", "gateway/gsm"},
	"gateway/desk/sheet":  {"session", "session/programme", "session/ledger/figure", "session/ledger/hands", "grading", "gateway/desk/paper"},
	"gateway/desk/paper":  {"session", "session/ledger", "session/ledger/figure", "session/wording", "grading"},
	"gateway/desk/access": {"session", "gateway/desk/paper"},
	"gateway/desk/reckon": {"session/ledger", "session/ledger/hands"},
	"gateway/desk/export": {"session", "grading", "gateway/desk/paper"},
	"gateway/desk/chart":  {"session/ledger", "session/ledger/figure", "grading", "gateway/desk/paper"},
	"gateway/desk": {
		"session", "session/programme", "session/ledger", "session/ledger/figure", "session/wording", "grading", "grading/byhand", "advice",
		"session/ledger/hands", "gateway/desk/paper", "gateway/desk/access", "gateway/desk/export", "gateway/desk/chart", "gateway/desk/sheet", "gateway/desk/reckon",
	},
	"gateway":                 {"session", "gateway/gsm", "gateway/carrier", "gateway/dispatch"},
	"cmd/threshline":          {"*"},
	"cmd/threshline/handset":  {"session", "gateway/carrier", "gateway/gsm"},
	"cmd/threshline/progress": {},
	"cmd/threshline/config": {
		"session", "session/programme", "session/wording", "grading", "grading/sampling", "grading/standard", "advice", "gateway/carrier", "gateway/gsm",
		"cmd/threshline/demo",
	},
	"cmd/threshline/feed":   {"session", "session/programme", "session/ledger", "grading", "grading/standard"},
	"cmd/threshline/hear":   {"session", "gateway/carrier", "gateway/gsm"},
	"cmd/threshline/report": {"grading", "grading/chance", "grading/sampling", "grading/byhand", "advice", "session/wording"},
	"cmd/threshline/card": {
		"cmd/threshline/report", "session/programme", "session/wording", "session/shorthand", "grading", "grading/sampling", "advice",
	},
	"cmd/threshline/demo": {"session", "session/programme", "grading", "advice"},
	"cmd/threshline/load": {"cmd/threshline/handset", "gateway/carrier"},
}

// pure packages decide and never do: no clock, no input, no output.
var pure = []string{
	"grading", "grading/chance", "grading/standard", "grading/sampling", "grading/byhand", "advice", "advice/air",
	"session", "session/programme", "session/talk", "session/screen", "session/screen/ask", "session/screen/signs", "session/screen/answer", "session/screen/people", "session/screen/dry", "session/wording", "session/shorthand",
	"session/ledger", "session/ledger/figure", "session/ledger/hands", "session/ledger/packed",
	"session/store/record", "session/store/recent", "session/store/bolt/pages", "gateway/gsm",
}

// edge packages do: they read clocks, files or the network, or drive what does.
var edge = []string{
	"grading/standard/standardtest", "session/store/bolt", "session/store/disk", "session/store/journal", "session/store/mem", "session/store/storetest",
	"session/store/postgres", "session/store/postgres/cluster",
	"gateway", "gateway/bare", "gateway/carrier", "gateway/dispatch",
	"gateway/desk", "gateway/desk/access", "gateway/desk/chart", "gateway/desk/export", "gateway/desk/paper", "gateway/desk/reckon", "gateway/desk/sheet",
	"cmd/threshline", "cmd/threshline/card", "cmd/threshline/config", "cmd/threshline/demo", "cmd/threshline/feed", "cmd/threshline/handset", "cmd/threshline/hear", "cmd/threshline/load", "cmd/threshline/progress", "cmd/threshline/report",
}

// sourceFile is one parsed Go file of the module.
type sourceFile struct {
	pkg, name string
	test      bool
	tree      *ast.File
}

// parsedModule is the whole module, read once.
var parsedModule = sync.OnceValues(func() (files []sourceFile, err error) {
	err = filepath.WalkDir(moduleRoot, func(name string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if entry.IsDir() {
			base := entry.Name()
			if base == "testdata" || strings.HasPrefix(base, ".") && strings.Trim(base, ".") != "" {
				return filepath.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(name, ".go") {
			return nil
		}
		tree, err := parser.ParseFile(moduleSet, name, nil, parser.ParseComments)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(moduleRoot, name)
		if err != nil {
			return err
		}
		rel = filepath.ToSlash(rel)
		files = append(files, sourceFile{path.Dir(rel), rel, strings.HasSuffix(rel, "_test.go"), tree})
		return nil
	})
	if err == nil && len(files) == 0 {
		err = errors.New("found no Go file to look at")
	}
	return files, err
})

var moduleSet = token.NewFileSet()

func parseModule(t *testing.T) ([]sourceFile, *token.FileSet) {
	t.Helper()
	files, err := parsedModule()
	if err != nil {
		t.Fatal(err)
	}
	return files, moduleSet
}

func imports(f *ast.File) (paths []string) {
	for _, spec := range f.Imports {
		p, _ := strconv.Unquote(spec.Path.Value)
		paths = append(paths, p)
	}
	return paths
}

func TestEveryPackageImportsOnlyWhatTheTableAllows(t *testing.T) {
	files, _ := parseModule(t)
	seen := map[string]bool{}
	for _, f := range files {
		allowed, known := mayImport[f.pkg]
		if !known {
			t.Errorf("%s: package %q is not in the table of the house", f.name, f.pkg)
			continue
		}
		seen[f.pkg] = true
		for _, p := range imports(f.tree) {
			ours, isOurs := strings.CutPrefix(p, "threshline/")
			if !isOurs {
				continue
			}
			if ours == "cmd/threshline" {
				t.Errorf("%s imports %s: nobody may", f.name, p)
			}
			if f.test || ours == f.pkg {
				continue
			}
			if !slices.Contains(allowed, ours) && !slices.Contains(allowed, "*") {
				t.Errorf("%s imports %s: the table does not allow it", f.name, p)
			}
		}
	}
	for pkg := range mayImport {
		if !seen[pkg] {
			t.Errorf("the table names package %q, which is not there", pkg)
		}
	}
}

// A package that stands in no list would be held to nothing.
func TestPurePackagesAndThoseAtTheEdgeAreAll(t *testing.T) {
	files, _ := parseModule(t)
	packages := map[string]bool{}
	for _, f := range files {
		packages[f.pkg] = true
	}
	for pkg := range packages {
		if slices.Contains(pure, pkg) == slices.Contains(edge, pkg) {
			t.Errorf("package %q must stand in one of the lists pure and edge", pkg)
		}
	}
	for _, pkg := range slices.Concat(pure, edge) {
		if !packages[pkg] {
			t.Errorf("the lists name package %q, which is not there", pkg)
		}
	}
}

func TestTheStoreLibraryAndTheNetworkStayAtTheEdge(t *testing.T) {
	files, _ := parseModule(t)
	for _, f := range files {
		for _, p := range imports(f.tree) {
			if strings.HasPrefix(p, "go.etcd.io/bbolt") && f.pkg != "session/store/bolt" {
				t.Errorf("%s imports %s: only session/store/bolt may", f.name, p)
			}
			if strings.HasPrefix(p, "github.com/jackc/") && f.pkg != "session/store/postgres" {
				t.Errorf("%s imports %s: only session/store/postgres may", f.name, p)
			}
			served := f.pkg == "gateway" || strings.HasPrefix(f.pkg, "gateway/") || strings.HasPrefix(f.pkg, "cmd/")
			if (p == "net/http" || strings.HasPrefix(p, "net/http/")) && !served {
				t.Errorf("%s imports %s: only the gateway and the command may", f.name, p)
			}
		}
	}
}

func TestPurePackagesReadNoClockAndDoNoInputOrOutput(t *testing.T) {
	forbidden := []string{"net", "os", "log", "context", "math/rand"}
	clock := []string{"Now", "Since", "Until", "After", "Sleep", "Tick"}
	files, set := parseModule(t)
	for _, f := range files {
		if f.test || !slices.Contains(pure, f.pkg) {
			continue
		}
		for _, p := range imports(f.tree) {
			for _, bad := range forbidden {
				if p == bad || strings.HasPrefix(p, bad+"/") {
					t.Errorf("%s imports %s: a pure package may not", f.name, p)
				}
			}
		}
		ast.Inspect(f.tree, func(n ast.Node) bool {
			sel, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			if x, ok := sel.X.(*ast.Ident); ok && x.Name == "time" && slices.Contains(clock, sel.Sel.Name) {
				t.Errorf("%s: time.%s in a pure package", set.Position(sel.Pos()), sel.Sel.Name)
			}
			return true
		})
	}
}

func TestNothingElseLiesAtTheTop(t *testing.T) {
	allowed := []string{
		"cmd", "gateway", "session", "grading", "advice", "testdata", "go.mod", "go.sum",
		"README.md", "DEVELOPERS.md", "LICENSE", ".ci", ".gitignore", ".git",
	}
	entries, err := os.ReadDir(moduleRoot)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		// A demo or a build leaves threshline.db or the binary here; both are ignored by git.
		if !slices.Contains(allowed, e.Name()) && !strings.HasPrefix(e.Name(), "threshline") {
			t.Errorf("%s lies at the top of the module", e.Name())
		}
	}
}

// The demonstration can change without a test of something else noticing: who
// wants a table to grade by takes the tests' own.
func TestNoTestStandsOnTheDemonstrationsTable(t *testing.T) {
	files, set := parseModule(t)
	for _, f := range files {
		if !f.test || strings.HasPrefix(f.pkg, "grading/standard") {
			continue
		}
		ast.Inspect(f.tree, func(n ast.Node) bool {
			call, ok := n.(*ast.CallExpr)
			if !ok {
				return true
			}
			find, ok := call.Fun.(*ast.SelectorExpr)
			if !ok || find.Sel.Name != "ByID" || len(call.Args) != 1 {
				return true
			}
			if x, ok := find.X.(*ast.Ident); !ok || x.Name != "standard" {
				return true
			}
			if id, ok := call.Args[0].(*ast.BasicLit); !ok || id.Value == strconv.Quote("mbuyu-hand") {
				t.Errorf("%s: a test may grade by the demonstration's table here; standardtest.ByID has one for tests", set.Position(call.Pos()))
			}
			return true
		})
	}
}
