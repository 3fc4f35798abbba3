// Package card writes the pocket card for an agent's bag: the work step by step,
// the shorthand, the keys, the cautions and the limits of the standard in force; and
// on half a page of its own the check by hand.
package card

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"

	"threshline/advice"
	"threshline/grading"
	"threshline/session/programme"
	"threshline/session/shorthand"
	"threshline/session/wording"
)

//go:embed card.html
var cardPage string

// Write writes the page of a programme in one language.
func Write(w io.Writer, p *programme.Programme, words *wording.Catalogue, lang string) error {
	page, err := template.New("card").Parse(cardPage)
	if err != nil {
		return fmt.Errorf("card: %w", err)
	}
	if err := page.Execute(w, newCard(p, words, lang)); err != nil {
		return fmt.Errorf("card: %w", err)
	}
	return nil
}

// card is what the page shows, in words already.
type card struct {
	Language, Title, Programme, ShortCode string
	Drafted                               string
	Headings                              cardHeadings
	Steps, Tools                          []cardItem
	Spear                                 []cardItem // bags of the lot, bags to spear
	Plan                                  string
	Pattern                               string
	Legend                                []cardItem
	ShortNotes                            []string
	Keys                                  []cardItem
	Cautions                              []string
	Limits                                cardLimits
	Estimate, Practice                    string
	Hand                                  cardHand
}

type cardHeadings struct{ Work, Tools, Spear, Bags, Short, Keys, Care, Limits string }

// cardHand is the half page for a grower without tools.
type cardHand struct {
	Title, What, Not string
	Steps            []string
	Pattern, Order   string // an example, and what its numbers are
	Kit              string
}

// cardItem is a term and what is said of it.
type cardItem struct{ Term, Text string }

// cardMaker says things in one language.
type cardMaker struct {
	p     *programme.Programme
	words *wording.Catalogue
	lang  string
}

// say says a text in the letters of print.
func (m *cardMaker) say(key string, args ...any) string {
	return m.words.Print(m.lang, m.words.Text(m.lang, key, args...))
}

func newCard(p *programme.Programme, words *wording.Catalogue, lang string) *card {
	m := &cardMaker{p, words, lang}
	needs := p.Standard.Needs()
	reader := shorthand.NewReader(words, lang)
	c := &card{
		Language: lang, Title: m.say("card.title"), Programme: p.Name, ShortCode: p.ShortCode,
		Headings: cardHeadings{
			m.say("card.work"), m.say("card.tools"), m.say("card.spear"), m.say("card.bags"),
			m.say("card.short"), m.say("card.keys"), m.say("card.care"), m.say("card.limits"),
		},
		Steps: m.steps(needs), Tools: m.tools(needs), Spear: m.spear(), Plan: m.plan(), Keys: m.keys(),
		Pattern:  reader.Pattern(needs),
		Limits:   m.limits(),
		Estimate: m.say("why.estimate"), Practice: m.say("card.practice"),
	}
	for _, f := range needs {
		c.Legend = append(c.Legend, cardItem{reader.Letter(f.String()), m.say("field." + f.String())})
	}
	for _, key := range []string{"bags", "weight", "grower", "slip"} {
		c.Legend = append(c.Legend, cardItem{reader.Letter(key), m.say("card.letter_" + key)})
	}
	c.ShortNotes = []string{
		m.say("card.any_order"),
		m.say("card.unable", "example", reader.Letter(grading.BrownWeight.String())+" "+reader.Letter("unable")),
		m.say("card.many", "letter", reader.Letter("grower")),
	}
	for _, id := range advice.Cautions() {
		text := m.say("caution." + string(id))
		if id == advice.Tainted { // which by itself does not say of what it speaks
			text = m.title(m.say("flag.off_odour")) + ": " + text
		}
		c.Cautions = append(c.Cautions, text)
	}
	c.Hand = m.hand(reader)
	c.Drafted = m.say("card.drafted")
	if by, reviewed := words.ReviewedBy(lang); reviewed {
		c.Drafted = m.say("card.reviewed", "name", by)
	}
	return c
}
