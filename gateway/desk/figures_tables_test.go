package desk_test

import (
	"regexp"
	"slices"
	"sort"
	"strings"
	"time"

	"threshline/grading"
)

// glance is the head of the season's pages: how much, and four shares.
func (s *sheet) glance(c *counted, h *house) {
	s.t.Helper()
	of := len(c.lots)
	for what, has := range map[string]func(record) bool{
		"In grade": record.inGrade, "In the best grade": func(r record) bool { return r["rank"] == "1" },
		"Borderline":             func(r record) bool { return r["borderline"] == "true" },
		"Something not measured": func(r record) bool { return r["complete"] == "false" },
	} {
		m := regexp.MustCompile(`<dt>(` + what + `|` + map[bool]string{true: "Not all measured"}[what == "Something not measured"] + `)</dt><dd>([^<]*)</dd><dd class="under">([^<]*)</dd>`).FindStringSubmatch(s.body)
		if m == nil {
			s.t.Errorf("%s does not say %q", s.path, what)
			continue
		}
		n, under := number(c.lots, has), plainText(m[3])
		interval := under
		if counts, rest, ok := strings.Cut(under, "; 95% interval "); ok {
			count, whole, _ := strings.Cut(counts, " of ")
			s.is(what+", count", count, float64(n))
			s.is(what+", of", whole, float64(of))
			interval = rest
		} else if strings.HasPrefix(s.path, "/desk/?") || s.path == "/desk/" {
			interval = ""
		}
		s.share(what, plainText(m[2]), interval, n, of)
	}
	if of == 0 {
		return
	}
	lead := regexp.MustCompile(`(\d[\d,]*) checks?(?: of (\d[\d,]*) lots?|, (\d[\d,]*) of them the newest of their lot), ([^ ]+ [kt]g?) in the (\d[\d,]*) of those whose (?:mass|weight) is known, (?:on|from) ([^.]*?)(?: to ([^.]*))?\.`).FindStringSubmatch(plainText(s.body))
	if lead == nil {
		lead = regexp.MustCompile(`(\d[\d,]*) checks?(?: of (\d[\d,]*) lots?|, (\d[\d,]*) of them the newest of their lot), ([0-9.,]+ k?[tg])( in those)?, (?:on|from) ([^.]*?)(?: to ([^.]*))?\.`).FindStringSubmatch(plainText(s.body))
	}
	if lead == nil {
		s.t.Fatalf("%s does not say how much was checked: %s", s.path, plainText(s.body)[:600])
	}
	s.is("checks", lead[1], float64(len(c.checks)))
	s.is("lots", lead[2]+lead[3], float64(of))
	s.is("the weight", lead[4], kilos(c.lots))
	if n := number(c.lots, func(r record) bool { return r["kg"] != "" }); n < of {
		s.is("lots of known weight", lead[5], float64(n))
	}
	first, last := c.checks[0].day(), c.checks[0].day()
	for _, r := range c.checks {
		first, last = min(first, r.day()), max(last, r.day())
	}
	if written(first) != lead[6] || first != last && written(last) != lead[7] {
		s.t.Errorf("%s: from %q to %q, want %s to %s", s.path, lead[6], lead[7], first, last)
	}
	s.ladder(c)
}

func written(day string) string {
	t, _ := time.Parse(time.DateOnly, day)
	return t.Format("2 Jan 2006")
}

func mondayOf(day string) string {
	t, _ := time.Parse(time.DateOnly, day)
	for t.Weekday() != time.Monday {
		t = t.AddDate(0, 0, -1)
	}
	return t.Format("2 Jan 2006")
}

var bar = regexp.MustCompile(`<rect class="bar (?:best|out)?" x="[0-9.]+" y="[0-9.]+" width="([0-9.]+)"`)

// ladder is the chart of grades and its table.
func (s *sheet) ladder(c *counted) {
	s.t.Helper()
	bars := bar.FindAllStringSubmatch(s.body, -1)
	seen := 0
	for i, row := range s.table("Lots by grade, each") {
		label, _, _ := strings.Cut(row[0], " (")
		var of []record
		for _, r := range c.lots {
			if r["grade"] == label {
				of = append(of, r)
			}
		}
		seen += len(of)
		s.is(label, row[1], float64(len(of)))
		s.share(label, row[2], row[3], len(of), len(c.lots))
		s.weight(label, row[4], kilos(of))
		sure, n := 0.0, 0
		for _, r := range of {
			if r["complete"] == "true" {
				sure, n = sure+r.num("confidence"), n+1
			}
		}
		if n > 0 {
			s.is(label+", mean chance", row[5], 100*sure/float64(n))
		}
		if i < len(bars) {
			s.is(label+", bar", bars[i][1], 340*float64(len(of))/float64(len(c.lots)))
		} else {
			s.t.Errorf("%s draws no bar for %s", s.path, label)
		}
	}
	if seen != len(c.lots) {
		s.t.Errorf("%s: %d lots by grade, want %d", s.path, seen, len(c.lots))
	}
}

