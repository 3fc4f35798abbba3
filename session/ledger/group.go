package ledger

import (
	"cmp"
	"slices"

	"threshline/grading"
	"threshline/session/ledger/figure"
)

// groups writes the groups out.
func (t *tally) groups(out *Summary, place []int) {
	s, n := t.shelf, len(out.Grades)
	write := func(key, within string, cells []int64) Group { return t.one(key, within, cells, place, n) }
	if t.checks > 0 {
		for w := weekOf(t.firstDay); w <= weekOf(t.lastDay); w++ {
			out.Weeks = append(out.Weeks, write(dayName(int(w)*7-3), "", t.weeks.at(uint32(w-t.since))))
		}
	}
	for i := range t.places.groups() {
		if cells := t.places.at(uint32(i)); occurs(cells) {
			out.Villages = append(out.Villages, write(s.places[i].village, s.places[i].district, cells))
		}
	}
	names, districts := t.districts()
	for i, name := range names {
		out.Districts = append(out.Districts, write(name, "", districts.at(uint32(i))))
	}
	for i := range t.agents.groups() {
		out.Agents = addGroup(out.Agents, t.agents.at(uint32(i)), s.agents, i, write)
	}
	for i := range t.varieties.groups() {
		out.Varieties = addGroup(out.Varieties, t.varieties.at(uint32(i)), s.varieties, i, write)
	}
	for i := range t.channels.groups() {
		out.Channels = addGroup(out.Channels, t.channels.at(uint32(i)), s.channels, i, write)
	}
	for _, list := range [][]Group{out.Districts, out.Villages, out.Agents, out.Varieties, out.Channels} {
		slices.SortFunc(list, func(a, b Group) int {
			return cmp.Or(cmp.Compare(b.Checks, a.Checks), cmp.Compare(a.Key, b.Key), cmp.Compare(a.Within, b.Within))
		})
	}
}

// districts adds places up by district; a district without any count is left out.
func (t *tally) districts() (list []string, sums grid) {
	var names names[string]
	sums.width = t.places.width
	for i := range t.places.groups() {
		cells := t.places.at(uint32(i))
		if !occurs(cells) {
			continue
		}
		sum := sums.at(names.id(t.shelf.places[i].district))
		for j, v := range cells {
			sum[j] += v
		}
	}
	return names.list, sums
}

// Districts returns the Districts of a Summary, in no order and without their Grades,
// and all of them together. It takes a small part of the time of a Summary.
func (v *View) Districts(f Filter) (all Group, districts []Group) {
	f, _ = v.alike(f)
	t := v.tally(&f, (*tally).place)
	names, sums := t.districts()
	whole := make([]int64, sums.width)
	for i, name := range names {
		cells := sums.at(uint32(i))
		districts = append(districts, t.one(name, "", cells, nil, 0))
		for j, n := range cells {
			whole[j] += n
		}
	}
	return t.one("", "", whole, nil, 0), districts
}

func addGroup[K ~string](list []Group, cells []int64, keys []K, i int, write func(string, string, []int64) Group) []Group {
	if !occurs(cells) {
		return list
	}
	return append(list, write(string(keys[i]), "", cells))
}

// occurs reports whether a group has any check.
func occurs(cells []int64) bool { return cells[cellChecks] != 0 }

// one writes a group out; without a place for each standing, it has no Grades.
func (t *tally) one(key, within string, cells []int64, place []int, grades int) Group {
	g := Group{
		Key: key, Within: within, Checks: int(cells[cellChecks]), KG: grading.Decimal(cells[cellKG]),
		Borderline: int(cells[cellBorderline]), Incomplete: int(cells[cellIncomplete]),
	}
	if place != nil {
		g.Grades = make([]int, grades)
	}
	s := t.shelf
	for i, st := range s.standings {
		n := int(cells[cellStanding+i])
		if n == 0 {
			continue
		}
		g.Lots += n
		if place != nil {
			g.Grades[place[i]] += n
		}
		if st.rank <= st.of {
			g.InGrade.Count += n
		}
		if st.rank == 1 {
			g.Best.Count += n
		}
	}
	g.InGrade.Of, g.Best.Of = g.Lots, g.Lots
	byID := map[grading.ParameterID]int{}
	for i, p := range s.parameters {
		if n := int(cells[cellStanding+len(s.standings)+i]); n > 0 {
			byID[p.id] += n
		}
	}
	for id, n := range byID {
		if most := g.DecidingShare.Count; n > most || n == most && id < g.Deciding {
			g.Deciding, g.DecidingShare = id, figure.Share{Count: n, Of: g.Lots}
		}
	}
	return g
}
