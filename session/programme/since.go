package programme

import (
	"threshline/advice"
	"threshline/grading/chance"
	"threshline/session"
)

// Since is what became of a lot between a check and a re-check of it.
type Since struct {
	Before session.Check
	Change advice.Change
	// Judged says that both were graded again by one table. Change then holds the
	// result; otherwise only what was filed is known.
	Judged bool
	// OtherTable says that the two were graded by different tables. OtherProcedure says
	// that they were made by different editions of the procedure.
	OtherTable, OtherProcedure bool
	// Resampled says that nothing was to be done to the lot in between. The re-check is
	// then another sample of it, pooled with the first unless Alone says why not, and
	// Change holds no money and no doubts.
	Resampled bool
	Alone     Alone
}

// Compare says what changed between a check and a re-check of it. Both are graded again
// if the programme's table is the one that graded them; their kits are those of their
// reporters.
func (p *Programme) Compare(before, after *session.Check, kit, kitAfter session.Kit) Since {
	s := Since{Before: *before}
	if before.StandardID != after.StandardID || before.Edition != after.Edition {
		s.OtherTable = true
		return s
	}
	if before.Procedure != after.Procedure {
		s.OtherProcedure = true
		return s
	}
	if s.Resampled = Resamples(before) || after.Pooled(); s.Resampled && !after.Pooled() {
		_, s.Alone = p.Pool(before, &after.Readings, after.Paces, kitAfter, after.At)
		if s.Alone == Together { // not so when it was filed, or not to be counted: see Unsound
			s.Alone = ChangedSince
		}
	}
	s.Change.Steps = before.Rank - after.Rank
	if p.Standard.ID != after.StandardID || p.Standard.Edition != after.Edition {
		return s
	}
	was, err := chance.Assess(p.Standard, before.Readings, p.alone(kit))
	if err != nil {
		return s
	}
	is, err := chance.Assess(p.Standard, after.Readings, p.alone(kitAfter))
	if err != nil {
		return s
	}
	s.Judged = true
	s.Change = advice.Compare(p.Standard, p.Advice,
		advice.Checked{Readings: before.Readings, Result: was, KG: before.Lot.KG},
		advice.Checked{Readings: after.Readings, Result: is, KG: after.Lot.KG, TakenOver: after.Lot.KG == before.Lot.KG})
	if s.Resampled {
		s.Change.HasMoney, s.Change.Earned, s.Change.HasKG, s.Change.Doubts = false, 0, false, nil
	}
	return s
}

// alone is what is known of a lot by itself. What other lots hold says nothing about
// two samples of this one.
func (p *Programme) alone(kit session.Kit) chance.Certainty {
	c := p.Certainty(kit)
	c.Usual = nil
	return c
}
