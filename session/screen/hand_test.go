package screen_test

import (
	"slices"
	"strings"
	"testing"

	"threshline/grading"
	"threshline/session"
	"threshline/session/shorthand"
)

// From the dial to the answer a check by hand takes seven exchanges, of a grower and
// of an agent, in every language; by SMS it takes two, and one in shorthand.
func TestACheckByHandTakesSevenExchanges(t *testing.T) {
	for _, lang := range newWorld(t, "mbuyu-hand").machine.Words.Languages() {
		h, _ := asha(t, lang)
		likely, _, _ := strings.Cut(h.world.machine.Words.Text(lang, "hand.once_dry"), "{")
		says := func(way, text string) {
			t.Helper()
			if !strings.Contains(text, likely) {
				t.Errorf("%s, %s: it is answered\n%s", lang, way, text)
			}
		}
		must(t, func(string) (session.Reply, error) { return h.dial() }, "")
		keys := []string{"11", "8", "1", "4", "200 12 1 6", "50 0 0 1"}
		var text string
		for _, key := range keys {
			text = must(t, h.key, key)
		}
		says("a grower", text)
		agent := &handset{world: h.world, number: "+33639983399"}
		head(h.world, agent.number, "Kisima", func(p *session.Person) { p.Role, p.Language = session.Agent, session.Language(lang) })
		juma, _ := h.world.store.PersonByPhone(agent.number)
		h.world.store.people["g"] = session.Person{ID: "g", Role: session.Grower, Name: "Juma", Agent: juma.ID, Short: 4, Consent: session.Consent{Version: 1, Given: true}}
		must(t, func(string) (session.Reply, error) { return agent.dial() }, "")
		for _, key := range []string{"11", "4 8", "1", "4", "200 12 1 6", "50 0 0 1"} {
			text = must(t, agent.key, key)
		}
		says("an agent", text)
		r := shorthand.NewReader(h.world.machine.Words, lang)
		must(t, h.sms, r.Letter("by_hand"))
		says("by SMS", must(t, h.sms, "200 11 1 6 50 0 0 1 "+r.Example("bite")+" "+r.Letter("looked")))
		says("in one SMS", must(t, h.sms, r.Example("by_hand")+" "+r.Letter("looked")))
	}
}

// A check by hand never has a grade, a rank or a price, on no page of its answer
// and for nobody who looks its slip up. It says likely grades with their chance,
// and never one alone.
func TestACheckByHandHasNoGrade(t *testing.T) {
	for _, lang := range newWorld(t, "mbuyu-hand").machine.Words.Languages() {
		lots := []string{"200 2 0 1 50 0 0 0", "200 44 0 3 50 1 0 0", "200 4 9 2 50 2 0 1", "300 5 0 80 50 0 6 6", "100 2 0 1", "200 4 0 2 50 20 0 0"}
		if lang != "en" { // which all say alike
			lots = lots[:2]
		}
		for _, counts := range lots {
			h, _ := asha(t, lang)
			say := func(key string) string { return h.world.machine.Words.Text(lang, key) }
			r := shorthand.NewReader(h.world.machine.Words, lang)
			answer := h.all(t, r.Letter("by_hand")+" "+counts+" "+r.Letter("looked")+" "+r.Letter("bags")+" 8x75")
			all, _ := h.world.store.list(1, func(session.Check) bool { return true })
			if len(all) != 1 {
				t.Fatalf("%s: nothing is filed of %q:\n%s", lang, counts, answer)
			}
			c := all[0]
			if c.Grade != "" || c.Rank != 0 || c.Confidence != 0 || !c.Ungraded() || c.Readings.Hand.String() != counts {
				t.Errorf("%s, %q: it is filed as %q, rank %d, %q", lang, counts, c.Grade, c.Rank, c.Readings.Hand)
			}
			lead, _, _ := strings.Cut(say("hand.lead"), ":")
			if !strings.Contains(answer, lead) || !strings.Contains(answer, string(c.Slip)) || !strings.Contains(answer, "10") {
				t.Errorf("%s, %q: its answer is\n%s", lang, counts, answer)
			}
			buyer := must(t, (&handset{world: h.world, number: "+447700900555"}).sms, string(c.Slip))
			if !strings.Contains(buyer, say("hand.none")) {
				t.Errorf("%s: a buyer reads\n%s", lang, buyer)
			}
			pages := []string{answer, h.all(t, "2"), h.all(t, "2", "1", "1"), h.all(t, "2", "1", "2"), h.all(t, "2", "1", "4"), h.all(t, "2", "10"), buyer}
			never := []string{"MVS"}
			for _, grade := range []string{"1", "2", "3"} {
				for _, key := range []string{"grade.name", "grade.no_better"} {
					never = append(never, strings.NewReplacer("{grade}", grade, "{of}", "3").Replace(say(key)))
				}
			}
			for _, text := range pages {
				for _, no := range never {
					if strings.Contains(text, no) {
						t.Errorf("%s, %q: %q stands in\n%s", lang, counts, no, text)
					}
				}
			}
		}
	}
}

