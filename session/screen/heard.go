package screen

import (
	"slices"
	"strings"

	"threshline/grading"
	"threshline/session"
	"threshline/session/screen/ask"
	"threshline/session/screen/people"
	"threshline/session/shorthand"
	"threshline/session/talk"
	"threshline/session/wording"
)

// heard decides what the reader of a message cannot know: words before the
// readings are a name only if the sender, or one of their growers, has that
// name. Otherwise they may be a danger, and are repeated to the person like any
// unknown word. It also reports whether all words and numbers of the lot were
// understood.
func heard(t *talk.Talk, lot *shorthand.Lot, problems []shorthand.Problem) ([]shorthand.Problem, bool) {
	understood := !slices.ContainsFunc(problems, func(p shorthand.Problem) bool {
		uncounted := p.Trouble == shorthand.NoNumber && (p.Key == grading.LiveWeevils.String() || p.Key == grading.LiveOthers.String())
		return p.Trouble == shorthand.UnknownWord || p.Trouble == shorthand.LooseNumber || uncounted // which may be insects
	})
	name := lot.Grower.Name
	switch {
	case name == "" || known(t, lot.Grower):
		return problems, understood
	case lot.Grower.Short > 0 || lot.Grower.Bare && !ask.Agents(t):
		lot.Grower.Name, lot.Grower.Bare = "", false
		return append([]shorthand.Problem{{Trouble: shorthand.UnknownWord, Typed: name}}, problems...), false
	}
	return problems, understood && !lot.Grower.Bare // that nobody is called so is said where it is asked whose it is
}

// known reports whether a name belongs to the grower that a message is about.
func known(t *talk.Talk, g shorthand.Grower) bool {
	if !ask.Agents(t) {
		own, said := wording.Fold(string(t.Language), t.Person.Name), wording.Fold(string(t.Language), g.Name)
		return own == said || slices.Contains(strings.Fields(own), said)
	}
	return slices.ContainsFunc(people.Named(t, g.Name), func(p session.Person) bool { return g.Short == 0 || p.Short == g.Short })
}

// sameWeight says when a new sample still stands for the one before: when their
// weights differ by at most one part in so many. Brown rice is then the same
// share of both. Source: assumed.
const sameWeight = 20

// shed drops the weights of the sample before when a re-check has a sample of
// another weight: they belong to the old sample and do not fit the new one.
// Weights that came just now stay.
func shed(t *talk.Talk, draft *session.Draft, r *grading.Readings, came []grading.Field) {
	before, ok := t.Check(draft.Recheck)
	if draft.Recheck == "" || !ok || !slices.Contains(came, grading.SampleWeight) {
		return
	}
	was, had := before.Readings.Get(grading.SampleWeight)
	is, has := r.Get(grading.SampleWeight)
	if !had || !has || max(was-is, is-was) <= was/sameWeight {
		return
	}
	for _, f := range grading.FieldsOf(grading.Weighed) {
		old, kept := before.Readings.Get(f)
		if now, there := r.Get(f); f != grading.SampleWeight && kept && there && now == old && !slices.Contains(came, f) {
			r.Unset(f)
		}
	}
}
