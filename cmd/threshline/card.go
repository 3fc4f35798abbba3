package main

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"os"
	"slices"
	"strings"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
	"threshline/session/shorthand"
)

type cardCmd struct {
	Config   string `help:"Configuration; the demonstration's when not given." type:"existingfile" placeholder:"FILE"`
	Language string `help:"Language of the card; the programme's first when not given." placeholder:"CODE"`
	Output   string `short:"o" help:"Where to write the page; standard output when not given." placeholder:"FILE"`
}

// Help is the longer text of `threshline card --help`.
func (cmd *cardCmd) Help() string {
	return `Writes one printable HTML page (A4, no script) for the agent's bag: the work
step by step, sieves and times, the shorthand, keys and words, the cautions, and
the limits of the standard in force. Print it, or save it as PDF, from a browser.`
}

func (cmd *cardCmd) Run(std stdio) (err error) {
	cfg, err := loadConfigOrDemo(cmd.Config)
	if err != nil {
		return err
	}
	p, err := cfg.programme()
	if err != nil {
		return err
	}
	lang := cmd.Language
	if lang == "" && len(p.Languages) > 0 {
		lang = string(p.Languages[0])
	}
	if !slices.Contains(p.Words.Languages(), lang) {
		return &fault{
			fmt.Errorf("card: there is no wording for language %q", lang),
			"there are catalogues for " + strings.Join(p.Words.Languages(), ", "),
		}
	}
	out := std.out
	if cmd.Output != "" {
		file, err := os.Create(cmd.Output)
		if err != nil {
			return fmt.Errorf("card: %w", err)
		}
		defer func() {
			if e := file.Close(); err == nil && e != nil {
				err = fmt.Errorf("card: %w", e)
			}
		}()
		out = file
	}
	return writeCard(out, p, lang)
}

//go:embed card.html
var cardPage string

// writeCard writes the page of a programme in one language.
func writeCard(w io.Writer, p *session.Programme, lang string) error {
	page, err := template.New("card").Parse(cardPage)
	if err != nil {
		return fmt.Errorf("card: %w", err)
	}
	if err := page.Execute(w, newCard(p, lang)); err != nil {
		return fmt.Errorf("card: %w", err)
	}
	return nil
}

// card is what the page shows, all of it said already.
type card struct {
	Language, Title, Programme, ShortCode string
	Drafted                               string
	Headings                              cardHeadings
	Steps, Tools                          []cardItem
	Spear                                 []cardItem // bags of the lot, bags to spear
	Pattern                               string
	Legend                                []cardItem
	ShortNotes                            []string
	Keys                                  []cardItem
	Cautions                              []string
	Limits                                cardLimits
	Estimate, Practice                    string
}

type cardHeadings struct{ Work, Tools, Spear, Bags, Short, Keys, Care, Limits string }

// cardItem is a term and what is said of it.
type cardItem struct{ Term, Text string }

// cardMaker says things in one language.
type cardMaker struct {
	p    *session.Programme
	lang string
}

func (m *cardMaker) say(key string, args ...any) string { return m.p.Words.Text(m.lang, key, args...) }

func newCard(p *session.Programme, lang string) *card {
	m := &cardMaker{p, lang}
	needs := p.Standard.Needs()
	reader := shorthand.NewReader(p.Words, lang)
	c := &card{
		Language: lang, Title: m.say("card.title"), Programme: p.Name, ShortCode: p.ShortCode,
		Headings: cardHeadings{
			m.say("card.work"), m.say("card.tools"), m.say("card.spear"), m.say("card.bags"),
			m.say("card.short"), m.say("card.keys"), m.say("card.care"), m.say("card.limits"),
		},
		Steps: m.steps(needs), Tools: m.tools(needs), Spear: m.spear(), Keys: m.keys(),
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
		m.say("card.unable", "example", reader.Letter(grading.BrownMass.String())+" "+reader.Letter("unable")),
		m.say("card.many", "letter", reader.Letter("grower")),
	}
	for _, id := range advice.Cautions() {
		c.Cautions = append(c.Cautions, m.say("caution."+string(id)))
	}
	if p.Words.Status(lang) != "" {
		c.Drafted = m.p.Words.Name(lang) + ": " + p.Words.Status(lang)
	}
	return c
}
