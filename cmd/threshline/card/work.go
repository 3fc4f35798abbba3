package card

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"threshline/grading"
	"threshline/session/shorthand"
)

// cardSteps are the steps of the work: the key of its name, the key of how it
// is done by hand, and the fields it is for; a step without fields is always
// done.
var cardSteps = []struct {
	name, how string
	fields    []grading.Field
}{
	{"unfinished.step_bags", "help.bags", nil},
	{"card.spearing", "help.spear", nil},
	{"unfinished.step_moisture", "help.moisture", grading.AskedOn("moisture")},
	{"unfinished.step_sample", "help.sample", grading.AskedOn("sample")},
	{"unfinished.step_dirt", "help.dirt", append(grading.AskedOn("dirt"), grading.CleanWeight)},
	{"unfinished.step_husk", "help.husk", grading.AskedOn("husk")},
	{"unfinished.step_pan", "help.pan", grading.FieldsOf(grading.Pan)},
	{"unfinished.step_insects", "help.insects", grading.AskedOn("insects")},
	{"card.looking", "help.seen", nil},
}

// asked reports whether the standard needs any of the fields.
func asked(needs, fields []grading.Field) bool {
	return len(fields) == 0 || slices.ContainsFunc(fields, func(f grading.Field) bool { return slices.Contains(needs, f) })
}

func (m *cardMaker) steps(needs []grading.Field) (items []cardItem) {
	for _, s := range cardSteps {
		if asked(needs, s.fields) {
			items = append(items, cardItem{m.title(m.say(s.name)), m.say(s.how)})
		}
	}
	return items
}

// hand is the check by hand, as "?" says how each step is done.
func (m *cardMaker) hand(reader *shorthand.Reader) cardHand {
	h := cardHand{
		Title: m.say("hand.offer"), What: m.say("help.hand_offer"), Not: m.say("card.hand_not") + " " + m.say("hand.estimate"),
		Pattern: m.say("hand.pattern", "like", reader.Example("by_hand")),
		Order:   m.title(m.say("hand.counted")) + ", " + m.say("hand.husked") + ".",
	}
	for _, key := range []string{"help.seen", "help.bite", "help.hand_count", "help.hand_husk"} {
		h.Steps = append(h.Steps, m.say(key))
	}
	if m.p.KitAt != "" {
		h.Kit = m.say("hand.kit_at", "where", m.p.KitAt)
	}
	return h
}

// title begins with a capital.
func (m *cardMaker) title(s string) string {
	first, size := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(first)) + s[size:]
}

// tools are sizes, portions and times. They are common practice without a source, and
// the card says so.
func (m *cardMaker) tools(needs []grading.Field) (items []cardItem) {
	number := func(s string) string { return m.words.Number(m.lang, s) }
	rows := []struct {
		fields []grading.Field
		term   string
		key    string
		args   []any
	}{
		{grading.AskedOn("moisture"), "tool.meter", "card.row_meter", []any{"weight", "3", "times", "3"}},
		{[]grading.Field{grading.SampleWeight}, "tool.scale", "card.row_sample", []any{"weight", "20", "most", "200"}},
		{grading.AskedOn("dirt"), "card.paddy_sieve", "card.row_sieve", []any{"size", number("1.7"), "seconds", "30"}},
		{[]grading.Field{grading.ImmatureWeight}, "card.brown_sieve", "card.row_sieve", []any{"size", number("1.6"), "seconds", "30"}},
		{[]grading.Field{grading.Counted}, "tool.pan", "card.row_pan", []any{"count", "100"}},
		{nil, "card.keep", "card.row_keep", []any{"low", "12", "high", "14"}},
	}
	for _, r := range rows {
		if asked(needs, r.fields) {
			items = append(items, cardItem{m.title(m.say(r.term)), m.say(r.key, r.args...)})
		}
	}
	return items
}

// cardLots are sizes of lot that the card tells how many bags to spear of.
var cardLots = []int{3, 5, 8, 10, 15, 20, 30, 50, 100, 200}

// plan says by which rule bags are speared, for what purpose, and why.
func (m *cardMaker) plan() string {
	c := m.p.Sampling()
	return m.say("plan.why", "purpose", m.say("plan.for_"+cmp.Or(string(c.Purpose), "own")), "rule", m.say("plan."+string(c.Plan.ID)))
}

func (m *cardMaker) spear() (items []cardItem) {
	plan := m.p.Sampling().Plan
	for _, bags := range cardLots {
		items = append(items, cardItem{strconv.Itoa(bags), strconv.Itoa(plan.Count(bags))})
	}
	return items
}

// keys are the keys under a screen and the words that always work.
func (m *cardMaker) keys() []cardItem {
	word := func(list string) string {
		for _, w := range m.words.Words(m.lang, list) {
			if len(w) > 1 && !strings.ContainsAny(w, "0123456789? ") {
				return strings.ToUpper(w)
			}
		}
		return strings.ToUpper(list)
	}
	return []cardItem{
		{"0", m.say("card.key_back")},
		{"00", m.say("card.key_menu")},
		{"?", m.say("card.key_how")},
		{"9", m.say("card.key_more")},
		{"99", m.say("card.key_lack")},
		{word("accept.menu"), m.say("card.word_menu")},
		{word("accept.help"), m.say("card.word_help")},
		{"STOP", m.say("card.word_stop")},
		{"START", m.say("card.word_start")},
	}
}
