package main

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode"

	"github.com/chromedp/chromedp"
	"github.com/ledongthuc/pdf"

	"threshline/session"
	"threshline/session/ledger"
)

// printedLists are the lists that a coordinator prints, with how many rows each
// is to have by the ledger itself.
func printedLists(t *testing.T, s *station) map[string][]session.Slip {
	t.Helper()
	v := s.feed.Ledger.View()
	all, kisima := slices.Collect(v.Slips(ledger.Filter{Way: ledger.EitherWay})), slices.Collect(v.Slips(ledger.Filter{Districts: []string{"Kisima"}, Kind: ledger.LastCheck, Way: ledger.EitherWay}))
	var visits []session.Slip
	for _, visit := range v.Visits(ledger.Filter{From: seasonsEnd.AddDate(0, 0, -6)}) {
		visits = append(visits, visit.Slip)
	}
	if len(all) < 400 || len(kisima) < 60 || len(visits) == 0 {
		t.Fatalf("%d checks, %d lots of Kisima, %d visits: too few to go over a page", len(all), len(kisima), len(visits))
	}
	return map[string][]session.Slip{
		"/desk/lots?rows=all": all, "/desk/lots?district=Kisima&kind=last&rows=all": kisima, "/desk/visits?rows=all&from=" + seasonsEnd.AddDate(0, 0, -6).Format("2006-01-02"): visits,
	}
}

// TestPaperHoldsWhatThePageSays prints what coordinators print on A4 and reads
// the sheets: each row and cell of the page is on them, nothing is printed over
// anything else or over the edge, and no heading stands alone at a sheet's foot.
func TestPaperHoldsWhatThePageSays(t *testing.T) {
	t.Parallel()
	s, base := servedSeason(t)
	b := openBrowser(t, base)
	b.signUp(s)
	handsToo(t, s)
	lists := printedLists(t, s)
	paths := []string{
		"/desk/", "/desk/hands", "/desk/report", "/desk/what-if", "/desk/findings", "/desk/grades", "/desk/limits", "/desk/districts", "/desk/lots", "/desk/growers?rows=all",
		"/desk/lots/" + someSlip(t, s), "/desk/growers/grower-1-01", "/desk/messages", "/desk/settings", "/desk/audit",
	}
	for path := range lists {
		paths = append(paths, path)
	}
	for _, path := range paths {
		t.Run(path, func(t *testing.T) {
			if status := b.open(path); status != 200 {
				t.Fatalf("status %d", status)
			}
			sheets := readPaper(t, get(b, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4), chromedp.PDFPreferCSSPageSize())), path)
			heads := get(b, chromedp.Evaluate[[]string](`[...document.querySelectorAll("main :is(thead, h2, h3, .caption)")].map(e => e.textContent)`))
			var whole strings.Builder
			for n, sheet := range sheets {
				said := printedText(sheet)
				whole.WriteString(said)
				for _, head := range heads {
					if head = solid(head); head != "" && n < len(sheets)-1 && strings.HasSuffix(said, head) {
						t.Errorf("sheet %d ends with the heading %q", n+1, head)
					}
				}
				for _, fault := range faultsOf(sheet) {
					t.Errorf("sheet %d: %s", n+1, fault)
				}
			}
			text := whole.String()
			for _, cell := range get(b, chromedp.Evaluate[[]string](`[...document.querySelectorAll("main :is(th, td, dd, li)")].filter(e => !e.closest(".noprint, .filter, nav, details:not(figure details), .sheet details")).map(e => e.textContent)`)) {
				if cell = solid(cell); !strings.Contains(text, cell) {
					t.Errorf("%q is on no sheet", cell)
				}
			}
			for _, slip := range lists[path] {
				if !strings.Contains(text, string(slip)) {
					t.Errorf("the lot %s is on no sheet", slip)
				}
			}
		})
	}
	b.quiet()
}

// readPaper reads the glyphs of each sheet of a PDF, and keeps it for a person to look at.
func readPaper(t *testing.T, file []byte, path string) (sheets [][]pdf.Text) {
	t.Helper()
	if pictures != "" {
		name := filepath.Join(pictures, strings.Trim(strings.NewReplacer("/", "_", "?", "_", "&", "_").Replace(path), "_")+".pdf")
		if err := os.WriteFile(name, file, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	r, err := pdf.NewReader(bytes.NewReader(file), int64(len(file)))
	if err != nil {
		t.Fatal(err)
	}
	for n := range r.NumPage() {
		sheets = append(sheets, r.Page(n+1).Content().Text)
	}
	if len(sheets) == 0 || len(sheets[0]) < 100 {
		t.Fatal("nothing can be read on the paper")
	}
	return sheets
}

// Measures of a sheet of A4 within its margins of 14 mm, in points.
const (
	paperLeft, paperRight = 39.6, 595 - 39.6
	paperFoot, paperTop   = 39.6, 842 - 39.6
)

// line is what is printed in one go, from left to right at one height.
type line struct {
	left, right, y, size float64
	said                 string
}

// linesOf joins the glyphs of a sheet. Texts of drawings come with the place of
// their first glyph alone: the others are reckoned as narrow as letters are.
func linesOf(sheet []pdf.Text) (lines []line) {
	for _, g := range sheet {
		last := len(lines) - 1
		switch {
		case last >= 0 && lines[last].y == g.Y && (g.X >= lines[last].right-g.FontSize && g.X < lines[last].right+0.4*g.FontSize || g.X == lines[last].left):
			l := &lines[last]
			l.said += g.S
			if g.X == l.left {
				l.right += 0.35 * g.FontSize
			} else {
				l.right = g.X + 0.35*g.FontSize
			}
		case strings.TrimFunc(g.S, unicode.IsSpace) != "":
			lines = append(lines, line{g.X, g.X + 0.35*g.FontSize, g.Y, g.FontSize, g.S})
		}
	}
	return lines
}

// faultsOf finds what is printed over the margin, or over something else.
func faultsOf(sheet []pdf.Text) (faults []string) {
	lines := linesOf(sheet)
	for i, l := range lines {
		if l.left < paperLeft-1 || l.right > paperRight+1 || l.y < paperFoot-1 || l.y > paperTop+1 {
			faults = append(faults, fmt.Sprintf("over the margin at %.0f, %.0f: %q", l.left, l.y, l.said))
		}
		for _, o := range lines[:i] {
			if min(l.right, o.right)-max(l.left, o.left) > 1 && math.Abs(l.y-o.y) < 0.6*min(l.size, o.size) {
				faults = append(faults, fmt.Sprintf("%q at %.0f, %.0f is printed over %q", l.said, l.left, l.y, o.said))
			}
		}
	}
	return faults
}

// printedText is what glyphs say, without spaces.
func printedText(sheet []pdf.Text) string {
	var b strings.Builder
	for _, g := range sheet {
		b.WriteString(g.S)
	}
	return solid(b.String())
}

// solid is a text without spaces, since where lines and cells break is not
// compared, and without letters that are joined in print.
func solid(s string) string {
	return ligatures.Replace(strings.Join(strings.Fields(s), ""))
}

var ligatures = strings.NewReplacer("\ufb00", "ff", "\ufb01", "fi", "\ufb02", "fl", "\ufb03", "ffi")