// Counts that cannot be are asked again by what is wrong with them, and never filed.
func TestCountsByHandThatCannotBeAreRefused(t *testing.T) {
	for _, lang := range newWorld(t, "mbuyu-hand").machine.Words.Languages() {
		for _, c := range []struct {
			keys  []string
			fault grading.HandFault
		}{
			{[]string{"0 1 1 1"}, grading.HandNoGrains},
			{[]string{"200 180 1 40"}, grading.HandPartsOver},
			{[]string{"200 1 300 4"}, grading.HandStonesOver},
			{[]string{"5001 1 1 4"}, grading.HandTooMany},
			{[]string{"200 150 0 4"}, grading.HandMostEmpty},
			{[]string{"60 20 0 4", "50 0 0 0"}, grading.HandHuskedOver},
			{[]string{"200 1 0 4", "50 40 9 2"}, grading.HandSeenOver},
			{[]string{"200 12", ""}, ""}, {[]string{"200 12 1 2.5", ""}, ""}, {[]string{"150 12 1", ""}, ""}, {[]string{"-1 1 1 1"}, ""},
		} {
			h, _ := asha(t, lang)
			text := strings.Join(h.pages(t, session.USSD, append([]string{"11", "8", "1", "99"}, slices.DeleteFunc(c.keys, func(k string) bool { return k == "" })...)...), " ")
			if all, _ := h.world.store.list(1, func(session.Check) bool { return true }); len(all) > 0 {
				t.Errorf("%s: %q is filed", lang, c.keys)
			}
			for _, part := range strings.FieldsFunc(h.world.machine.Words.Text(lang, "hand_fault."+string(c.fault)), func(r rune) bool { return r == '{' || r == '}' }) {
				if c.fault != "" && strings.HasPrefix(part, " ") && !strings.Contains(text, part) {
					t.Errorf("%s: %q is answered without %q:\n%s", lang, c.keys, part, text)
				}
			}
		}
	}
	for _, fault := range grading.HandFaults() {
		if !newWorld(t, "mbuyu-hand").machine.Words.Has("en", "hand_fault."+string(fault)) {
			t.Errorf("no words for %s", fault)
		}
	}
}

// A check by hand is offered to whoever says that there is no scale, never begun
// unasked, and not offered to somebody who has measured something.
func TestACheckByHandIsOfferedNotAssumed(t *testing.T) {
	for _, c := range []struct {
		keys    []string
		offered bool
	}{
		{[]string{"1", "8", "1", "99", "2", "99", "2"}, true},
		{[]string{"1", "8", "1", "99", "2", "99", "1"}, true},
		{[]string{"1", "8", "1", "13 13.1 13", "99", "2"}, true},
		{[]string{"1", "8", "1", "13 13.1 13", "200", "99", "2"}, false},
		{[]string{"1", "8", "1", "99", "2", "99", "3"}, false},
		{[]string{"7", "1", "1", "2", "00", "1", "8"}, true},
		{[]string{"7", "1", "2", "00", "1", "8"}, false},
	} {
		h, _ := asha(t, "en")
		text := strings.Join(h.pages(t, session.USSD, c.keys...), " ")
		if offered := strings.Contains(text, h.world.machine.Words.Text("en", "hand.yes")); offered != c.offered {
			t.Errorf("%q: offered %v:\n%s", c.keys, offered, text)
		}
		if c.offered {
			text = must(t, h.key, "2")
			if strings.Contains(text, h.world.machine.Words.Text("en", "seen.ask")) {
				t.Errorf("%q, declined: it goes on by hand:\n%s", c.keys, text)
			}
		}
	}
}

