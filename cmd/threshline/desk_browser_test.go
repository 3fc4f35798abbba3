package main

import (
	"context"
	"errors"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/rs/zerolog"
)

// pictures is where the browser tests leave what they saw, for a person to
// look at; nowhere when it is not set.
var pictures = os.Getenv("THRESHLINE_PICTURES")

// browser is a tab of a real browser at a served season.
type browser struct {
	t    *testing.T
	ctx  context.Context
	base string

	mu         sync.Mutex
	complaints []string // what the console says against the pages
}

// openBrowser opens a tab of Chromium, with a profile of its own. Without a browser
// these tests fail: they are never passed over.
func openBrowser(t *testing.T, base string) *browser {
	t.Helper()
	all, err := chromium()
	if errors.Is(err, exec.ErrNotFound) {
		t.Fatal("there is no browser: these tests need Chromium (the Debian package chromium) on the PATH")
	} else if err != nil {
		t.Fatal(err)
	}
	ctx, stop := chromedp.NewContext(all, chromedp.WithNewBrowserContext())
	t.Cleanup(stop)
	ctx, stop = context.WithTimeout(ctx, 4*time.Minute)
	t.Cleanup(stop)
	b := &browser{t: t, ctx: ctx, base: base}
	b.do(chromedp.EmulateViewport(1280, 900))
	messages := chromedp.Console(ctx)
	go func() {
		for m, err := range messages {
			if err != nil {
				return
			}
			if m.Type == chromedp.ConsoleWarning || m.Type == chromedp.ConsoleError || m.Type == chromedp.ConsoleException {
				b.mu.Lock()
				b.complaints = append(b.complaints, m.String()+" at "+m.URL)
				b.mu.Unlock()
			}
		}
	}()
	return b
}

// quiet fails the test for what the console said since the last time.
func (b *browser) quiet() {
	b.t.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, text := range b.complaints {
		b.t.Errorf("the browser complains: %s", text)
	}
	b.complaints = nil
}

func (b *browser) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	if err := chromedp.Do(b.ctx, steps...); err != nil {
		b.t.Fatal(err)
	}
}

// get is the value of an action.
func get[T any](b *browser, a chromedp.Action[T]) T {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, a)
	if err != nil {
		b.t.Fatal(err)
	}
	return v
}

// open goes to a page and gives the answer's status.
func (b *browser) open(path string) int64 {
	b.t.Helper()
	r, err := chromedp.RunResponse(b.ctx, chromedp.Navigate(b.base+path))
	if err != nil {
		b.t.Fatalf("%s: %v", path, err)
	}
	return r.Status
}

// press clicks what leads to another page and waits for it.
func (b *browser) press(selector string) int64 {
	b.t.Helper()
	r, err := chromedp.RunResponse(b.ctx, chromedp.Click(chromedp.CSS(selector)))
	if err != nil {
		b.t.Fatalf("press %s: %v", selector, err)
	}
	return r.Status
}

func (b *browser) fill(selector, text string) {
	b.t.Helper()
	b.do(chromedp.SetValue(chromedp.CSS(selector), text))
}

// picture keeps a picture of the whole page.
func (b *browser) picture(name string) {
	b.t.Helper()
	if pictures == "" {
		return
	}
	if err := os.WriteFile(filepath.Join(pictures, name+".png"), get(b, chromedp.FullScreenshot(100)), 0o600); err != nil {
		b.t.Fatal(err)
	}
}

// seasonsEnd is when the tests' season ends.
var seasonsEnd = time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)

// servedSeason is a station with the invented season, served for a test.
func servedSeason(t *testing.T) (*station, string) {
	t.Helper()
	cfg := valley(t)
	cfg.Programme.LearnUsual = false // it knows nothing of the season that it is given
	path := filepath.Join(t.TempDir(), "store.db")
	if err := os.WriteFile(path, filedSeason(t), 0o600); err != nil {
		t.Fatal(err)
	}
	s, err := openStation(cfg, path, zerolog.Nop())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.close() })
	server := httptest.NewServer(s.gateway)
	t.Cleanup(server.Close)
	return s, server.URL
}

const (
	deskName     = "head.office"
	deskPassword = "straw yellow grains"
)

// signUp makes the first administrator by the one-time link.
func (b *browser) signUp(s *station) {
	b.t.Helper()
	path, err := s.front.Guard().FirstLink(b.t.Context())
	if err != nil || path == "" {
		b.t.Fatalf("first link: %q, %v", path, err)
	}
	b.open(path)
	b.fill("#name", deskName)
	b.fill("#password", deskPassword)
	b.fill("#again", deskPassword)
	if status := b.press("main button"); status != 200 {
		b.t.Fatalf("sign up: status %d", status)
	}
}
