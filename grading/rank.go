package grading

import "slices"

// outcomes lists what a lot outside the ladder can be called: OutOfGrade, then
// the gates' own words in order, then what it is called whatever the standard.
func (s *Standard) outcomes() []GradeLabel {
	out := []GradeLabel{s.OutOfGrade}
	for _, g := range s.Gates {
		if !g.Remark && s.gradeIndex(g.Outcome) < 0 && !slices.Contains(out, g.Outcome) {
			out = append(out, g.Outcome)
		}
	}
	return append(out, NoGrade, WetLot)
}

func (s *Standard) gradeIndex(label GradeLabel) int {
	return slices.IndexFunc(s.Grades, func(g GradeRow) bool { return g.Label == label })
}

// Label is the word for a rank: a grade's label, or the outcome beyond the
// ladder. "" for a rank that the standard does not have.
func (s *Standard) Label(rank int) GradeLabel {
	if rank < 1 {
		return ""
	}
	if rank <= len(s.Grades) {
		return s.Grades[rank-1].Label
	}
	if out := s.outcomes(); rank-len(s.Grades) <= len(out) {
		return out[rank-len(s.Grades)-1]
	}
	return ""
}

// Rank is the inverse of Label; 0 for a word that the standard does not have.
func (s *Standard) Rank(label GradeLabel) int {
	if i := s.gradeIndex(label); i >= 0 {
		return i + 1
	}
	if i := slices.Index(s.outcomes(), label); i >= 0 {
		return len(s.Grades) + 1 + i
	}
	return 0
}

// Ranks is how many ranks there are, those beyond the ladder included.
func (e *Ladder) Ranks() int { return len(e.standard.Grades) + len(e.outcomes) }

// RankOf and Label are the standard's Rank and Label, without building the
// outcomes again, of a word and a rank that it has.
func (e *Ladder) RankOf(label GradeLabel) int {
	if i := e.standard.gradeIndex(label); i >= 0 {
		return i + 1
	}
	return len(e.standard.Grades) + 1 + slices.Index(e.outcomes, label)
}

// Label: see RankOf.
func (e *Ladder) Label(rank int) GradeLabel {
	if n := len(e.standard.Grades); rank > n {
		return e.outcomes[rank-n-1]
	}
	return e.standard.Grades[rank-1].Label
}
