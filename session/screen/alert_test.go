package screen_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// told is who was alerted to what since last asked, by phone.
func told(w *world) map[session.Phone]string {
	all := map[session.Phone]string{}
	for _, o := range w.store.outgoing {
		if o.Purpose == session.Alert {
			all[o.To] += o.Text
		}
	}
	w.store.outgoing = nil
	return all
}

// head puts a coordinator of a district into the store.
func head(w *world, number session.Phone, district string, change func(*session.Person)) {
	p := session.Person{
		ID: session.PersonID("head " + number), Phone: number, Role: session.Coordinator, Name: "Pendo", District: district,
		Language: "en", Consent: session.Consent{Version: 1, Given: true},
	}
	if change != nil {
		change(&p)
	}
	w.store.people[p.ID] = p
}

const lotOfKisima = "M %s S 200 O 1.4 I 0.2 B 155.2 T 0.5 P 0 Y 0 R 2 V 0 bag 10 OK"

// kisimaAgent is an agent of Kisima who checks lots of one grower.
func kisimaAgent(w *world) *handset {
	h := known(w, "+33639985501", session.Agent)
	for id, p := range w.store.people {
		if p.Agent != "" || p.Role == session.Agent {
			p.District = "Kisima"
			w.store.people[id] = p
		}
	}
	return h
}

func TestOnlyThoseWhoMayBeWrittenToAndWhoseDistrictItIsAreAlerted(t *testing.T) {
	cases := []struct {
		name     string
		district string
		change   func(*session.Person)
		want     bool
	}{
		{"of the district", "Kisima", nil, true},
		{"of all districts", "", nil, true},
		{"of another district", "Korongo", nil, false},
		{"who stopped messages", "Kisima", func(p *session.Person) { p.Stopped = p.Stopped.AddDate(2026, 0, 0) }, false},
		{"who was forgotten", "Kisima", func(p *session.Person) { p.Forgotten, p.Phone, p.Consent.Given = true, "", false }, false},
		{"who never agreed", "Kisima", func(p *session.Person) { p.Consent = session.Consent{} }, false},
		{"at a short code", "Kisima", func(p *session.Person) { p.Phone = "15555" }, false},
		{"who is none any more", "Kisima", func(p *session.Person) { p.Role = session.Buyer }, false},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			w := newWorld(t, "agmark-paddy", "en")
			h := kisimaAgent(w)
			head(w, "+33639983501", c.district, c.change)
			if _, err := h.sms("G1 " + fmt.Sprintf(lotOfKisima, "19.1 19.2 19.3")); err != nil {
				t.Fatal(err)
			}
			if got := told(w); (len(got) > 0) != c.want {
				t.Errorf("alerted: %v, want any: %v", got, c.want)
			}
		})
	}
}

// The limit is that of the fresh paddy in [ISO-17301], 18 %, read in a sample
// text of that standard: above it, not at it, by the mean of the readings.
func TestALotIsWetAboveEighteenPerCent(t *testing.T) {
	for _, c := range []struct {
		standard, moisture string
		want               bool
	}{
		{"agmark-paddy", "18.0 18.0 18.0", false},
		{"agmark-paddy", "18.0 18.0 18.1", false}, // 18.03 is 18.0
		{"agmark-paddy", "18.0 18.1 18.0", false},
		{"agmark-paddy", "18.0 18.1 18.1", true}, // 18.07 is 18.1
		{"agmark-paddy", "18.1 18.1 18.1", true},
		{"agmark-paddy", "17.9 18.0 18.3", true},
		{"inpres-3-2012", "18.0 18.0 18.1", true}, // to hundredths: 18.03
		{"inpres-3-2012", "18.0 18.0 18.0", false},
	} {
		w := newWorld(t, c.standard, "en")
		check := session.Check{}
		for _, one := range strings.Fields(c.moisture) {
			d, err := grading.ParseDecimal(one)
			if err != nil {
				t.Fatal(err)
			}
			check.Readings.Repeats = append(check.Readings.Repeats, d)
		}
		if got := slices.Contains(w.machine.Programme.Dangers(&check), programme.Wet); got != c.want {
			t.Errorf("%s by %s: wet is %v, want %v", c.moisture, c.standard, got, c.want)
		}
	}
}

// Each alert, its repetition and its taking back, with the longest names.
func TestAnAlertFitsOneMessageInEveryLanguageAndKeepsItsCaution(t *testing.T) {
	languages := newWorld(t, "agmark-paddy").machine.Words.Languages()
	if len(languages) < 4 {
		t.Fatalf("languages are %v", languages)
	}
	for _, lang := range languages {
		for _, seen := range []string{"", " mouldy", " weevils 2", " painted", " painted mouldy smell hot weevils 99 insects 99"} {
			t.Run(lang+seen, func(t *testing.T) { oneAlert(t, session.Language(lang), seen) })
		}
	}
}

func oneAlert(t *testing.T, lang session.Language, seen string) {
	w := newWorld(t, "agmark-paddy", "en", lang)
	h := kisimaAgent(w)
	for id, p := range w.store.people {
		p.Name, p.Village, p.District = "Mwanahamisi-Ramadhani Ab", "Wanging'ombe Kaskazini Ju", "Upper Mbuyu"
		w.store.people[id] = p
	}
	head(w, "+33639983501", "", func(p *session.Person) { p.Language = lang })
	wet := fmt.Sprintf(lotOfKisima, "29.15 29.25 29.35") + seen
	never := w.machine.Words.Text(string(lang), "alert.never")
	said := func(key string, cautions bool, entries ...string) {
		t.Helper()
		for _, entry := range entries {
			if _, err := h.sms(entry); err != nil {
				t.Fatal(err)
			}
		}
		text := told(w)["+33639983501"]
		if n, ok := count(text); !ok || n > 160 || strings.ContainsAny(text, "{}") {
			t.Errorf("%d septets, GSM-7 %v: %q", n, ok, text)
		}
		if begin, _, _ := strings.Cut(w.machine.Words.Text(string(lang), key), "{"); !strings.HasPrefix(text, begin) {
			t.Errorf("%q does not begin as %s", text, key)
		}
		if strings.Contains(text, never) != cautions {
			t.Errorf("is it said that nobody is to eat it? %q", text)
		}
		if len(seen) < 20 && !strings.Contains(text, "Upper Mbuyu") {
			t.Errorf("the district is not said: %q", text)
		}
	}
	uneatable := strings.Contains(seen, "mouldy") || strings.Contains(seen, "painted")
	said("alert.lot", uneatable, "G1 "+wet)
	said("alert.still", uneatable, "slip "+string(h.slip())+" "+wet)
	corrected, withdrawn := "alert.corrected", "alert.withdrawn"
	if uneatable { // which neither a correction nor a withdrawal takes away
		corrected, withdrawn = "alert.gone", "alert.pulled"
	}
	said(corrected, uneatable, "3", "1", "3 13.1 13.2 13.2", "8 1", "1")
	w.now = w.now.AddDate(0, 0, 1) // or they come together
	said("alert.lot", uneatable, "G1 "+strings.Replace(wet, "29.35", "29.45", 1))
	said(withdrawn, uneatable, "3", "2", "1")
}

// slip is the slip that was filed last; "" of none.
func (h *handset) slip() session.Slip {
	all, _ := h.world.store.list(1, func(session.Check) bool { return true })
	if len(all) == 0 {
		return ""
	}
	return all[0].Slip
}
