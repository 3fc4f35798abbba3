package desk_test

import (
	"html"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// sheet is a page that is read for its figures.
type sheet struct {
	t    *testing.T
	path string
	body string
}

var tags = regexp.MustCompile(`<[^>]*>`)

func plainText(s string) string {
	return strings.TrimSpace(strings.NewReplacer("\u202f", " ", "\u00a0", " ").Replace(html.UnescapeString(tags.ReplaceAllString(s, ""))))
}

// table finds a table by how its caption begins.
func (s *sheet) table(caption string) (rows [][]string) {
	s.t.Helper()
	_, rest, found := strings.Cut(s.body, `<caption class="unseen">`+caption)
	rest, _, _ = strings.Cut(rest, "</table>")
	if !found {
		s.t.Errorf("%s has no table %q", s.path, caption)
		return nil
	}
	_, rest, _ = strings.Cut(rest, "<tbody>")
	for _, row := range strings.Split(rest, "<tr>")[1:] {
		var cells []string
		for _, cell := range regexp.MustCompile(`(?s)<t[hd][^>]*>(.*?)</t[hd]>`).FindAllStringSubmatch(row, -1) {
			cells = append(cells, plainText(cell[1]))
		}
		rows = append(rows, cells)
	}
	return rows
}

var firstNumber = regexp.MustCompile(`^(under |over )?(-?[0-9][0-9,]*)(\.([0-9]+))?`)

// is compares a figure of the page with what it is to be, to its last digit.
func (s *sheet) is(what, shown string, want float64) {
	s.t.Helper()
	m := firstNumber.FindStringSubmatch(shown)
	if m == nil {
		s.t.Errorf("%s, %s: %q is no figure, want %g", s.path, what, shown, want)
		return
	}
	got, err := strconv.ParseFloat(strings.ReplaceAll(m[2], ",", "")+m[3], 64)
	unit := math.Pow(10, -float64(len(m[4])))
	if strings.HasSuffix(shown, " t") {
		got, unit = got*1000, unit*1000
	}
	if err != nil || m[1] == "" && math.Abs(got-want) > unit/2+1e-9 || m[1] == "under " && want >= got || m[1] == "over " && want <= got {
		s.t.Errorf("%s, %s: %q, want %g", s.path, what, shown, want)
	}
}

// share compares a share in percent with its counts, and its interval.
func (s *sheet) share(what, shown, interval string, n, of int) {
	s.t.Helper()
	if of == 0 {
		if shown != "no lots" && shown != "no checks" || interval != "" && interval != "not known" {
			s.t.Errorf("%s, %s: %q and %q of nothing", s.path, what, shown, interval)
		}
		return
	}
	s.is(what, shown, 100*float64(n)/float64(of))
	if interval == "" {
		return
	}
	low, high := exact(n, of)
	from, to, _ := strings.Cut(interval, " to ")
	s.is(what+", from", from, 100*low)
	s.is(what+", to", to, 100*high)
}

// weight compares a mass; a dash is none.
func (s *sheet) weight(what, shown string, kg float64) {
	s.t.Helper()
	if kg == 0 && shown == "–" {
		return
	}
	s.is(what, shown, kg)
}

// exact is Clopper and Pearson's interval, by halving on the binomial's tail.
func exact(n, of int) (low, high float64) {
	tail := func(p float64, from, to int) (sum float64) {
		choose := func(k int) float64 {
			a, _ := math.Lgamma(float64(of + 1))
			b, _ := math.Lgamma(float64(k + 1))
			c, _ := math.Lgamma(float64(of - k + 1))
			return a - b - c
		}
		for k := from; k <= to; k++ {
			sum += math.Exp(choose(k) + float64(k)*math.Log(p) + float64(of-k)*math.Log1p(-p))
		}
		return sum
	}
	half := func(below func(float64) bool) float64 {
		a, b := 0.0, 1.0
		for range 60 {
			if m := (a + b) / 2; below(m) {
				a = m
			} else {
				b = m
			}
		}
		return a
	}
	if n > 0 {
		low = half(func(p float64) bool { return tail(p, n, of) < 0.025 })
	}
	if high = 1; n < of {
		high = half(func(p float64) bool { return tail(p, 0, n) > 0.025 })
	}
	return low, high
}
