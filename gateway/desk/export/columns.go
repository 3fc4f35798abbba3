package export

import (
	"slices"
	"strings"
	"time"

	"threshline/gateway/desk/paper"
	"threshline/grading"
	"threshline/session"
)

// Column is one column of an export: get gives a string, an int, a bool, a
// grading.Decimal, a time or, for what is not known, nil.
type Column struct {
	name, unit, means string
	get               func(*Row) any
}

// Columns lists the columns of an export, with the values of these parameters.
func Columns(identified bool, parameters []grading.Parameter) []Column {
	list := []Column{
		{"slip", "", "reference of the check", func(r *Row) any { return word(r.Slip) }},
		{"state", "", "filed, corrected (replaced_by takes its place) or withdrawn", func(r *Row) any { return word(r.State) }},
		{"filed_at", "time", "when the check was confirmed", func(r *Row) any { return r.At.In(r.Zone) }},
		{"started_at", "time", "when the dialogue about the lot began", func(r *Row) any { return r.Started.In(r.Zone) }},
		{"district", "", "district of the lot", func(r *Row) any { return word(r.Lot.District) }},
		{"village", "", "village of the lot", func(r *Row) any { return word(r.Lot.Village) }},
		{"grower", "", "code of the grower", func(r *Row) any { return word(r.Lot.Grower) }},
		{"agent", "", "code of the grower's agent at that time", func(r *Row) any { return word(r.Agent) }},
		{"reporter", "", "code of who sent the readings", func(r *Row) any { return word(r.Reporter) }},
	}
	if identified {
		list = append(list,
			Column{"grower_name", "", "personal data", func(r *Row) any { return word(r.Named.Grower.Name) }},
			Column{"grower_number", "", "personal data", func(r *Row) any { return word(string(r.Named.Grower.Phone)) }},
			Column{"agent_name", "", "personal data", func(r *Row) any { return word(r.Named.Agent.Name) }},
			Column{"agent_number", "", "personal data", func(r *Row) any { return word(string(r.Named.Agent.Phone)) }},
		)
	}
	list = append(list, lotColumns()...)
	list = append(list, verdictColumns()...)
	list = append(list, readingColumns()...)
	for _, p := range parameters {
		if p.Unit == grading.Word {
			continue
		}
		list = append(list, Column{"value_" + string(p.ID), paper.Unit(p.Unit, p.Basis), p.Label + ", as graded", func(r *Row) any {
			if v, ok := r.Values[p.ID]; ok {
				return v
			}
			return nil
		}})
	}
	return list
}

// word is a text, or nothing.
func word[T ~string](s T) any {
	if s == "" {
		return nil
	}
	return string(s)
}

func spaced[T ~string](list []T) any {
	parts := make([]string, len(list))
	for i, s := range list {
		parts[i] = string(s)
	}
	return word(strings.Join(parts, " "))
}

func positive(d grading.Decimal) any {
	if d == 0 {
		return nil
	}
	return d
}

func lotColumns() []Column {
	return []Column{
		{"variety", "", "variety as said", func(r *Row) any { return word(r.Lot.Variety) }},
		{"bags", "bags", "number of bags; empty for a heap", func(r *Row) any {
			if r.Lot.Bags == 0 {
				return nil
			}
			return r.Lot.Bags
		}},
		{"bag_kg", "kg", "weight of one bag", func(r *Row) any { return positive(r.Lot.BagKG) }},
		{"kg", "kg", "weight of the lot", func(r *Row) any { return positive(r.Lot.KG) }},
		{"channel", "", "channel that the check came through", func(r *Row) any { return word(r.Channel) }},
		{"language", "", "language of the dialogue", func(r *Row) any { return word(r.Language) }},
	}
}

