package screen_test

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"threshline/session"
)

// agentWith is the phone of an agent with growers by number, all of whom agreed.
func agentWith(t *testing.T, lang string, names ...string) *handset {
	w := newWorld(t, "mbuyu-hand", session.Language(lang), "en")
	h := known(w, "+33639986601", session.Agent)
	agent := w.store.people["known +33639986601"]
	agent.Language, agent.Kit.Lacks = session.Language(lang), nil
	w.store.people[agent.ID] = agent
	delete(w.store.people, session.PersonID(string(agent.ID)+" grower 0"))
	delete(w.store.people, session.PersonID(string(agent.ID)+" grower 1"))
	for i, name := range names {
		id := session.PersonID(fmt.Sprintf("grower %02d", i+1))
		w.store.people[id] = session.Person{ID: id, Name: name, Agent: agent.ID, Short: i + 1, District: "Kisima", Consent: session.Consent{Version: 1, Given: true}}
	}
	return h
}

// Lots in one message: the best, one with too much chaff, and signs behind them.
const (
	goodLot   = " M 13 13.1 13.2 S 200 O 1.4 I 0.2 B 155 T 0.5 P 0 Y 0 R 0 BAG 8"
	chaffyLot = " M 13 13.1 13.2 S 200 O 7 I 0.2 B 152 T 0.5 P 0 Y 0 R 0 BAG 8"
)

var eight = []string{"Asha", "Juma", "Neema", "Rehema", "Musa", "Zawadi", "Hamisi", "Salome"}

// Each of several lots is answered by its grower's name: those that are refused
// first, with why and that nobody eats or feeds it; a bad one with its fault and its
// remedy; good ones together. In every language within three messages.
func TestSeveralLotsInOneMessageAreEachAnswered(t *testing.T) {
	for _, lang := range newWorld(t, "mbuyu-hand").machine.Words.Languages() {
		h := agentWith(t, lang, eight...)
		say := func(key string) string { return h.world.machine.Words.Text(lang, key) }
		text := must(t, h.sms, "G1"+goodLot+" OK\nG2"+goodLot+" mouldy\nG3"+goodLot+" OK\nG4"+chaffyLot+" OK\nG5"+goodLot+" OK\nG6"+goodLot+" painted\nG7"+goodLot+"\nG8 M 13 BAG 4")
		if n, ok := count(text); !ok || n > threeMessages {
			t.Errorf("%s: %d septets\n%s", lang, n, text)
		}
		lines := strings.Split(text, "\n")
		line := func(name string) (at int, line string) {
			for i, l := range lines {
				if strings.Contains(l, name) {
					return i, l
				}
			}
			t.Fatalf("%s: nothing of %s:\n%s", lang, name, text)
			return 0, ""
		}
		for name, what := range map[string]string{"Juma": "flag.mouldy", "Zawadi": "flag.treated_seed"} {
			at, l := line(name)
			if at > 1 || !strings.Contains(l, say(what)) || !strings.Contains(l, say("alert.never")) {
				t.Errorf("%s: %s is not refused with why, first:\n%s", lang, name, text)
			}
		}
		if at, l := line("Rehema"); at != 2 || !strings.Contains(l, say("parameter.chaff")) || !strings.Contains(l, say("remedy.winnow.do")) {
			t.Errorf("%s: the chaffy lot is told without fault and remedy:\n%s", lang, text)
		}
		if _, l := line("Salome"); !strings.Contains(l, say("short.part")) {
			t.Errorf("%s: of a part it is said %q", lang, l)
		}
		joined := regexp.MustCompile(`(?m)^(Asha|1) \w{7}, (Neema|3) \w{7}, (Musa|5) \w{7}: \w+.*$`).FindString(text)
		if !strings.Contains(joined, "1") || strings.Contains(joined, say("look.unlooked")) {
			t.Errorf("%s: the good ones are not joined:\n%s", lang, text)
		}
		unseen := regexp.MustCompile(`(?m)^(Hamisi|7) \w{7}: .*$`).FindString(text)
		if !strings.Contains(unseen, say("look.unlooked")) {
			t.Errorf("%s: what nobody looked at is not told apart:\n%s", lang, text)
		}
		if filed := len(h.world.store.checks); filed != 7 {
			t.Errorf("%s: %d are filed", lang, filed)
		}
	}
}

