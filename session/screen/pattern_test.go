package screen_test

import (
	"regexp"
	"strings"
	"testing"

	"threshline/grading/standard/standardtest"
	"threshline/session"
)

// A pattern that is copied from the pages of HELP is right: no page ends between
// a letter and its number.
func TestNoPageOfThePatternPartsALetterFromItsNumber(t *testing.T) {
	parted := regexp.MustCompile(`\b([A-Z]{1,5}|[0-9][0-9.,]*)$`)
	for _, standard := range []string{"agmark-paddy", standardtest.Demonstration, "gb1350-indica", "us-rough-rice"} {
		for _, lang := range newWorld(t, standard).machine.Words.Languages() {
			h := known(newWorld(t, standard, session.Language(lang)), walker, session.Agent)
			p, _ := h.world.store.PersonByPhone(walker)
			p.Language = session.Language(lang)
			h.world.store.people[p.ID] = p
			pages := h.pages(t, session.SMS, "HELP")
			for i := range pages[:len(pages)-1] {
				text, _, _ := strings.Cut(pages[i], "\n"+h.world.machine.Words.Text(lang, "foot.more"))
				next := pages[i+1]
				if parted.MatchString(text) && next != "" && next[0] >= '0' && next[0] <= '9' {
					t.Errorf("%s, %s: %q, then %q", standard, lang, text, next)
				}
			}
		}
	}
}
