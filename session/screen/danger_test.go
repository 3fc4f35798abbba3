package screen_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"threshline/grading"
	"threshline/session"
)

// Random dialogues over every way in, in every language: a danger that was ever
// said about a lot is in its filed check, on its slip, in its answer with the
// caution and in the alert, and nothing that nobody looked at is praised.
// DIALOGUES says how many are played, SEED with which one to begin; the seed of
// one that fails is printed.
func TestADangerThatWasSaidIsNeverLost(t *testing.T) {
	t.Parallel()
	number := func(name string, otherwise int) int {
		if n, err := strconv.Atoi(os.Getenv(name)); err == nil {
			return n
		}
		return otherwise
	}
	usual := 300
	if testing.Short() {
		usual = 60
	}
	count, first := number("DIALOGUES", usual), number("SEED", 1)
	flows, filed, dangerous := 0, 0, 0
	for seed := first; seed < first+count && !t.Failed(); seed++ {
		p := newPlot(t, seed)
		for range 2 + p.n(5) {
			p.flow()
		}
		flows, filed, dangerous = flows+p.flows, filed+p.filed, dangerous+p.dangerous
	}
	t.Logf("%d dialogues: %d of %d checks were filed, %d of them of lots with a danger", count, filed, flows, dangerous)
	if count >= 60 && (filed*10 < flows*8 || dangerous*3 < filed) {
		t.Errorf("too few come to their end: %d of %d, %d dangerous", filed, flows, dangerous)
	}
}

// plot is one dialogue of an agent about some lots, and what was said of each.
type plot struct {
	t         *testing.T
	seed      int
	rng       *rand.Rand
	w         *world
	h         *handset
	lang      string
	lots      []*lotStory
	strangers int
	ussd      bool
	log       []string

	flows, filed, dangerous int
}

// lotStory is what was ever said of a lot that makes it no food.
type lotStory struct {
	grower, bags int
	said         []grading.Flag
	slips        []session.Slip
}

// saying is what the agent has to say of a lot this time, and whether it was said.
type saying struct {
	lot     *lotStory
	flags   []grading.Flag
	insects bool
	looked  bool // something is said at all
	spoken  bool
	begun   bool
	correct bool
	slip    session.Slip // that is checked again or corrected
}

// mostLogged is how many messages before a fault are shown.
const mostLogged = 80

const chiefsNumber = session.Phone("+33639983501")

var plotStandards = []string{"mbuyu-hand", "agmark-paddy", "fci-storage"}

func newPlot(t *testing.T, seed int) *plot {
	rng := rand.New(rand.NewPCG(uint64(seed), 20261125))
	lang := pick(rng, "en", "fr", "sw", "ha")
	w := newWorld(t, pick(rng, plotStandards...), session.Language(lang))
	w.once, w.pace = true, 7*time.Second
	p := &plot{t: t, seed: seed, rng: rng, w: w, h: kisimaAgent(w), lang: lang}
	for id, person := range w.store.people {
		person.Language, person.Consent = session.Language(lang), session.Consent{Version: 1, Given: true}
		w.store.people[id] = person
	}
	head(w, chiefsNumber, "Kisima", func(c *session.Person) { c.Language = session.Language(lang) })
	for _, bags := range []int{5, 12, 30, 80} { // none mistaken for another
		p.lots = append(p.lots, &lotStory{grower: 1 + p.n(2), bags: bags})
	}
	return p
}

func pick[T any](rng *rand.Rand, all ...T) T { return all[rng.IntN(len(all))] }

func (p *plot) n(below int) int            { return p.rng.IntN(below) }
func (p *plot) chance(percent int) bool    { return p.n(100) < percent }
func (p *plot) text(key string) string     { return p.w.machine.Words.Text(p.lang, key) }
func (p *plot) dialogue() session.Dialogue { return p.w.store.dialogues[p.h.number] }
func (p *plot) fail(form string, args ...any) {
	p.t.Helper()
	p.t.Errorf("SEED=%d: %s\n%s", p.seed, fmt.Sprintf(form, args...), strings.Join(p.log[max(0, len(p.log)-mostLogged):], "\n"))
}

// whatIsThere draws what there is to say.
func (p *plot) whatIsThere(lot *lotStory) *saying {
	s := &saying{lot: lot, looked: p.chance(75)}
	if !s.looked || p.chance(45) {
		return s
	}
	for range 1 + p.n(2) {
		f := pick(p.rng, grading.Mouldy, grading.Musty, grading.TreatedSeed, grading.OffOdour, grading.Warm)
		if !slices.Contains(s.flags, f) {
			s.flags = append(s.flags, f)
		}
	}
	s.insects = p.chance(15)
	return s
}

