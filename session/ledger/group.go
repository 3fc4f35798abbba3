package ledger

import (
	"cmp"
	"slices"

	"threshline/grading"
)

// groups writes the groups out.
func (t *tally) groups(out *Summary, place []int) {
	s, n := t.shelf, len(out.Grades)
	write := func(key, within string, cells []int64) Group { return t.one(key, within, cells, place, n) }
	if t.checks > 0 {
		for w := weekOf(t.firstDay); w <= weekOf(t.lastDay); w++ {
			out.Weeks = append(out.Weeks, write(dayName(int(w)*7-3), "", t.weeks.at(uint32(w))))
		}
	}
	districts := grid{width: t.places.width}
	var names names[string]
	for i := range t.places.groups() {
		cells := t.places.at(uint32(i))
		if !occurs(cells) {
			continue
		}
		p := s.places[i]
		out.Villages = append(out.Villages, write(p.village, p.district, cells))
		sum := districts.at(names.id(p.district))
		for j, v := range cells {
			sum[j] += v
		}
	}
	for i, name := range names.list {
		out.Districts = append(out.Districts, write(name, "", districts.at(uint32(i))))
	}
	for i := range t.agents.groups() {
		out.Agents = addGroup(out.Agents, t.agents.at(uint32(i)), s.people, i, write)
	}
	for i := range t.reporters.groups() {
		out.Reporters = addGroup(out.Reporters, t.reporters.at(uint32(i)), s.people, i, write)
	}
	for i := range t.varieties.groups() {
		out.Varieties = addGroup(out.Varieties, t.varieties.at(uint32(i)), s.varieties, i, write)
	}
	for i := range t.channels.groups() {
		out.Channels = addGroup(out.Channels, t.channels.at(uint32(i)), s.channels, i, write)
	}
	for _, list := range [][]Group{out.Districts, out.Villages, out.Agents, out.Reporters, out.Varieties, out.Channels} {
		slices.SortFunc(list, func(a, b Group) int {
			return cmp.Or(cmp.Compare(b.Checks, a.Checks), cmp.Compare(a.Key, b.Key), cmp.Compare(a.Within, b.Within))
		})
	}
}

func addGroup[K ~string](list []Group, cells []int64, keys []K, i int, write func(string, string, []int64) Group) []Group {
	if !occurs(cells) {
		return list
	}
	return append(list, write(string(keys[i]), "", cells))
}

// occurs tells whether a group has any check. A group's stretch is empty when
// nothing was counted: each check counts in one standing.
func occurs(cells []int64) bool {
	return slices.ContainsFunc(cells[cellStanding:], func(n int64) bool { return n != 0 })
}

// one writes a group out.
func (t *tally) one(key, within string, cells []int64, place []int, grades int) Group {
	g := Group{
		Key: key, Within: within, KG: grading.Decimal(cells[cellKG]),
		Borderline: int(cells[cellBorderline]), Incomplete: int(cells[cellIncomplete]), Grades: make([]int, grades),
	}
	s := t.shelf
	for i, st := range s.standings {
		n := int(cells[cellStanding+i])
		if n == 0 {
			continue
		}
		g.Checks += n
		g.Grades[place[i]] += n
		if st.rank <= st.of {
			g.InGrade.Count += n
		}
		if st.rank == 1 {
			g.Best.Count += n
		}
	}
	g.InGrade.Of, g.Best.Of = g.Checks, g.Checks
	byID := map[grading.ParameterID]int{}
	for i, p := range s.parameters {
		if n := int(cells[cellStanding+len(s.standings)+i]); n > 0 {
			byID[p.id] += n
		}
	}
	for id, n := range byID {
		if most := g.DecidingShare.Count; n > most || n == most && id < g.Deciding {
			g.Deciding, g.DecidingShare = id, Share{n, g.Checks}
		}
	}
	return g
}
