package screen_test

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"threshline/grading"
	"threshline/session"
	"threshline/session/shorthand"
)

// say sends entries one by one, by the channel that is in use.
func (p *plot) say(entries ...string) (r session.Reply) {
	p.t.Helper()
	for _, entry := range entries {
		var err error
		switch {
		case p.ussd && !p.h.open:
			if r, err = p.h.dial(); err == nil {
				r, err = p.h.key(entry)
			}
		case p.ussd:
			r, err = p.h.key(entry)
		default:
			r, err = p.h.sms(entry)
		}
		if err != nil {
			p.t.Fatalf("SEED=%d: %v", p.seed, err)
		}
		p.log = append(p.log, fmt.Sprintf("> %s\n%s", entry, r.Text))
		if r.Silent { // taken for the echo of a machine
			p.w.now = p.w.now.Add(time.Hour)
		}
	}
	return r
}

// pagesOf is a reply with its further pages, without what stands under each.
func (p *plot) pagesOf(r session.Reply) string {
	p.t.Helper()
	text := ""
	for range 8 {
		more := false
		for _, line := range strings.Split(r.Text, "\n") {
			if strings.HasPrefix(line, p.text("foot.more_only")) {
				more = true
				continue
			}
			text += line + " "
			if p.listed(line) {
				text += "\n"
			}
		}
		if !more {
			return text
		}
		r = p.say("9")
	}
	return text
}

// listed reports whether a line is one of a list.
func (p *plot) listed(line string) bool { return line != "" && line[0] >= '1' && line[0] <= '9' }

// begin begins a check as somebody who keys it, one step after the other.
func (p *plot) begin(s *saying) string {
	p.ussd = p.chance(60)
	s.begun = true
	return p.say("menu", "1").Text
}

// fromMine goes on from the list of one's own checks.
func (p *plot) fromMine(s *saying, keys ...string) string {
	p.ussd = p.chance(50)
	p.h.open = false
	mine := p.say("menu", "2")
	for i, line := range strings.Split(mine.Text, "\n") {
		for _, slip := range slices.Backward(s.lot.slips) {
			if n, err := strconv.Atoi(strings.Split(line, " ")[0]); err == nil && strings.Contains(line, string(slip)) && i > 0 {
				s.begun, s.slip = true, slip
				return p.say(append([]string{strconv.Itoa(n)}, keys...)...).Text
			}
		}
	}
	s.correct = false
	return p.begin(s)
}

// told looks at what the coordinator hears of a check that was withdrawn.
func (p *plot) told(s *saying) {
	c := p.w.store.checks[s.slip]
	unfit := slices.ContainsFunc(c.Readings.Flags, grading.Flag.Unfit)
	if sent := p.alerts(); c.State == session.Withdrawn && unfit {
		p.alerted(c, sent)
	}
}

// oneMessage sends a whole check in one message, or those of two growers.
func (p *plot) oneMessage(all ...*saying) string {
	p.ussd = false
	var texts []string
	for _, s := range all {
		s.begun = true
		r := grading.Readings{Repeats: []grading.Decimal{p.moisture(), p.moisture(), p.moisture()}}
		for f, v := range p.readings() {
			r.Set(f, v)
		}
		lot := shorthand.Lot{Grower: shorthand.Grower{Short: s.lot.grower}, Readings: r}
		if lot.Slip = string(s.slip); s.slip == "" {
			lot.Bags, lot.BagKG = s.lot.bags, 75*grading.One
		} else {
			lot.Grower = shorthand.Grower{}
		}
		text, signs := shorthand.NewReader(p.w.machine.Words, p.lang).Render(lot), p.words(s)
		if signs != "" && len(all) == 1 && p.chance(30) {
			text = signs + " " + text
		} else {
			text += " " + signs
		}
		texts = append(texts, strings.TrimSpace(text))
	}
	return p.say(strings.Join(texts, "; ")).Text
}

// words are what there is to say of signs, in a message; "" for nothing.
func (p *plot) words(s *saying) string {
	if !s.looked || s.slip != "" && p.chance(40) { // asked for
		return ""
	}
	s.spoken = true
	word := func(list string) string { return pick(p.rng, p.w.machine.Words.Words(p.lang, "shorthand."+list)...) }
	var words []string
	for _, f := range s.flags {
		words = append(words, word(string(f)))
	}
	if s.insects {
		words = append(words, word("live_weevils")+" 2")
	}
	if len(words) == 0 {
		words = []string{p.w.machine.Words.Words(p.lang, "shorthand.looked")[0]}
	}
	return strings.Join(words, " ")
}

func (p *plot) moisture() grading.Decimal { return 13*grading.One + grading.Decimal(p.n(9))*1000 }

// readings are those of a lot that is good, but for its signs.
func (p *plot) readings() map[grading.Field]grading.Decimal {
	return map[grading.Field]grading.Decimal{
		grading.SampleWeight: 200 * grading.One, grading.Chaff: grading.Decimal(10000 + p.n(9)*1000), grading.Stones: 2000,
		grading.BrownWeight: 1552000, grading.ImmatureWeight: 12000, grading.PestDamaged: 0, grading.Discoloured: 0, grading.Red: 0, grading.OtherVariety: 0,
	}
}

// mostEntries is more than any check needs, with what goes wrong on the way.
const mostEntries = 60