// A full check of the lot is asked about and tied to the check by hand; one of
// another amount is not.
func TestAFullCheckIsTiedToTheCheckByHand(t *testing.T) {
	const whole = "M 13.0 13.1 13.0 S 200 O 2.4 I 0.4 B 152.6 T 1.2 P 0 Y 1 R 0 OK bag "
	for _, c := range []struct {
		bags, answer string
		tied         bool
	}{{"8x75", "1", true}, {"8x75", "2", false}, {"9x75", "", false}} {
		h, send := asha(t, "en")
		hand := send("HAND 200 12 1 6 50 0 0 1 OK BAG 8x75")
		h.all(t, whole+c.bags)
		if c.answer != "" {
			must(t, h.sms, c.answer)
		}
		all, _ := h.world.store.list(1, func(session.Check) bool { return true })
		if full := all[0]; full.Slip == hand.Slip || full.Grade == "" || (full.Recheck == hand.Slip) != c.tied {
			t.Errorf("%+v: %q, re-check of %q, by hand %s", c, full.Grade, full.Recheck, hand.Slip)
		} else if !full.First() || full.AfterHand != c.tied {
			t.Errorf("%+v: the first check with tools is first %v, after one by hand %v", c, full.First(), full.AfterHand)
		}
		if before, _ := h.world.store.Check(hand.Slip); (before.RecheckedBy != "") != c.tied {
			t.Errorf("%+v: the check by hand was checked again by %q", c, before.RecheckedBy)
		}
	}
}

// A danger in the message, or at the signs, stops the lot whatever was counted, and
// is told to the coordinator.
func TestSignsStopACheckByHand(t *testing.T) {
	for _, sms := range []string{"HAND 200 2 0 1 50 0 0 0 mouldy BAG 8x75", "HAND 200 2 0 1 treated seed BAG 8x75"} {
		h, send := asha(t, "en")
		head(h.world, "+33639985001", "Kisima", func(*session.Person) {})
		c := send(sms)
		text := h.all(t, "2", "1")
		if c.Grade != grading.NotAccepted && c.Rank <= c.Of || strings.Contains(text, "likely") || told(h.world)["+33639985001"] == "" {
			t.Errorf("%q: filed as %q, told %q:\n%s", sms, c.Grade, told(h.world), text)
		}
	}
	h, _ := asha(t, "en")
	c, text := untilFiled(t, h, "11", "8", "3", "1")
	if !slices.Contains(c.Readings.Flags, grading.Mouldy) || c.Readings.Hand.Made() || strings.Contains(text, "likely") {
		t.Errorf("mould at the signs: %q, counted %q:\n%s", c.Readings.Flags, c.Readings.Hand, text)
	}
}

// Where a standard grades by what neither hands nor other lots say anything of, the
// likely grades are no better than that, and Why names what it is.
func TestWhatHandsCannotKnowIsNotPraised(t *testing.T) {
	for id, wants := range map[string]bool{"us-rough-rice": true, "mbuyu-hand": false} {
		w := newWorld(t, id, "en")
		head(w, "+33639983301", "Kisima", func(p *session.Person) { p.Role = session.Grower })
		h := &handset{world: w, number: "+33639983301"}
		answer := h.all(t, "HAND 200 2 0 1 50 0 0 0 OK BAG 8x75")
		if got := strings.Contains(answer, "at best"); got != wants {
			t.Errorf("%s: it is answered\n%s", id, answer)
		}
		if why := h.all(t, "2", "1", "2"); strings.Contains(why, "Not measured") != wants {
			t.Errorf("%s: why is\n%s", id, why)
		}
	}
}
