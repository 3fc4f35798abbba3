package main

import (
	"errors"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"threshline/cmd/threshline/demo"
	"threshline/session"
)

// widths are those of a small phone, a tablet and a desk, in CSS pixels.
var widths = []int64{360, 768, 1280}

// heaviest is the most that a page may weigh, in bytes, with all it loads.
const heaviest = 150_000

// outOfSight lists elements that stick out of the screen where nothing lets
// one scroll to them.
const outOfSight = `[...document.querySelectorAll("main *")].filter(e => {
	const r = e.getBoundingClientRect();
	return r.width > 0 && r.right > innerWidth + 1 && !e.closest(".scroll") && getComputedStyle(e).position != "absolute" && !e.closest("svg");
}).map(e => e.tagName + " " + e.className).slice(0, 3)`

// unlabelled lists fields without a label, and pictures without words.
const unlabelled = `[...document.querySelectorAll("input:not([type=hidden]), select")].filter(e => !e.labels || e.labels.length == 0).map(e => e.name)
	.concat([...document.querySelectorAll("svg")].filter(e => !e.querySelector("title") || !e.querySelector("desc") || !e.closest("figure").querySelector("table")).map(e => "svg"))`

// weight is what a page and all it loads weigh uncompressed.
const weight = `performance.getEntriesByType("navigation").concat(performance.getEntriesByType("resource")).reduce((sum, e) => sum + e.decodedBodySize, 0)`

func TestEveryPageFitsEveryScreen(t *testing.T) {
	t.Parallel()
	s, base := servedSeason(t)
	handsToo(t, s)
	b := openBrowser(t, base)
	b.signUp(s)
	paths := get(b, chromedp.Evaluate[[]string](`[...document.querySelectorAll("nav a")].map(a => a.getAttribute("href"))`))
	if len(paths) < 10 {
		t.Fatalf("there are only %d pages to look at", len(paths))
	}
	paths = append(paths, "/desk/report", "/desk/hands", "/desk/lots/"+someSlip(t, s), "/desk/growers/grower-1-01", "/desk/lots?district=Kisima&kind=re-check")
	for _, width := range widths {
		b.do(chromedp.EmulateViewport(width, 900))
		for _, path := range paths {
			if status := b.open(path); status != 200 {
				t.Errorf("%s: status %d", path, status)
			}
			if over := get(b, chromedp.Evaluate[int](`document.documentElement.scrollWidth - document.documentElement.clientWidth`)); over > 0 {
				t.Errorf("%s is %d px wider than a screen of %d px", path, over, width)
			}
			if out := get(b, chromedp.Evaluate[[]string](outOfSight)); len(out) > 0 {
				t.Errorf("%s at %d px: out of sight: %v", path, width, out)
			}
			if bare := get(b, chromedp.Evaluate[[]string](unlabelled)); len(bare) > 0 {
				t.Errorf("%s: without a label, a title or a table: %v", path, bare)
			}
			if n := get(b, chromedp.Evaluate[int](weight)); n == 0 || n > heaviest {
				t.Errorf("%s weighs %d bytes", path, n)
			}
			b.picture(strings.Trim(strings.NewReplacer("/", "_", "?", "_", "&", "_").Replace(path), "_") + "-" + strconv.FormatInt(width, 10))
		}
	}
	b.quiet()
}

// handsToo files checks by hand beside those of the season, pairs among them.
func handsToo(t *testing.T, s *station) {
	t.Helper()
	if err := errors.Join(demo.FileHands(t.Context(), s.store, s.programme), s.feed.CatchUp(t.Context())); err != nil {
		t.Fatal(err)
	}
}

// someSlip is a lot with a remedy at hand, a re-check before it or not.
func someSlip(t *testing.T, s *station) string {
	t.Helper()
	checks, err := s.store.Filed(t.Context(), 0, 500)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range checks {
		if c.Recheck != "" && c.State == session.Filed {
			return string(c.Slip)
		}
	}
	t.Fatal("the season has no re-check")
	return ""
}