// toTheEnd answers what is asked until the checks are filed, as people do: with
// dropped calls, wrong keys, looks at the help, and messages that come twice.
func (p *plot) toTheEnd(says []*saying, answers string, known map[session.Slip]uint64) string {
	s := says[0]
	for range mostEntries {
		d := p.dialogue()
		filed := 0
		for slip := range p.w.store.checks {
			if known[slip] == 0 {
				filed++
			}
		}
		switch d.Screen {
		case "grade", "lots", "todo", "why":
			if filed > 0 {
				return p.pagesOf(session.Reply{Text: answers})
			}
		case "look", "look-smell":
			if !s.looked || s.spoken && d.Screen == "look" {
				return p.pagesOf(session.Reply{Text: answers})
			}
		case "menu":
			if len(d.Drafts) == 0 && s.begun {
				return answers
			}
		case "smell", "insects", "same":
		default:
			if filed > 0 { // by a message that came twice: its answer is gone
				return ""
			}
		}
		switch noise := p.n(100); {
		case noise < 5:
			p.say("?")
			continue
		case noise < 9 && p.ussd:
			p.h.open = false
			answers = must(p.t, func(string) (session.Reply, error) { return p.h.dial() }, "")
			p.log = append(p.log, "(drop, dial)\n"+answers)
			continue
		case noise < 11 && d.Screen != "look" && d.Screen != "look-smell":
			answers = p.say("00").Text
			continue
		case noise < 14 && d.Screen != "look" && d.Screen != "look-smell":
			p.ussd, p.h.open = !p.ussd, false
			if p.ussd {
				r, err := p.h.dial()
				if err != nil {
					p.t.Fatal(err)
				}
				answers = r.Text
			}
			continue
		case noise < 17:
			answers = p.say("xyzzy" + strconv.Itoa(p.n(100))).Text
			continue
		case noise < 20 && p.h.last.Text != "" && filed == 0:
			r, err := p.w.step(p.h.last)
			if err != nil {
				p.t.Fatal(err)
			}
			p.log = append(p.log, "(again) "+p.h.last.Text+"\n"+r.Text)
			answers = r.Text
			continue
		}
		answers = p.say(p.answer(d, s, answers)).Text
	}
	return ""
}

// exampleShown is the entry that a screen gives as an example.
var exampleShown = regexp.MustCompile(`(?m): ([0-9][0-9 .,]*)$`)

// answer is what a person who knows the lot answers on a screen.
func (p *plot) answer(d session.Dialogue, s *saying, shown string) string {
	switch d.Screen {
	case "menu":
		if len(d.Drafts) > 0 {
			return "5"
		}
		return "1"
	case "unfinished":
		return strconv.Itoa(len(d.Drafts))
	case "whose":
		return strconv.Itoa(s.lot.grower)
	case "bags":
		return fmt.Sprintf("%d 75", s.lot.bags)
	case "moisture", "sample", "dirt", "husk", "pan", "first", "second":
		if like := exampleShown.FindAllStringSubmatch(shown, -1); like != nil {
			return like[len(like)-1][1]
		}
		return "?"
	case "seen":
		return p.keys(s)
	case "look":
		return p.keys(s)
	case "smell", "look-smell":
		return p.smell(s)
	case "insects":
		return pick(p.rng, "2", "99")
	case "sum":
		if s.correct && !s.spoken {
			s.looked = true
			if lines := p.lastLine(p.pagesOf(session.Reply{Text: shown})); lines > 0 {
				return fmt.Sprintf("%d %s", lines, p.keys(s))
			}
		}
		return "1"
	case "same":
		for _, text := range slipInText.FindAllString(shown, -1) {
			if c := p.w.store.checks[session.Slip(text)]; d.Current >= 0 && c.Lot.Bags != d.Drafts[d.Current].Lot.Bags {
				return "2"
			}
		}
		return "1"
	case "lack":
		return "2"
	case "how", "zero":
		return "0"
	case "spear", "doubt", "agree", "twice":
		return "1"
	}
	return "0"
}

// lastLine is the number of the last line of the list that is shown: the signs.
func (p *plot) lastLine(shown string) (n int) {
	for _, line := range strings.Split(shown, "\n") {
		if fields := strings.FieldsFunc(line, func(r rune) bool { return r == ' ' || r == ':' }); len(fields) > 1 {
			if i, err := strconv.Atoi(fields[0]); err == nil && i == n+1 {
				n = i
			}
		}
	}
	return n
}

// keys are the numbers of what is seen, as people key them.
func (p *plot) keys(s *saying) string {
	if !s.looked {
		return "99"
	}
	s.spoken = true
	number := map[grading.Flag]string{grading.Musty: "2", grading.OffOdour: "2", grading.Mouldy: "3", grading.Warm: "4", grading.TreatedSeed: "5"}
	var keys []string
	for _, f := range s.flags {
		if !slices.Contains(keys, number[f]) {
			keys = append(keys, number[f])
		}
	}
	if s.insects {
		keys = append(keys, "6")
	}
	if len(keys) == 0 {
		return "1"
	}
	return strings.Join(keys, pick(p.rng, "", " ", ",", "."))
}

func (p *plot) smell(s *saying) string {
	keys := ""
	if slices.Contains(s.flags, grading.Musty) {
		keys = "1"
	}
	if slices.Contains(s.flags, grading.OffOdour) {
		keys += "2"
	}
	if keys == "" {
		keys = "1"
	}
	return keys
}