// Eight lots file, and so do nine, sixteen and twenty; of more it is said from
// where on they were not read and how many fit. With the longest names the good
// ones go by their numbers.
func TestHowManyLotsFitInAMessage(t *testing.T) {
	for _, lang := range newWorld(t, "mbuyu-hand").machine.Words.Languages() {
		for _, n := range []int{8, 9, 16, 20, 22} {
			names, lots := make([]string, n), make([]string, n)
			for i := range n {
				names[i] = fmt.Sprintf("Mwanahamisi-Ramadhani %c", 'A'+i)
				lots[i] = fmt.Sprintf("G%d%s OK", i+1, goodLot)
			}
			h := agentWith(t, lang, names...)
			text := must(t, h.sms, strings.Join(lots, "\n"))
			if c, ok := count(text); !ok || c > threeMessages {
				t.Errorf("%s, %d lots: %d septets\n%s", lang, n, c, text)
			}
			if filed := len(h.world.store.checks); filed != min(n, 20) {
				t.Errorf("%s, %d lots: %d are filed\n%s", lang, n, filed, text)
			}
			rest, _, _ := strings.Cut(h.world.machine.Words.Text(lang, "short.rest", "typed", "G21 M 13 13.1 13", "count", 20), ":")
			if strings.Contains(text, rest) != (n > 20) {
				t.Errorf("%s, %d lots: %q\n%s", lang, n, rest, text)
			}
		}
	}
}

// Of nine lots of which one is not whole the others are filed, also when the agent
// has as many unfinished checks as can be kept: the one that is lost is said so.
func TestWhatIsWholeIsFiledAndTheRestIsSaid(t *testing.T) {
	h := agentWith(t, "en", append(eight, "Bahati")...)
	text := must(t, h.sms, "G1"+goodLot+" OK\nG2"+goodLot+" OK\nG3"+goodLot+" OK\nG4"+goodLot+" zzz\nG5"+goodLot+" OK\nG6"+goodLot+" OK\nG7"+goodLot+" OK\nG8"+goodLot+" OK\nG9 M 13")
	if filed := len(h.world.store.checks); filed != 7 || !strings.Contains(text, `Rehema 8x75 kg: I do not know "zzz". It is kept: 5`) || !strings.Contains(text, "Bahati: Only a part of it came") {
		t.Errorf("%d are filed\n%s", filed, text)
	}
	for i := range 7 {
		must(t, h.sms, fmt.Sprintf("G%d M 13 BAG %d", i+1, i+2))
	}
	if n := len(h.world.store.dialogues[h.number].Drafts); n != 9 {
		t.Fatalf("%d are unfinished", n)
	}
	text = must(t, h.sms, "G1"+goodLot+" kg 610 OK; G2"+goodLot+" mouldy; G3 M 13 BAG 3")
	if filed := len(h.world.store.checks); filed != 9 || !strings.Contains(text, "Neema 3x75 kg: You have 9 unfinished checks.") || len(h.world.store.dialogues[h.number].Drafts) != 9 {
		t.Errorf("%d are filed\n%s", filed, text)
	}
}

// A caution is never cut: what three messages do not hold goes on to the next page,
// and every refused lot is told with it.
func TestTheCautionsOfManyRefusedLotsAreAllTold(t *testing.T) {
	for _, lang := range newWorld(t, "mbuyu-hand").machine.Words.Languages() {
		names, lots := make([]string, 8), make([]string, 8)
		signs := []string{"mouldy", "painted", "smell", "chemical", "mouldy hot", "painted mouldy", "smell painted weevils 3", "mouldy painted chemical hot N 2"}
		for i := range names {
			names[i] = fmt.Sprintf("Mwanahamisi-Ramadhani %c", 'A'+i)
			lots[i] = fmt.Sprintf("G%d%s %s", i+1, goodLot, signs[i])
		}
		h := agentWith(t, lang, names...)
		never, all, last := h.world.machine.Words.Text(lang, "alert.never"), "", ""
		for page := must(t, h.sms, strings.Join(lots, "\n")); page != last; {
			if n, ok := count(page); !ok || n > threeMessages {
				t.Fatalf("%s: %d septets\n%s", lang, n, page)
			}
			all, last = all+" "+page, page
			page = must(t, h.sms, "9")
			if strings.Contains(all, page) {
				break
			}
		}
		if n := strings.Count(strings.Join(strings.Fields(all), " "), never); n != 8 {
			t.Errorf("%s: the caution is told %d times of 8\n%s", lang, n, all)
		}
	}
}

// A lot of several that nobody looked at is completed from the list of checks, by
// the word for "looked, nothing seen".
func TestALotOfSeveralIsCompletedLater(t *testing.T) {
	h := agentWith(t, "en", eight...)
	must(t, h.sms, "G1"+goodLot+"\nG2"+goodLot)
	h.all(t, "2", "1")
	if text := must(t, h.sms, "mouldy"); !strings.Contains(text, "Not accepted: mould") {
		t.Errorf("%s", text)
	}
	h.all(t, "menu", "2", "2")
	if text := must(t, h.sms, "OK"); !strings.Contains(text, "Good. Keep it so.") {
		t.Errorf("%s", text)
	}
}
