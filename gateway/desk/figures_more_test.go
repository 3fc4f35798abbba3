package desk_test

import (
	"fmt"
	"html"
	"math"
	"regexp"
	"sort"
	"strconv"
	"strings"

	"threshline/grading"
)

// parameter is a parameter's histogram, its sentence and its limits.
func (s *sheet) parameter(c *counted, p *grading.Parameter) {
	s.t.Helper()
	var values []float64
	sum := 0.0
	for _, r := range c.lots {
		if r["value_"+string(p.ID)] != "" {
			v := math.Round(r.num("value_"+string(p.ID))*math.Pow10(p.Decimals)) / math.Pow10(p.Decimals)
			values, sum = append(values, v), sum+v
		}
	}
	sort.Float64s(values)
	seen := 0
	for _, row := range s.table(p.Label + ", ") {
		if len(row) < 3 {
			continue
		}
		low, _ := strconv.ParseFloat(row[0], 64)
		high, _ := strconv.ParseFloat(row[1], 64)
		n := 0
		for _, v := range values {
			if v >= low-1e-9 && v <= high+1e-9 {
				n++
			}
		}
		s.is(fmt.Sprintf("%s from %s to %s", p.Label, row[0], row[1]), row[2], float64(n))
		seen += n
	}
	if seen != len(values) {
		s.t.Errorf("%s: the bars of %s hold %d values, want %d", s.path, p.Label, seen, len(values))
	}
	_, rest, _ := strings.Cut(s.body, `>`+html.EscapeString(p.Label)+`: values against limits</title>`)
	said := regexp.MustCompile(`Measured in ([0-9.]+%) \((\d+) of (\d+)\) lots. Mean ([-0-9.]+), median ([-0-9.]+), nine in ten between ([-0-9.]+) and ([-0-9.]+)\.`).FindStringSubmatch(plainText(rest))
	if said == nil {
		s.t.Errorf("%s does not say how %s lies", s.path, p.Label)
		return
	}
	at := func(percent float64) float64 { return values[int(math.Ceil(percent*float64(len(values))/100))-1] }
	s.share(p.Label, said[1], "", len(values), len(c.lots))
	for i, want := range []float64{float64(len(values)), float64(len(c.lots)), sum / float64(len(values)), at(50), at(5), at(95)} {
		s.is(p.Label+", "+[]string{"measured", "of", "mean", "median", "nine in ten from", "nine in ten to"}[i], said[i+2], want)
	}
	for _, row := range s.table("Limits of " + p.Label) {
		if m := regexp.MustCompile(`^([≤≥]) ([0-9.]+)$`).FindStringSubmatch(row[1]); m != nil {
			limit, _ := strconv.ParseFloat(m[2], 64)
			n := 0
			for _, v := range values {
				if m[1] == "≤" && v <= limit+1e-9 || m[1] == "≥" && v >= limit-1e-9 {
					n++
				}
			}
			s.is(p.Label+" "+row[0], row[2], float64(n))
			s.share(p.Label+" "+row[0], row[3], row[4], n, len(values))
		}
	}
}

// pairs is what re-checks changed.
func (s *sheet) pairs(c *counted, all []record, h *house) {
	s.t.Helper()
	by := map[string]record{}
	for _, r := range all {
		by[r["slip"]] = r
	}
	better, same, worse, steps := 0, 0, 0, 0.0
	moves := map[string]int{}
	var befores, afters []record
	for _, r := range c.checks {
		b, ok := by[r["recheck_of"]]
		if !ok {
			continue
		}
		befores, afters = append(befores, b), append(afters, r)
		steps += b.num("rank") - r.num("rank")
		switch {
		case r.num("rank") < b.num("rank"):
			better++
		case r.num("rank") > b.num("rank"):
			worse++
		default:
			same++
		}
		moves[b["grade"]+" to "+r["grade"]]++
	}
	if len(afters) == 0 || strings.Contains(s.path, "kind=first") {
		return
	}
	said := regexp.MustCompile(`(\d+) lots? checked again: (\d+) better, (\d+) the same, (\d+) worse; (-?[0-9.]+) grades up on average`).FindStringSubmatch(plainText(s.body))
	if said == nil {
		s.t.Errorf("%s does not say what re-checks changed", s.path)
		return
	}
	for i, want := range []float64{float64(len(afters)), float64(better), float64(same), float64(worse), steps / float64(len(afters))} {
		s.is("re-checks, "+[]string{"lots", "better", "the same", "worse", "up"}[i], said[i+1], want)
	}
	for _, row := range s.table("From grade to grade") {
		from, _, _ := strings.Cut(row[0], " (")
		to, _, _ := strings.Cut(row[1], " (")
		s.is("from "+from+" to "+to, row[2], float64(moves[from+" to "+to]))
		delete(moves, from+" to "+to)
	}
	if len(moves) > 0 {
		s.t.Errorf("%s leaves moves out: %v", s.path, moves)
	}
	for _, row := range s.table("Means before and after") {
		for _, p := range h.programme.Standard.Parameters {
			if p.Label != row[0] {
				continue
			}
			was, is, n, fell, rose := 0.0, 0.0, 0, 0, 0
			for i := range afters {
				b, a := befores[i]["value_"+string(p.ID)], afters[i]["value_"+string(p.ID)]
				if b == "" || a == "" {
					continue
				}
				x, y := befores[i].num("value_"+string(p.ID)), afters[i].num("value_"+string(p.ID))
				was, is, n = was+x, is+y, n+1
				if y < x {
					fell++
				} else if y > x {
					rose++
				}
			}
			for i, want := range []float64{float64(n), was / float64(n), is / float64(n), float64(fell), float64(rose)} {
				s.is(p.Label+" "+[]string{"lots", "before", "after", "fell", "rose"}[i], row[i+2], want)
			}
		}
	}
}