// flow is one check, from its first word to what came of it.
func (p *plot) flow() {
	p.w.now = p.w.now.Add(pick(p.rng, 10*time.Minute, 3*time.Hour, 50*time.Hour, 9*24*time.Hour))
	p.h.open = false
	p.w.store.outgoing = nil
	known := map[session.Slip]uint64{} // their versions
	for slip, c := range p.w.store.checks {
		known[slip] = c.Version
	}
	lot := pick(p.rng, p.lots...)
	says := []*saying{p.whatIsThere(lot)}
	var answers string
	switch way := p.n(10); {
	case way < 2:
		if other := pick(p.rng, p.lots...); other != lot && other.grower != lot.grower {
			says = append(says, p.whatIsThere(other))
		}
		answers = p.oneMessage(says...)
	case way < 4:
		answers = p.oneMessage(says...)
	case way < 6 && len(lot.slips) > 0:
		says[0].slip = lot.slips[len(lot.slips)-1]
		answers = p.oneMessage(says...)
	case way == 6 && len(lot.slips) > 0:
		answers = p.fromMine(says[0], "3", "3")
	case way == 7 && len(lot.slips) > 0:
		says[0].correct = true
		answers = p.fromMine(says[0], "3", "1")
	case way == 8 && len(lot.slips) > 0 && p.chance(40):
		p.fromMine(says[0], "3", "2", "1") // withdrawn, and checked as a new one
		p.told(says[0])
		says[0].begun, says[0].slip = false, ""
		answers = p.begin(says[0])
	default:
		answers = p.begin(says[0])
	}
	answers = p.toTheEnd(says, answers, known)
	var filed []session.Check
	for slip, c := range p.w.store.checks {
		if known[slip] == 0 {
			filed = append(filed, c)
		}
	}
	slices.SortFunc(filed, func(a, b session.Check) int { return strings.Compare(string(a.Slip), string(b.Slip)) })
	p.flows++
	p.filed += min(len(filed), 1)
	sent := p.alerts()
	for _, c := range filed {
		lot := p.lotOf(c)
		i := slices.IndexFunc(says, func(s *saying) bool { return s.lot == lot })
		if i < 0 { // begun earlier, and filed now: its answer is not the last one
			p.holds(c, &saying{lot: lot}, "", sent)
			continue
		}
		p.holds(c, says[i], answers, sent)
	}
	completed := len(filed) > 0
	for _, c := range p.w.store.checks { // what was completed under its slip
		if was := known[c.Slip]; was > 0 && was != c.Version {
			p.lotOf(c).hear(c.Readings.Flags)
			completed = true
		}
	}
	for _, s := range says {
		p.slipsOf(s.lot)
	}
	if !completed && len(p.dialogue().Drafts) == 0 && slices.ContainsFunc(says, func(s *saying) bool { return s.spoken && len(s.flags) > 0 }) {
		p.fail("a danger was said, and there is neither a check nor one under way")
	}
}

// lotOf is the lot of a check: a new one where bags or grower were mistyped.
func (p *plot) lotOf(c session.Check) *lotStory {
	grower := p.w.store.people[c.Lot.Grower].Short
	i := slices.IndexFunc(p.lots, func(l *lotStory) bool { return l.bags == c.Lot.Bags && l.grower == grower })
	if i < 0 {
		i, p.lots = len(p.lots), append(p.lots, &lotStory{grower: grower, bags: c.Lot.Bags})
	}
	return p.lots[i]
}

// hear keeps what was said of the lot.
func (l *lotStory) hear(flags []grading.Flag) {
	for _, f := range flags {
		if f.Unfit() && !slices.Contains(l.said, f) {
			l.said = append(l.said, f)
		}
	}
}

// alerts is what the coordinator is told by the full hour.
func (p *plot) alerts() (sent string) {
	now := p.w.now
	sent = told(p.w)[chiefsNumber]
	for _, o := range fire(p.t, p.w, now.Add(time.Hour))[chiefsNumber] {
		sent += "\n" + o.Text
	}
	return sent
}

// holds looks at a check that was filed.
func (p *plot) holds(c session.Check, s *saying, answers, sent string) {
	p.t.Helper()
	p.log = append(p.log, fmt.Sprintf("filed %s: %s, %v, held %v, looked %d, re-check %q", c.Slip, c.Grade, c.Readings.Flags, c.Held, c.Readings.Looked, c.Recheck))
	stays := slices.Clone(s.lot.said)
	has := func(flags ...grading.Flag) bool {
		return slices.ContainsFunc(flags, func(f grading.Flag) bool { return slices.Contains(c.Readings.Flags, f) })
	}
	for _, f := range stays {
		if !has(f) {
			p.fail("%s of %d bags is filed without %s, which was said before", c.Slip, c.Lot.Bags, f)
		}
	}
	for _, f := range s.flags {
		smells := f == grading.Musty || f == grading.OffOdour // a key that comes twice may answer of what it smells
		if s.spoken && !has(f) && !(smells && has(grading.Musty, grading.OffOdour)) {
			p.fail("%s of %d bags is filed without %s", c.Slip, c.Lot.Bags, f)
		}
	}
	if s.spoken && s.insects && !c.Infested() {
		p.fail("%s is filed without live insects", c.Slip)
	}
	s.lot.hear(c.Readings.Flags)
	if !slices.Contains(s.lot.slips, c.Slip) {
		s.lot.slips = append(s.lot.slips, c.Slip)
	}
	unfit := slices.ContainsFunc(c.Readings.Flags, grading.Flag.Unfit)
	if unfit {
		p.dangerous++
		if c.Rank <= c.Of {
			p.fail("%s holds %v and is %s", c.Slip, c.Readings.Flags, c.Grade)
		}
		if answers != "" {
			p.cautioned("the answer", answers)
		}
	}
	for _, f := range c.Readings.Flags {
		done := !f.Unfit() && strings.Contains(answers, p.text("remedy."+string(c.Remedy)+".do")) // which says it
		if answers != "" && !done && !strings.Contains(answers, p.text("flag."+string(f))) {
			p.fail("the answer does not name %s:\n%s", f, answers)
		}
	}
	if _, own, several := strings.Cut(answers, string(c.Slip)+":"); several { // several lots, a line each
		answers = slipInText.Split(own, 2)[0]
	}
	praised := strings.Contains(answers, p.text("remedy.keep_well.do")) || strings.Contains(answers, p.text("grade.best"))
	if praised && (len(c.Readings.Flags) > 0 || c.Readings.Looked != grading.WasLooked) {
		p.fail("%s is praised:\n%s", c.Slip, answers)
	}
	p.mine(c, unfit)
	corrected := s.correct && len(c.Held) == 0 && len(stays) == len(s.lot.said)
	if unfit && !corrected {
		p.alerted(c, sent)
	}
}

