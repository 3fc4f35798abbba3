package main

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/rogpeppe/go-internal/testscript"

	"threshline/cmd/threshline/demo"
	"threshline/session/store/bolt"
	"threshline/session/store/postgres/cluster"
)

// suite is all tests, and what they share: the program as it is shipped, the
// invented season in a store, a browser. Each is made when the first test wants
// it and goes with the last.
type suite struct{ *testing.M }

var shared struct {
	sync.Mutex
	dir  string
	stop []func()
}

func (s suite) Run() int {
	os.Setenv("VALLEY_TOKEN", valleyToken)
	return cluster.Run(func() int {
		code := s.M.Run()
		shared.Lock()
		defer shared.Unlock()
		for _, stop := range shared.stop {
			stop()
		}
		return code
	})
}

// TestMain lets the scripts call the real command as `threshline`.
func TestMain(m *testing.M) {
	testscript.Main(suite{m}, map[string]func(){
		"threshline": func() { os.Exit(run(context.Background(), os.Args[1:], stdio{os.Stdin, os.Stdout, os.Stderr})) },
	})
}

// sharedPath is where something shared lies.
func sharedPath(name string) (string, error) {
	shared.Lock()
	defer shared.Unlock()
	if shared.dir == "" {
		var err error
		if shared.dir, err = os.MkdirTemp("", "threshline-tests-"); err != nil {
			return "", err
		}
	}
	return filepath.Join(shared.dir, name), nil
}

// program is the real binary, built as it is shipped.
type program struct{ path string }

var builtProgram = sync.OnceValues(func() (string, error) {
	path, err := sharedPath("threshline")
	if err != nil {
		return "", err
	}
	build := exec.Command("go", "build", "-o", path, ".")
	build.Env = append(os.Environ(), "CGO_ENABLED=0")
	build.Stderr = os.Stderr
	return path, build.Run()
})

func buildProgram(t testing.TB) program {
	t.Helper()
	path, err := builtProgram()
	if err != nil {
		t.Fatalf("build: %v", err)
	}
	return program{path}
}

// buildJumping is the program with a clock that a file can set.
func buildJumping(t testing.TB) program {
	t.Helper()
	p := program{filepath.Join(t.TempDir(), "threshline")}
	build := exec.Command("go", "build", "-tags", "jumpingclock", "-o", p.path, ".")
	build.Env = append(os.Environ(), "CGO_ENABLED=0")
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("build: %v\n%s", err, out)
	}
	return p
}

// filedSeason is a store with the invented season, by the tests' own table.
func filedSeason(t testing.TB) []byte {
	t.Helper()
	data, err := seasonFile()
	if err != nil {
		t.Fatal(err)
	}
	return data
}

var seasonFile = sync.OnceValues(func() ([]byte, error) {
	path, err := sharedPath("season.db")
	if err != nil {
		return nil, err
	}
	cfg, err := valleyConfig()
	if err != nil {
		return nil, err
	}
	p, _, err := cfg.Build()
	if err != nil {
		return nil, err
	}
	store, err := bolt.Open(path, storeOptions(cfg))
	if err != nil {
		return nil, err
	}
	if _, err := demo.File(context.Background(), store, p, seasonsEnd); err != nil {
		return nil, err
	}
	if err := store.Close(); err != nil {
		return nil, err
	}
	return os.ReadFile(path)
})

// chromium is the tests' browser; each test gets a profile of its own in it.
var chromium = sync.OnceValues(func() (context.Context, error) {
	path := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "headless_shell"} {
		if found, err := exec.LookPath(name); err == nil {
			path = found
			break
		}
	}
	if path == "" {
		return nil, exec.ErrNotFound
	}
	profile, err := sharedPath("chromium")
	if err != nil {
		return nil, err
	}
	ctx, stop := chromedp.NewExecAllocator(context.Background(), append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-sync", true), chromedp.Flag("no-proxy-server", true), chromedp.UserDataDir(profile))...)
	ctx, stopBrowser := chromedp.NewContext(ctx)
	shared.Lock()
	shared.stop = append(shared.stop, stopBrowser, stop)
	shared.Unlock()
	return ctx, chromedp.Do(ctx) // starts it
})