// list is the list of lots, newest first: the export's order.
func (s *sheet) list(c *counted) {
	s.t.Helper()
	rows := s.table("The last filed first")
	if len(rows) != min(50, len(c.checks)) {
		s.t.Errorf("%s lists %d checks, want %d", s.path, len(rows), min(50, len(c.checks)))
		return
	}
	for i, row := range rows {
		r := c.checks[i]
		grade := r["grade"]
		if r["complete"] == "false" && r.inGrade() {
			grade = "no better than " + grade
		}
		if row[0] != r["slip"] || row[1] != grade {
			s.t.Errorf("%s, row %d: %s %s, want %s %s", s.path, i, row[0], row[1], r["slip"], grade)
		}
		if bags, kg, ok := strings.Cut(row[7], ", "); ok {
			s.is(row[0]+", bags", bags, r.num("bags"))
			s.is(row[0]+", kg", kg, r.num("kg"))
		} else if r["kg"] != "" {
			s.t.Errorf("%s, %s weighs %q, want %s kg", s.path, row[0], row[7], r["kg"])
		}
	}
}

// asItIs is what a what-if begins with, and that its columns add up.
func (s *sheet) asItIs(c *counted, h *house) {
	s.t.Helper()
	in := number(c.lots, record.inGrade)
	chart := s.table("Share of lots in grade")
	if len(chart) == 0 {
		return
	}
	s.is("as it is", chart[0][1], float64(len(c.lots)))
	s.is("as it is, in grade", chart[0][2], float64(in))
	s.share("as it is", chart[0][3], chart[0][4], in, len(c.lots))
	for _, row := range chart[1:] {
		n, _ := strconv.Atoi(strings.ReplaceAll(row[2], ",", ""))
		s.share(row[0], row[3], row[4], n, len(c.lots))
	}
	sum := make([]float64, 9)
	for _, row := range s.table("Lots by grade</caption>") {
		label, _, _ := strings.Cut(row[0], " (")
		s.is("as it is, "+label, row[1], float64(number(c.lots, func(r record) bool { return r["grade"] == label })))
		for i, cell := range row[1:] {
			n, _ := strconv.ParseFloat(strings.ReplaceAll(cell, ",", ""), 64)
			sum[i] += n
		}
	}
	for _, n := range sum {
		if n != 0 && n != float64(len(c.lots)) {
			s.t.Errorf("%s: a column of lots by grade adds up to %g, want %d", s.path, n, len(c.lots))
		}
	}
	best := number(c.lots, func(r record) bool { return r["rank"] == "1" })
	for _, row := range s.table("Done once to every lot") {
		gain, okGain := plainNumber(row[9])
		cost, okCost := plainNumber(row[10])
		net, okNet := plainNumber(row[11])
		if okGain && okCost && okNet && math.Abs(gain-cost-net) > 1.5 {
			s.t.Errorf("%s: %s gains %s and costs %s, and yet nets %s", s.path, row[0], row[9], row[10], row[11])
		}
	}
	lots := byKey(c.lots, func(r record) string { return r["district"] })
	for _, row := range s.table("Each district’s own") {
		of := lots[row[0]]
		s.is(row[0]+", lots", row[1], float64(len(of)))
		s.share(row[0]+", best grade", row[4], "", number(of, func(r record) bool { return r["rank"] == "1" }), len(of))
	}
	if said := regexp.MustCompile(`the best grade would go from ([0-9.]+%) to`).FindStringSubmatch(plainText(s.body)); said != nil {
		s.share("the best grade as it is", said[1], "", best, len(c.lots))
	}
}

func plainNumber(s string) (float64, bool) {
	f, err := strconv.ParseFloat(strings.ReplaceAll(s, ",", ""), 64)
	return f, err == nil
}
