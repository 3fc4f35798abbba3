package sheet

import (
	"threshline/gateway/desk/paper"
	"threshline/grading"
	"threshline/session/ledger/figure"
	"threshline/session/ledger/hands"
	"threshline/session/programme"
)

// counts are the counts of a check by hand, as the table of readings names them.
func counts(h grading.Hand) (rows [][2]string) {
	add := func(label string, n uint16) { rows = append(rows, [2]string{label, paper.Count(int(n))}) }
	add("Grains counted off by hand", h.Grains)
	add("of them empty or chaff", h.Empty)
	add("of them green, in the husk", h.Green)
	add("Stones and clods beside them", h.Stones)
	add("Husked by hand", h.Husked)
	if h.Husked > 0 {
		add("of them red", h.Red)
		add("of them bored", h.Bored)
		add("of them discoloured", h.Discoloured)
	}
	if h.Handfuls > 0 {
		add("Bags a handful was taken from", h.Handfuls)
	}
	return rows
}

// Likely says the likely grades of a lot that was checked by hand: never one grade
// alone as if it were measured.
func Likely(s *grading.Standard, j *programme.HandJudged) string {
	label := func(rank int) string {
		if rank > len(s.Grades) {
			return "out of grade"
		}
		return string(s.Grades[rank-1].Label)
	}
	l := &j.Likely
	said := "By hand: likely " + label(l.From)
	if l.To > l.From {
		said += map[bool]string{true: " or ", false: " to "}[l.To == l.From+1] + label(l.To)
	}
	said += ", chance " + paper.Chance(l.Chance)
	if l.IfDry {
		said += ", once it is dry"
	}
	if l.Few {
		said += "; few grains were counted: mostly a guess"
	}
	return said
}

// Shares is the table of what counts by hand let a lot hold.
func Shares(s *grading.Standard, j *programme.HandJudged) paper.Table {
	t := paper.Table{
		Caption: "What the counts let the lot hold: an estimate by hand, and no measurement",
		Head:    paper.Heads("Parameter", "#About", "#Standard deviation", "Unit"),
	}
	for _, share := range j.Likely.Shares {
		if p := s.Parameter(share.Parameter); p != nil && share.Counted {
			t.Add(p.Label, paper.Figure(share.Mean, p.Decimals), paper.Figure(share.Deviation, p.Decimals), paper.Unit(p.Unit, p.Basis))
		}
	}
	return t
}

// Reached is the table of how far checks by hand reached, by district or by week.
func Reached(key string, list []hands.Reached, label func(string) string) paper.Table {
	t := paper.Table{Caption: "Checks by hand, by " + key, Head: paper.Heads(map[string]string{"district": "District", "week": "Week from"}[key], "#Checks", "#Lots", "#Growers")}
	for _, r := range list {
		t.Add(label(r.Key), paper.Count(r.Checks), paper.Count(r.Lots), paper.Count(r.Growers))
	}
	return t
}

// Held is the table of how well hands did by parameter.
func Held(s *grading.Standard, h *hands.Held) paper.Table {
	t := paper.Table{
		Caption: "By parameter: what hands said less what the kit measured. “Within the doubt” wants some 68%, where the doubt that is said is right.",
		Head:    paper.Heads("Parameter", "#Pairs", "#By hand", "#By the kit", "Unit", "#Off by", "#95% interval", "#Typically off", "#Within the doubt", "#95% interval"),
	}
	for i := range h.Values {
		v := &h.Values[i]
		p := s.Parameter(v.Parameter)
		if p == nil {
			continue
		}
		number := func(f float64) string { return paper.Figure(f, p.Decimals) }
		between := "one pair says none"
		if v.Known {
			between = number(v.Low) + " to " + number(v.High)
		}
		t.Add(p.Label, paper.Count(v.Pairs), number(v.Said), number(v.Measured), paper.Unit(p.Unit, p.Basis), number(v.Off), between, number(v.Typical),
			share(v.Within), paper.Interval(v.Within))
	}
	return t
}

// Said is the table of how well the likely grades and the remedy held.
func Said(h *hands.Held) paper.Table {
	t := paper.Table{Caption: "What was said, held against the kit", Head: paper.Heads("What", "#Pairs", "#How often", "#Share", "#95% interval", "Aim")}
	add := func(what string, s figure.Share, wanted string) {
		t.Add(what, paper.Count(s.Of), paper.Count(s.Count), share(s), paper.Interval(s), wanted)
	}
	stated := "not known"
	if h.InGrades.Of > 0 {
		stated = paper.Chance(h.Chance) + ", as was said"
	}
	add("The grade measured is one of the likely ones", h.InGrades, stated)
	add("The remedy, sure or to be tried, is that of the kit, where the kit has one", h.Same, "7 of 10 or more")
	add("No remedy was said, not even to be tried, where the kit has one", h.Silent, "few")
	add("A remedy was said to be sure, where the kit has none", h.Needless, "at most 1 of 10")
	return t
}

// share is a share in percent, of none at all not known.
func share(s figure.Share) string {
	if s.Of == 0 {
		return "not known"
	}
	return paper.Percent(s.Value())
}