// cautioned fails where nobody is told not to eat it.
func (p *plot) cautioned(where, text string) {
	p.t.Helper()
	for _, key := range []string{"caution.mouldy", "caution.tainted", "caution.treated_seed", "alert.never"} {
		if strings.Contains(text, p.text(key)) {
			return
		}
	}
	p.fail("%s has no caution:\n%s", where, text)
}

func (p *plot) alerted(c session.Check, sent string) {
	p.t.Helper()
	if !strings.Contains(sent, string(c.Slip)) || !strings.Contains(sent, p.text("alert.never")) {
		p.fail("the coordinator is not told of %s: %q", c.Slip, sent)
	}
	p.named("the alert", &c, sent)
}

// named fails where a text does not name what makes a check no food; a musty smell
// is not told beside mould.
func (p *plot) named(where string, c *session.Check, text string) {
	p.t.Helper()
	for _, f := range c.Readings.Flags {
		if f.Unfit() && !strings.Contains(text, p.text("flag."+string(f))) && !(f == grading.Musty && strings.Contains(text, p.text("flag.mouldy"))) {
			p.fail("%s of %s does not name %s: %q", where, c.Slip, f, text)
		}
	}
}

// mine looks at the list of one's own checks.
func (p *plot) mine(c session.Check, unfit bool) {
	p.t.Helper()
	for _, line := range strings.Split(p.pagesOf(p.say("menu", "2")), "\n") {
		refused := strings.Contains(strings.ToLower(line), strings.ToLower(p.text("grade_name.not_accepted")))
		if strings.Contains(line, string(c.Slip)) && c.State == session.Filed && unfit && !refused {
			p.fail("My checks: %q", line)
		}
	}
}

var slipInText = regexp.MustCompile(`\b[2-9A-HJKMNP-Z]{7}\b`)

// slipsOf looks every slip of a lot up as a buyer would whom nobody knows.
func (p *plot) slipsOf(lot *lotStory) {
	p.t.Helper()
	for _, slip := range lot.slips {
		p.strangers++
		buyer := &handset{world: p.w, number: session.Phone(fmt.Sprintf("+447700900%03d", p.strangers%1000))}
		text := strings.ReplaceAll(must(p.t, buyer.sms, string(slip)), "\n", " ")
		c := p.w.store.checks[slip]
		if n, ok := count(text); !ok || n > budget.Septets {
			p.fail("slip %s: %d septets, GSM-7 %v: %q", slip, n, ok, text)
		}
		if c.Readings.Looked != grading.WasLooked && len(c.Readings.Flags) == 0 && c.State == session.Filed && !strings.Contains(text, p.w.machine.Words.Text(p.lang, "look.unlooked")) {
			p.fail("slip %s does not say that nobody looked: %q", slip, text)
		}
		if slices.ContainsFunc(c.Readings.Flags, grading.Flag.Unfit) {
			if p.cautioned("slip "+string(slip), text); c.State == session.Filed {
				p.named("the slip", &c, text)
			}
			continue
		}
		newer := slices.ContainsFunc(slipInText.FindAllString(text, -1), func(s string) bool { return s != string(slip) })
		if len(lot.said) > 0 && !newer && c.State == session.Filed && p.poisonedSince(c, lot) {
			p.fail("slip %s of a lot with %v says nothing of it: %q", slip, lot.said, text)
		}
	}
}

// poisonedSince reports whether a re-check or correction of a check found what
// it did not say itself: a newer slip has to be named.
func (p *plot) poisonedSince(c session.Check, lot *lotStory) bool {
	next := p.w.store.checks[c.RecheckedBy]
	return next.Slip != "" && next.State == session.Filed && slices.ContainsFunc(next.Readings.Flags, grading.Flag.Unfit)
}
