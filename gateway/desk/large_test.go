package desk_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"threshline/session"
)

// heaviest is the most that a page may weigh, in bytes.
const heaviest = 150_000

// TestNoPageGrowsWithTheProgramme looks at every page over 100,000 checks by
// 400 agents in 60 districts and 900 villages.
func TestNoPageGrowsWithTheProgramme(t *testing.T) {
	h := newHouse(t)
	admin := h.hundredThousand()
	for _, path := range pages {
		if path == "/desk/lots" {
			path += "?district=Kisima"
		}
		a := admin.get(path)
		if a.Status != http.StatusOK {
			t.Errorf("%s: status %d", path, a.Status)
		}
		if n := len(a.Body) + len(admin.get(style(t, a.Body)).Body); n > heaviest {
			t.Errorf("%s weighs %d bytes with its style sheet, want at most %d", path, n, heaviest)
		} else {
			t.Logf("%s weighs %d bytes", path, n)
		}
	}
	if a := admin.get("/desk/"); !strings.Contains(a.Body, "100,050\u202fchecks") {
		t.Error("the season does not count them all")
	}
}

// hundredThousand fills the ledger, and signs an administrator in. The store
// behind it holds 50 checks only.
func (h *house) hundredThousand() *caller {
	h.t.Helper()
	h.people()
	few := make([]session.Check, 50)
	for i := range few {
		few[i] = h.check(i, "Kisima", reading(128+int64(i), int64(5+i*2), int64(i%12)))
	}
	h.put(session.Writes{Checks: few})
	if err := h.catchUp(h.t.Context()); err != nil { // the ledger goes on from the highest position it has seen
		h.t.Fatal(err)
	}
	many := make([]session.Check, 0, 5000)
	for i := range 100_000 {
		c := few[i%len(few)]
		c.Slip, c.Position = session.Slip(fmt.Sprintf("L%06d", i)), uint64(1000+i)
		c.Lot.District, c.Lot.Village = fmt.Sprintf("District %d", i%60), fmt.Sprintf("Village %d", i%900)
		c.Agent, c.Lot.Variety = session.PersonID(fmt.Sprintf("agent-%03d", i%400)), fmt.Sprintf("Variety %d", i%90)
		c.Reporter = c.Agent
		c.At = begin.Add(time.Duration(i) * time.Minute)
		if many = append(many, c); len(many) == cap(many) {
			h.ledger.Apply(many...)
			many = many[:0]
		}
	}
	return h.administrator()
}

// style finds the style sheet of a page.
func style(t *testing.T, body string) string {
	t.Helper()
	_, rest, found := strings.Cut(body, `<link rel="stylesheet" href="`)
	path, _, _ := strings.Cut(rest, `"`)
	if !found {
		t.Fatal("the page has no style sheet")
	}
	return path
}

func TestNothingAndOneCheckLookRight(t *testing.T) {
	h := newHouse(t)
	admin := h.administrator()
	for _, path := range pages {
		if a := admin.get(path); a.Status != http.StatusOK || strings.Contains(a.Body, "NaN") || strings.Contains(a.Body, "Inf") {
			t.Errorf("%s over nothing: status %d, or a figure that is none", path, a.Status)
		}
	}
	h.people()
	h.put(session.Writes{Checks: []session.Check{h.check(0, "Kisima", reading(139, 20, 1))}})
	for _, path := range pages {
		if a := admin.get(path); a.Status != http.StatusOK || strings.Contains(a.Body, "NaN") || strings.Contains(a.Body, "Inf") {
			t.Errorf("%s over one check: status %d, or a figure that is none", path, a.Status)
		}
	}
}

// BenchmarkPages makes each page over 100,000 checks, the summaries not kept
// from one to the next.
func BenchmarkPages(b *testing.B) {
	h := newHouse(b)
	admin := h.hundredThousand()
	for _, path := range pages {
		b.Run(strings.ReplaceAll(strings.Trim(path, "/"), "/", " "), func(b *testing.B) {
			for i := 0; b.Loop(); i++ {
				day := begin.AddDate(0, 0, -1-i).Format(time.DateOnly)
				sep := "?"
				if strings.Contains(path, "?") {
					sep = "&"
				}
				admin.get(path + sep + "from=" + day)
			}
		})
	}
}
