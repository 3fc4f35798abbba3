package main

import (
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// widths are those of a small phone, a tablet and a desk, in CSS pixels.
var widths = []int64{360, 768, 1280}

// heaviest is the most that a page may weigh, in bytes, with all it loads.
const heaviest = 150_000

func TestEveryPageFitsEveryScreen(t *testing.T) {
	s, base := servedSeason(t)
	b := openBrowser(t, base)
	b.signUp(s)
	paths := get(b, chromedp.Evaluate[[]string](`[...document.querySelectorAll("nav a")].map(a => a.getAttribute("href"))`))
	if len(paths) == 0 {
		t.Fatal("there are no pages to look at")
	}
	for _, width := range widths {
		b.do(chromedp.EmulateViewport(width, 900))
		for _, path := range paths {
			if status := b.open(path); status != 200 {
				t.Errorf("%s: status %d", path, status)
			}
			if over := get(b, chromedp.Evaluate[int](`document.documentElement.scrollWidth - document.documentElement.clientWidth`)); over > 0 {
				t.Errorf("%s is %d px wider than a screen of %d px", path, over, width)
			}
			b.picture(strings.Trim(strings.ReplaceAll(path, "/", "_"), "_") + "-" + strconv.FormatInt(width, 10))
		}
	}
	b.quiet()
}