// lots are the weeks: checks, lots, in grade, share, interval, weight.
func (s *sheet) lots(what string, rows [][]string, c counted, key func(record) string, name func(string) string) {
	s.t.Helper()
	checks, lots := byKey(c.checks, key), byKey(c.lots, key)
	seen := 0
	for _, row := range rows {
		k := name(row[0])
		in := number(lots[k], record.inGrade)
		seen += len(checks[k])
		s.is(what+" "+k, row[1], float64(len(checks[k])))
		s.is(what+" "+k, row[2], float64(len(lots[k])))
		s.is(what+" "+k, row[3], float64(in))
		s.share(what+" "+k, row[4], row[5], in, len(lots[k]))
		s.weight(what+" "+k, row[6], kilos(lots[k]))
	}
	if seen != len(c.checks) {
		s.t.Errorf("%s, %s: %d checks, want %d", s.path, what, seen, len(c.checks))
	}
	points := regexp.MustCompile(`<circle class="point" cx="[0-9.]+" cy="([0-9.]+)"`).FindAllStringSubmatch(s.body, -1)
	drawn := 0
	for _, row := range rows {
		if k := name(row[0]); len(lots[k]) > 0 && drawn < len(points) {
			s.is("the point of "+k, points[drawn][1], 140-118*float64(number(lots[k], record.inGrade))/float64(len(lots[k])))
			drawn++
		}
	}
	if drawn != len(points) || drawn != len(lots) {
		s.t.Errorf("%s draws %d weeks of %d that have lots", s.path, len(points), len(lots))
	}
}

// groups is a table of districts, varieties, channels or agents.
func (s *sheet) groups(caption string, c *counted, column string, h *house) {
	s.t.Helper()
	checks, lots := byKey(c.checks, func(r record) string { return r[column] }), byKey(c.lots, func(r record) string { return r[column] })
	heads := regexp.MustCompile(`(?s)<caption class="unseen">` + caption + `.*?</thead>`).FindString(s.body)
	var labels []string
	for _, m := range regexp.MustCompile(`<th [^>]*>([^<]*)</th>`).FindAllStringSubmatch(heads, -1) {
		labels = append(labels, m[1])
	}
	seen := 0
	for _, row := range s.table(caption) {
		key := row[0]
		switch key {
		case "not said":
			key = ""
		case upperAgent:
			key = "a-upper"
		case kisimaAgent:
			key = "a-kisima"
		}
		seen += len(checks[key])
		in := number(lots[key], record.inGrade)
		s.is(caption+" "+key, row[1], float64(len(checks[key])))
		s.is(caption+" "+key, row[2], float64(len(lots[key])))
		s.share(caption+" "+key, row[3], row[4], in, len(lots[key]))
		for i := 5; i < len(row)-1; i++ {
			s.is(caption+" "+key+" "+labels[i], row[i], float64(number(lots[key], func(r record) bool { return r["grade"] == labels[i] })))
		}
		if held := mostly(lots[key], "deciding"); len(held) > 0 {
			label, part, _ := strings.Cut(row[len(row)-1], ", ")
			most := 0
			for _, n := range held {
				most = max(most, n)
			}
			s.is(caption+" "+key+", mostly", part, 100*float64(most)/float64(len(lots[key])))
			if !slices.ContainsFunc(h.programme.Standard.Parameters, func(p grading.Parameter) bool { return p.Label == label && held[string(p.ID)] == most }) {
				s.t.Errorf("%s, %s %s: mostly held down by %q, the rows say %v", s.path, caption, key, label, held)
			}
		}
	}
	if seen != len(c.checks) {
		s.t.Errorf("%s, %s: %d checks, want %d", s.path, caption, seen, len(c.checks))
	}
}

// holding is what holds grades down.
func (s *sheet) holding(c *counted, h *house, most int) {
	s.t.Helper()
	counts := mostly(c.lots, "deciding")
	var want []int
	for _, n := range counts {
		want = append(want, n)
	}
	sort.Sort(sort.Reverse(sort.IntSlice(want)))
	if most > 0 && len(want) > most {
		want = want[:most]
	}
	rows := s.table("What holds grades down")
	if len(want) == 0 {
		return
	}
	if len(rows) != len(want) {
		s.t.Errorf("%s lists %d parameters that hold grades down, want %d", s.path, len(rows), len(want))
		return
	}
	for i, row := range rows {
		id := ""
		for have := range counts {
			if h.labelOf(have) == row[0] {
				id = have
			}
		}
		has := func(r record) bool { return slices.Contains(words(r, "deciding"), id) }
		n := number(c.lots, has)
		if n != want[i] {
			s.t.Errorf("%s: %q is number %d with %d lots, want one with %d", s.path, row[0], i+1, n, want[i])
		}
		s.is(row[0], row[1], float64(n))
		s.share(row[0], row[2], row[3], n, len(c.lots))
		s.is(row[0]+", alone", row[4], float64(number(c.lots, func(r record) bool { return has(r) && len(words(r, "deciding")) == 1 })))
		var of []record
		for _, r := range c.lots {
			if has(r) {
				of = append(of, r)
			}
		}
		s.weight(row[0], row[5], kilos(of))
	}
}

// tally is a table of how many lots have something.
func (s *sheet) tally(caption string, c *counted, column string, name func(string) string) {
	s.t.Helper()
	counts := mostly(c.lots, column)
	if len(counts) == 0 {
		return
	}
	rows := s.table(caption)
	if len(rows) != len(counts) {
		s.t.Errorf("%s, %s: %d rows, want %d", s.path, caption, len(rows), len(counts))
	}
	for _, row := range rows {
		for id, n := range counts {
			if name(id) != row[0] {
				continue
			}
			s.is(row[0], row[1], float64(n))
			s.share(row[0], row[2], "", n, len(c.lots))
			if len(row) > 3 {
				s.weight(row[0], row[3], kilos(byKey(c.lots, func(r record) string { return r[column] })[id]))
			}
		}
	}
}
