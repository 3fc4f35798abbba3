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
