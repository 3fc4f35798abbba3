package main

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"threshline/session"
)

// TestALotThatWasCheckedAgain goes in a real browser from a lot to its re-check
// and reads what that changed; the money is reckoned here from the store's own
// figures and the configuration's prices.
func TestALotThatWasCheckedAgain(t *testing.T) {
	t.Parallel()
	s, base := servedSeason(t)
	before, after := mendedLot(t, s)
	b := openBrowser(t, base)
	b.signUp(s)
	b.open("/desk/lots/" + string(before.Slip))
	b.press(`main a[href="/desk/lots/` + string(after.Slip) + `"]`)
	for _, width := range []int64{1280, 360} {
		b.do(chromedp.EmulateViewport(width, 800))
		b.open("/desk/lots/" + string(after.Slip))
		text := strings.Join(strings.Fields(get(b, chromedp.Text(chromedp.CSS("main")))), " ")
		for _, want := range []string{
			"Since the check before", "It rose from " + string(before.Grade) + " to " + string(after.Grade) + ".", "The work is not included.",
		} {
			if !strings.Contains(text, want) {
				t.Errorf("at %d the page lacks %q: %s", width, want, text)
			}
		}
		said := regexp.MustCompile(`it fetches about ([0-9,]+) MVS more`).FindStringSubmatch(text)
		want := after.Lot.KG.Float()*price(s, &after) - before.Lot.KG.Float()*price(s, &before)
		if said == nil || strings.ReplaceAll(said[1], ",", "") != fmt.Sprintf("%.0f", math.Round(want)) {
			t.Errorf("at %d the page says %q, the store %.0f", width, said, want)
		}
		if wide := get(b, chromedp.Evaluate[int64](`document.documentElement.scrollWidth`)); wide > width {
			t.Errorf("at %d the page is %d wide", width, wide)
		}
		b.picture(fmt.Sprintf("lot-again-%d", width))
	}
	b.quiet()
}

// mendedLot is a lot of the season with a re-check that found a better grade.
func mendedLot(t *testing.T, s *station) (before, after session.Check) {
	t.Helper()
	checks, err := s.store.Filed(t.Context(), 0, 10_000)
	if err != nil {
		t.Fatal(err)
	}
	by := map[session.Slip]session.Check{}
	for _, c := range checks {
		by[c.Slip] = c
	}
	for _, c := range checks {
		if b, ok := by[c.Recheck]; ok && c.Rank < b.Rank {
			return b, c
		}
	}
	t.Fatal("no re-check of the season found a better grade")
	return before, after
}

func price(s *station, c *session.Check) float64 {
	if p, ok := s.programme.Advice.Prices[c.Grade]; ok {
		return p.Float()
	}
	return s.programme.Advice.OutPrice.Float()
}