func verdictColumns() []Column {
	return []Column{
		{"standard", "", "standard that the check was graded by", func(r *Row) any { return word(r.StandardID) }},
		{"edition", "", "edition of that standard", func(r *Row) any { return word(r.Edition) }},
		{"procedure", "", "edition of the work by hand; checks of different ones are not to be compared", func(r *Row) any { return max(r.Procedure, 1) }},
		{"by_hand", "", "true: grains were counted without scale, husker or meter; such a check has no grade", func(r *Row) any { return r.Readings.ByHand() }},
		{"hand_counts", "", "grains counted off by hand, of them empty, stones beside them, green; then, where any were, husked, of those red, bored, discoloured", func(r *Row) any {
			h := r.Readings.Hand
			if !h.Made() {
				return nil
			}
			return h.String()
		}},
		{"grade", "", "the standard's own label", func(r *Row) any { return word(r.Grade) }},
		{"rank", "", "1 is the best grade; more than grades: outside the ladder", func(r *Row) any {
			if r.Ungraded() {
				return nil
			}
			return r.Rank
		}},
		{"grades", "", "how many grades the standard has", func(r *Row) any { return r.Of }},
		{"complete", "", "false: something required was not measured, the grade is no better than", func(r *Row) any { return r.Complete }},
		{"borderline", "", "true: another sample may say otherwise", func(r *Row) any { return r.Borderline }},
		{"confidence", "fraction", "chance that the lot itself has this grade", func(r *Row) any { return r.Confidence }},
		{"deciding", "", "parameters that hold the grade down", func(r *Row) any { return spaced(r.Deciding) }},
		{"missing", "", "required parameters that were not measured", func(r *Row) any { return spaced(r.Missing) }},
		{"gates", "", "conditions that stopped the lot outside the ladder", func(r *Row) any { return spaced(r.Gates) }},
		{"remedy", "", "the one remedy advised", func(r *Row) any { return word(r.Remedy) }},
		{"becomes", "", "grade after the remedy", func(r *Row) any { return word(r.Becomes) }},
		{"recheck_of", "", "slip of the check before, of the same lot", func(r *Row) any { return word(r.Recheck) }},
		{"pooled", "", "true: the readings are those of this sample and of the check before, taken together", func(r *Row) any { return r.Pooled() }},
		{"replaced_by", "", "slip of the check that corrects this one", func(r *Row) any { return word(r.ReplacedBy) }},
	}
}

// mostRepeats is how many moisture readings have a column of their own.
const mostRepeats = 3

func readingColumns() (list []Column) {
	for i := range mostRepeats {
		name := "moisture_" + string(rune('1'+i))
		list = append(list, Column{name, "% wet basis", "moisture reading in the order taken", func(r *Row) any {
			if i < len(r.Readings.Repeats) {
				return r.Readings.Repeats[i]
			}
			return nil
		}})
	}
	for _, f := range grading.Fields() {
		if f == grading.Moisture {
			continue
		}
		unit := "g"
		if f.Kind() == grading.CountField {
			unit = "count"
		}
		list = append(list, Column{f.String(), unit, paper.Say("field", f), func(r *Row) any {
			if v, ok := r.Readings.Get(f); ok {
				return v
			}
			return nil
		}})
	}
	list = append(list, Column{"signs", "", "whether anybody looked, smelt and felt for signs: looked, not looked or not recorded", func(r *Row) any {
		return r.Readings.Looked.String()
	}})
	return append(list,
		Column{"seen", "", "what was seen or smelt, and what is held; without what was cleared", func(r *Row) any { return spaced(r.Readings.Flags) }},
		Column{"held", "", "those of them that come only from an earlier check of the lot, and stay until they are cleared", func(r *Row) any { return spaced(r.Held) }},
		Column{"held_from", "", "slip of that check", func(r *Row) any { return word(r.HeldFrom) }},
		Column{"not_accepted", "", "true: something seen or held makes it neither food nor feed", func(r *Row) any {
			return slices.ContainsFunc(r.Readings.Flags, grading.Flag.Unfit)
		}},
		Column{"cleared", "", "signs that a laboratory cleared, or treated seed that turned out to be none", func(r *Row) any { return spaced(r.cleared()) }},
		Column{"cleared_by", "", "which laboratory, or who established it; the last one", func(r *Row) any { return word(r.lastCleared().By) }},
		Column{"cleared_on", "", "day of its report", func(r *Row) any {
			if r.lastCleared().On.IsZero() {
				return nil
			}
			return r.lastCleared().On.In(r.Zone).Format(time.DateOnly)
		}},
		Column{"cleared_reference", "", "its reference", func(r *Row) any { return word(r.lastCleared().Reference) }},
	)
}

// cleared are the signs that were taken off the lot.
func (r *Row) cleared() (flags []grading.Flag) {
	for _, c := range r.Cleared {
		flags = append(flags, c.Flags...)
	}
	return flags
}

func (r *Row) lastCleared() (last session.Clearance) {
	if n := len(r.Cleared); n > 0 {
		last = r.Cleared[n-1]
	}
	return last
}
