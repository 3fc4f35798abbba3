package grading

import (
	"cmp"
	"slices"
)

// DefectOrder lists the counted defects that a standard uses, in the order in
// which a grain that has several of them is to be put down: once only, in
// the category with the lowest limit. Equal limits in the best grade are told
// apart by the next one, then by working order.
// Source: [ISO-7301-MODEL Annex A].
func (s *Standard) DefectOrder(class string) []Field {
	var out []Field
	limits := make(map[Field][]Decimal)
	for i := range s.Parameters {
		p := &s.Parameters[i]
		found := s.maxima(class, p.ID)
		for _, t := range p.Terms {
			if t.Kind != CountShare || len(found) == 0 {
				continue
			}
			for _, f := range t.Fields {
				if old, ok := limits[f]; !ok {
					out = append(out, f)
					limits[f] = found
				} else if slices.Compare(found, old) < 0 {
					limits[f] = found
				}
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Field) int {
		return cmp.Or(slices.Compare(limits[a], limits[b]), cmp.Compare(slices.Index(inOrder, a), slices.Index(inOrder, b)))
	})
	return out
}

// maxima are the upper limits of a parameter, best grade first; a gate's bound
// when no grade has one.
func (s *Standard) maxima(class string, id ParameterID) []Decimal {
	var out []Decimal
	for rank := range s.Grades {
		if b, ok := s.Limit(class, rank+1, id); ok && b.Max != nil {
			out = append(out, *b.Max)
		}
	}
	for _, g := range s.Gates {
		if len(out) == 0 && g.Parameter == id && g.Bound.Max != nil && !g.Remark {
			out = append(out, *g.Bound.Max)
		}
	}
	return out
}
