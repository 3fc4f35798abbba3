package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	cdpbrowser "github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"threshline/session"
)

// TestTheCoordinatorsWay signs in, filters, reads a chart's table, looks at the
// what-if, exports the checks and reads the file, in a real browser.
func TestTheCoordinatorsWay(t *testing.T) {
	t.Parallel()
	s, base := servedSeason(t)
	b := openBrowser(t, base)
	b.signUp(s)
	b.press(".visitor button")
	if status := b.open("/desk/grades"); status != 200 || !strings.HasSuffix(b.where(), "/desk/sign-in?next=%2Fdesk%2Fgrades") {
		t.Fatalf("signed out, a page gives %d at %s", status, b.where())
	}
	b.picture("signin-1280")
	b.fill("#name", deskName)
	b.fill("#password", deskPassword)
	b.press("main button")
	if !strings.HasSuffix(b.where(), "/desk/grades") {
		t.Fatalf("signing in leads to %s, not where one was going", b.where())
	}

	b.do(chromedp.Click(chromedp.CSS(".filter summary")), chromedp.SetValue(chromedp.CSS("#f-district"), "Kisima"))
	b.press(".filter button")
	if !strings.Contains(b.where(), "district=Kisima") {
		t.Fatalf("the filter leads to %s", b.where())
	}
	want, filed := districtCounts(t, s, "Kisima")
	b.do(chromedp.Click(chromedp.CSS("#grades details summary")))
	if text := get(b, chromedp.Text(chromedp.CSS("#grades table"))); text == "" {
		t.Error("the table behind the chart does not open")
	}
	got := map[string]string{}
	for _, row := range get(b, chromedp.Evaluate[[][]string](`[...document.querySelectorAll("#grades tbody tr")].map(r => [...r.children].map(c => c.textContent))`)) {
		got[row[0]] = row[1]
	}
	for label, n := range want {
		found := false
		for row, text := range got {
			if strings.HasPrefix(row, label+" (") {
				found = text == strconv.Itoa(n)
			}
		}
		if !found {
			t.Errorf("the chart's table says %v, the store has %d of %q", got, n, label)
		}
	}
	b.picture("grades-kisima-open-1280")

	b.open("/desk/what-if?district=Kisima")
	if text := get(b, chromedp.Text(chromedp.CSS("main"))); !strings.Contains(text, "Most worth doing: ") || !strings.Contains(text, "would rise") {
		t.Errorf("the what-if says: %s", text)
	}

	b.open("/desk/export?district=Kisima")
	rows := b.download()
	if len(rows) != filed+1 {
		t.Errorf("the file has %d rows, want a heading and %d", len(rows), filed)
	}
	for _, row := range rows[1:] {
		if row[4] != "Kisima" || strings.Contains(strings.Join(row, " "), "+33") {
			t.Fatalf("a row of the file: %q", row)
		}
	}
	b.quiet()
}

// where is the address of the page.
func (b *browser) where() string { return get(b, chromedp.Location()) }

// districtCounts counts a district's lots by the grade of their newest check, and
// its checks, from the store itself.
func districtCounts(t *testing.T, s *station, district string) (counts map[string]int, filed int) {
	t.Helper()
	checks, err := s.store.Filed(t.Context(), 0, 10_000)
	if err != nil {
		t.Fatal(err)
	}
	again := map[session.Slip]bool{}
	for _, c := range checks {
		again[c.Recheck] = true
	}
	counts = map[string]int{}
	for _, c := range checks {
		if c.Lot.District != district {
			continue
		}
		if filed++; !again[c.Slip] {
			counts[string(c.Grade)]++
		}
	}
	if len(counts) == 0 {
		t.Fatalf("there are no checks in %s", district)
	}
	return counts, filed
}

// download presses the form's button and reads the CSV that the browser keeps.
func (b *browser) download() [][]string {
	b.t.Helper()
	dir := b.t.TempDir()
	yes := true
	progress := chromedp.BrowserEvents(b.ctx, cdpbrowser.DownloadProgress)
	b.do(chromedp.Func(func(ctx context.Context, _ *chromedp.Target) error {
		_, err := chromedp.CallBrowser(ctx, cdpbrowser.SetDownloadBehavior, cdpbrowser.SetDownloadBehaviorParams{
			Behavior: cdpbrowser.SetDownloadBehaviorBehaviorAllowAndName, DownloadPath: dir, EventsEnabled: &yes,
			BrowserContextID: chromedp.FromContext(b.ctx).BrowserContextID,
		})
		return err
	}), chromedp.Click(chromedp.CSS("form.box button")))
	for e, err := range progress {
		if err != nil {
			b.t.Fatal(err)
		}
		if e.State == cdpbrowser.DownloadProgressStateCanceled {
			b.t.Fatal("the browser gave the download up")
		}
		if e.State == cdpbrowser.DownloadProgressStateCompleted {
			data, err := os.ReadFile(filepath.Join(dir, e.GUID))
			if err != nil {
				b.t.Fatal(err)
			}
			rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
			if err != nil {
				b.t.Fatal(err)
			}
			return rows
		}
	}
	b.t.Fatal("no download came")
	return nil
}

// sheets counts the pages of a PDF.
var sheets = regexp.MustCompile(`/Type\s*/Page[^s]`)

// TestPagesPrint prints every kind of page on A4: none is empty, the report is
// one sheet, and what is for the screen only is left out.
func TestPagesPrint(t *testing.T) {
	t.Parallel()
	s, base := servedSeason(t)
	b := openBrowser(t, base)
	b.signUp(s)
	for path, most := range map[string]int{"/desk/report": 1, "/desk/": 2, "/desk/what-if": 4, "/desk/lots/" + someSlip(t, s): 4, "/desk/limits": 8} {
		b.open(path)
		pdf := get(b, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4), chromedp.PDFPreferCSSPageSize()))
		if n := len(sheets.FindAll(pdf, -1)); n < 1 || n > most {
			t.Errorf("%s prints on %d sheets, want at most %d", path, n, most)
		}
		if pictures != "" {
			name := filepath.Join(pictures, strings.Trim(strings.ReplaceAll(path, "/", "_"), "_")+".pdf")
			if err := os.WriteFile(name, pdf, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		b.do(chromedp.Func(func(ctx context.Context, _ *chromedp.Target) error {
			_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
			return err
		}))
		if seen := get(b, chromedp.Evaluate[[]string](`[...document.querySelectorAll("nav, .noprint, .visitor, button")].filter(e => e.checkVisibility()).map(e => e.outerHTML.slice(0, 60))`)); len(seen) > 0 {
			t.Errorf("%s prints what is for the screen: %v", path, seen)
		}
		if hidden := get(b, chromedp.Evaluate[int](`[...document.querySelectorAll("figure table")].filter(e => !e.closest(".sheet") && e.getBoundingClientRect().height == 0).length`)); hidden > 0 {
			t.Errorf("%s prints %d charts without their figures", path, hidden)
		}
		b.picture(strings.Trim(strings.ReplaceAll(path, "/", "_"), "_") + "-print")
		b.do(chromedp.Func(func(ctx context.Context, _ *chromedp.Target) error {
			_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: ""})
			return err
		}))
	}
	b.quiet()
}
