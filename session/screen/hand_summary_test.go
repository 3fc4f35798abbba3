package screen_test

import (
	"strings"
	"testing"

	"threshline/session"
	"threshline/session/shorthand"
)

// The summary of a check by hand shows what was found of water, by teeth or by a
// meter; a lot of no known size has none.
func TestTheSummaryOfACheckByHandShowsAllThatWasSaid(t *testing.T) {
	for _, lang := range newWorld(t, "mbuyu-hand").machine.Words.Languages() {
		say := func(h *handset, key string) string { return h.world.machine.Words.Text(lang, key) }
		for _, felt := range []struct{ bite, says string }{{"4", "hand.not_wet"}, {"2", "flag.too_wet"}} {
			h, _ := asha(t, lang)
			sum := strings.Join(h.pages(t, session.USSD, "11", "8", "1", felt.bite, "200 12 1 6", "50 0 0 1", "3", "1"), "\n")
			if !strings.Contains(sum, say(h, felt.says)) {
				t.Errorf("%s, bite %s: %q is not in\n%s", lang, felt.bite, say(h, felt.says), sum)
			}
		}
	}
	for _, c := range []struct{ sms, says, not string }{
		{"HAND 200 12 1 6 50 0 0 1 M 13.1 13.2 OK BAG 8x75", "13.1 13.2", "not known"},
		{"HAND 200 12 1 6 50 0 0 1 OK", "size not known", "0 kg"},
	} {
		h, _ := asha(t, "en")
		h.all(t, c.sms)
		must(t, h.sms, "3")
		if sum := must(t, h.sms, "1"); !strings.Contains(sum, c.says) || strings.Contains(sum, c.not) {
			t.Errorf("%q: want %q, not %q:\n%s", c.sms, c.says, c.not, sum)
		}
	}
}

// Few grains say little: with the grades it is said that they are mostly a guess.
func TestFewGrainsAreMostlyAGuess(t *testing.T) {
	for _, lang := range newWorld(t, "mbuyu-hand").machine.Words.Languages() {
		for counts, few := range map[string]bool{"20 1 0 0": true, "49 2 0 1": true, "50 2 0 1": false, "200 12 1 6": false} {
			h, _ := asha(t, lang)
			text := strings.Join(h.pages(t, session.USSD, "11", "8", "1", "4", counts, "99"), "\n")
			if strings.Contains(text, h.world.machine.Words.Text(lang, "hand.few")) != few {
				t.Errorf("%s, %q:\n%s", lang, counts, text)
			}
		}
	}
}

// Who withdraws a check while a correction of it is under way has withdrawn it: the
// correction files nothing, unless it holds a sign.
func TestACorrectionOfAWithdrawnCheckIsNotFiled(t *testing.T) {
	for _, c := range []struct {
		keys  []string
		filed int
	}{{nil, 1}, {[]string{"6", "3", "1"}, 2}} {
		h, send := asha(t, "en")
		was := send("HAND 200 12 1 6 50 0 0 1 OK BAG 8x75")
		must(t, func(string) (session.Reply, error) { return h.dial() }, "")
		h.pages(t, session.USSD, "00", "2", "1", "3", "1")
		gone := h.world.store.checks[was.Slip]
		gone.State = session.Withdrawn
		h.world.store.checks[was.Slip] = gone
		text := ""
		for _, key := range append(c.keys, "1") {
			text += must(t, h.key, key) + "\n"
		}
		all := h.world.store.checks
		if len(all) != c.filed {
			t.Errorf("%q: %d checks are filed:\n%s", c.keys, len(all), text)
		}
		for _, old := range all {
			if old.Slip == was.Slip && old.State != session.Withdrawn {
				t.Errorf("%q: the withdrawn check is %s", c.keys, old.State)
			}
		}
	}
}

// What was told of a check counts no more when it is withdrawn: who goes on with its
// correction, and files a lot that is as dangerous, has coordinators told again. A
// danger is more than a sign: too much water is one.
func TestADangerOfAWithdrawnCheckIsToldAgain(t *testing.T) {
	for _, lot := range []string{
		"M 13.2 13.3 13.2 S 200 O 1.4 I 0.2 B 155.2 T 0.5 P 0 Y 0 R 2 bag 10 warm",
		"M 22.2 22.3 22.2 S 200 O 1.4 I 0.2 B 155.2 T 0.5 P 0 Y 0 R 2 bag 10 OK",
	} {
		h, send := asha(t, "en")
		chief := session.Phone("+33639985599")
		head(h.world, chief, "Kisima", nil)
		was := send(lot)
		if heard := told(h.world)[chief]; !strings.Contains(heard, string(was.Slip)) {
			t.Fatalf("%q is told as %q", lot, heard)
		}
		must(t, func(string) (session.Reply, error) { return h.dial() }, "")
		h.pages(t, session.USSD, "00", "2", "1", "3", "1")
		gone := h.world.store.checks[was.Slip]
		gone.State = session.Withdrawn
		h.world.store.checks[was.Slip] = gone
		text := must(t, h.key, "1")
		heard := told(h.world)[chief]
		if len(h.world.store.checks) != 2 || heard == "" {
			t.Errorf("%q: %d checks, told %q:\n%s", lot, len(h.world.store.checks), heard, text)
		}
	}
}

// A danger in a message that lacks readings is cautioned of before they are asked for.
func TestADangerIsCautionedOfBeforeSampling(t *testing.T) {
	for _, lang := range newWorld(t, "mbuyu-hand").machine.Words.Languages() {
		h, _ := asha(t, lang)
		r := shorthand.NewReader(h.world.machine.Words, lang)
		text := must(t, h.sms, r.Letter("moisture")+" 13 14 13 "+r.Letter("mouldy")+" "+r.Letter("bags")+" 22")
		if caution := h.world.machine.Words.Text(lang, "caution.mouldy"); !strings.HasPrefix(text, caution[:20]) {
			t.Errorf("%s: it is answered\n%s", lang, text)
		}
	}
}

// The word for a check by hand with its grains alone is no slip, though it has as many
// letters and digits; and a danger where a slip is asked for is no wrong slip.
func TestWhatOnlyLooksLikeASlip(t *testing.T) {
	h, _ := asha(t, "en")
	if text := must(t, h.sms, "HAND 200"); strings.Contains(text, h.world.machine.Words.Text("en", "slip.misread")) || !strings.Contains(text, "200 12 1 6") {
		t.Errorf("HAND 200 is answered\n%s", text)
	}
	for range 9 { // more than the wrong slips after which one has to wait
		must(t, h.sms, "4")
		if text := must(t, h.sms, "mould 22"); !strings.Contains(text, "Do not eat") {
			t.Errorf("mould where a slip is asked for is answered\n%s", text)
		}
	}
	if text := must(t, h.sms, "HAND2K7"); !strings.Contains(text, h.world.machine.Words.Text("en", "slip.misread")) {
		t.Errorf("a wrong slip is answered\n%s", text)
	}
}
