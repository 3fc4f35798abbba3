package main

import (
	"bytes"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"threshline/cmd/threshline/card"
	"threshline/grading/standard/standardtest"
	"threshline/session/programme"
	"threshline/session/wording"
)

// pdfPage finds a page of a PDF file.
var pdfPage = regexp.MustCompile(`/Type\s*/Page\b`)

// The pocket card is one sheet of A4 in every language, printed by a real browser:
// one side by the table with most rows, and by one of which much is told; on the other
// the check by hand, which is half a page high.
func TestThePocketCardIsOneSheet(t *testing.T) {
	t.Parallel()
	words, err := wording.Embedded()
	if err != nil {
		t.Fatal(err)
	}
	pages := map[string][]byte{}
	for _, id := range []string{"mbuyu-hand", "ph-paddy"} {
		s, err := standardtest.ByID(id)
		if err != nil {
			t.Fatal(err)
		}
		p := &programme.Programme{Name: "Mbuyu Valley rice scheme", ShortCode: "*0000#", KitAt: strings.Repeat("Kisima ", 8), Standard: s}
		for _, lang := range words.Languages() {
			var out bytes.Buffer
			if err := card.Write(&out, p, words, lang); err != nil {
				t.Fatal(err)
			}
			pages["/"+id+"."+lang] = out.Bytes()
		}
	}
	site := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		w.Write(pages[r.URL.Path])
	}))
	t.Cleanup(site.Close)
	b := openBrowser(t, site.URL)
	for path := range pages {
		b.open(path)
		paper := get(b, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4), chromedp.PDFMargin(8/25.4)))
		if n := len(pdfPage.FindAll(paper, -1)); n != 2 {
			t.Errorf("%s: %d pages, want the two sides of a sheet", path, n)
		}
		b.do(chromedp.EmulateViewport(733, 1000)) // 194 mm
		const half = (297/2 - 8) / 25.4 * 96      // of A4 less its margin, CSS pixels
		if height := get(b, chromedp.Evaluate[float64](`document.querySelector("article").getBoundingClientRect().height`)); height > half {
			t.Errorf("%s: the check by hand is %.0f pixels high, over half a page: %.0f", path, height, half)
		}
		if pictures != "" {
			os.WriteFile(filepath.Join(pictures, "card"+strings.ReplaceAll(path, "/", "-")+".pdf"), paper, 0o644)
			b.picture("card" + strings.ReplaceAll(path, "/", "-"))
		}
	}
}
