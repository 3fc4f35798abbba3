package desk_test

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"threshline/gateway/desk"
	"threshline/gateway/gsm"
	"threshline/grading"
	"threshline/session"
	"threshline/session/screen"
	"threshline/session/talk"
	"threshline/session/wording"
)

var oneSMS = session.Budget{Septets: 160, Count: gsm.Count}

// clearing is a house whose desk can take signs off lots, and its dialogue.
func clearing(t *testing.T) (*house, *talk.Machine) {
	t.Helper()
	words, err := wording.Embedded()
	if err != nil {
		t.Fatal(err)
	}
	var m *talk.Machine
	h := newHouse(t, func(cfg *desk.Config) {
		m = screen.NewMachine(cfg.Programme, words)
		cfg.Clear = func(v session.View, slip session.Slip, what session.Clearance, tables func(id, edition string) *grading.Standard, entropy [2]uint64) (session.Writes, error) {
			return m.Clear(v, slip, what, tables, entropy, oneSMS)
		}
	})
	h.people()
	return h, m
}

// flagged is a check of Kisima in which something was seen or smelt.
func (h *house) flagged(i int, flags ...grading.Flag) session.Check {
	r := reading(130, 10, 1)
	r.Looked, r.Flags = grading.WasLooked, flags
	return h.check(i, "Kisima", r)
}

// sms sends a text from a phone and gives the answer.
func (h *house) sms(m *talk.Machine, from session.Phone, text string) string {
	h.t.Helper()
	in := session.Input{Channel: "valley-sms", Kind: session.SMS, Event: session.Continue, Phone: from, Text: text, At: h.clock(), Entropy: [2]uint64{1, 2}, Budget: oneSMS}
	out, err := h.store.Exchange(h.t.Context(), session.Key{Phone: from}, func(v session.View) (session.Writes, error) { return m.Step(v, in) })
	if err != nil {
		h.t.Fatal(err)
	}
	return out.Reply.Text
}

// told gives the messages that went out, by number.
func (h *house) told() map[session.Phone]string {
	h.t.Helper()
	sent, err := h.store.Sent(h.t.Context(), session.Outgoing{}, 99)
	if err != nil {
		h.t.Fatal(err)
	}
	texts := map[session.Phone]string{}
	for _, o := range sent {
		texts[o.To] += o.Text
	}
	return texts
}

func (h *house) filed(slip session.Slip) (c session.Check) {
	h.t.Helper()
	if err := h.store.Read(h.t.Context(), func(v session.View) (err error) { c, err = v.Check(slip); return err }); err != nil {
		h.t.Fatal(err)
	}
	return c
}

const (
	strangersNumber = "+447700900321"
	buyersNumber    = "+447700900322"
)

// A laboratory clears a mouldy lot that was checked again: the coordinator of the
// district records it, each check of the lot is judged without the mould, and
// those whom it concerns are told, a stranger who looked the slip up among them.
func TestALaboratoryClearsALot(t *testing.T) {
	h, m := clearing(t)
	h.later(48 * time.Hour)
	admin := h.administrator()
	kisima, upper := h.member(admin, "of.kisima", session.DeskCoordinator, "Kisima"), h.member(admin, "of.upper", session.DeskCoordinator, "Upper Mbuyu")
	viewer := h.member(admin, "looks.on", session.DeskViewer)
	mouldy, again := h.flagged(0, grading.Mouldy, grading.OffOdour), h.flagged(30)
	again.Recheck, mouldy.RecheckedBy = mouldy.Slip, again.Slip
	again.Hold(mouldy.Readings.Flags, mouldy.Slip)
	judged, err := h.programme.Judge(again.Lot, again.Readings, session.Kit{}, again.At, nil)
	if err != nil {
		t.Fatal(err)
	}
	judged.Record(&again, h.programme.Standard)
	other := h.flagged(40, grading.Mouldy) // another lot of hers
	agreed := session.Consent{Version: 1, Given: true}
	h.put(session.Writes{Checks: []session.Check{mouldy, again, other}, People: []session.Person{
		{ID: "b", Phone: buyersNumber, Role: session.Buyer, Language: "sw", Consent: agreed},
	}})
	for _, phone := range []session.Phone{strangersNumber, buyersNumber} {
		if said := h.sms(m, phone, string(mouldy.Slip)); !strings.Contains(said, string(mouldy.Slip)) {
			t.Fatalf("%q", said)
		}
	}
	path := "/desk/lots/" + string(again.Slip)
	holds(t, kisima.get(path).Body, "Not accepted until a laboratory clears it: mould, smell of chemicals, seen in", "Record what a laboratory found", "not Record that it was not treated")
	holds(t, viewer.get(path).Body, "Not accepted until a laboratory clears it", "not Record what a laboratory found")
	form := url.Values{"sign": {"mouldy", "off_odour"}, "by": {"Weir Grain Laboratory"}, "on": {"2026-11-03"}, "reference": {"WGL 117"}}
	with := func(name string, values ...string) url.Values {
		f := url.Values{}
		for k, v := range form {
			f[k] = v
		}
		f[name] = values
		return f
	}
	for what, c := range map[string]struct {
		*caller
		form url.Values
		want int
	}{
		"a viewer":                          {viewer, form, http.StatusForbidden},
		"a coordinator of another district": {upper, form, http.StatusNotFound},
		"nobody":                            {h.caller(), form, http.StatusUnauthorized},
		"without a laboratory":              {kisima, with("by", "  "), http.StatusBadRequest},
		"without a reference":               {kisima, with("reference"), http.StatusBadRequest},
		"on no day":                         {kisima, with("on", "soon"), http.StatusBadRequest},
		"on a day to come":                  {kisima, with("on", "2026-11-30"), http.StatusBadRequest},
		"of nothing":                        {kisima, with("sign"), http.StatusBadRequest},
		"of what is not cleared":            {kisima, with("sign", "heating"), http.StatusBadRequest},
		"of what is not there":              {kisima, with("sign", "musty"), http.StatusBadRequest},
		"of treated seed with mould":        {kisima, with("sign", "mouldy", "treated_seed"), http.StatusBadRequest},
		"by too long a name":                {kisima, with("by", strings.Repeat("a", 25)), http.StatusBadRequest},
	} {
		if a := c.post(path+"/clear", c.form); a.Status != c.want {
			t.Errorf("%s: status %d, want %d", what, a.Status, c.want)
		}
		if c := h.filed(again.Slip); len(c.Readings.Flags) != 2 {
			t.Fatalf("%s: %v", what, c.Readings.Flags)
		}
	}
	if a := kisima.post(path+"/clear", form); a.Status != http.StatusSeeOther {
		t.Fatalf("status %d\n%s", a.Status, a.Body)
	}
	for _, slip := range []session.Slip{mouldy.Slip, again.Slip} {
		if c := h.filed(slip); len(c.Readings.Flags) > 0 || len(c.Held) > 0 || c.Rank != 1 || len(c.Cleared) != 1 {
			t.Errorf("%s: %s, %v, %v, %+v", slip, c.Grade, c.Readings.Flags, c.Held, c.Cleared)
		}
	}
	if c := h.filed(other.Slip); !slices.Equal(c.Readings.Flags, other.Readings.Flags) {
		t.Errorf("another lot: %v", c.Readings.Flags)
	}
	told := h.told()
	for number, want := range map[session.Phone]string{
		kisimaNumber:    "Risiti " + string(again.Slip) + ": maabara imeuruhusu (ukungu, harufu ya kemikali: Weir Grain Laboratory, 3/11/2026, WGL 117). Sasa: Daraja la 1 kati ya 3.",
		kisimaAgentNo:   "Risiti " + string(again.Slip),
		strangersNumber: "Slip " + string(mouldy.Slip) + ": a laboratory cleared it of mould, chemical smell (Weir Grain Laboratory, 3 Nov 2026, WGL 117). Now: Grade 1 of 3.",
		buyersNumber:    "Risiti " + string(mouldy.Slip),
	} {
		if n, ok := gsm.Count(told[number]); !strings.HasPrefix(told[number], want) || n > 160 || !ok {
			t.Errorf("%s is told %q (%d septets), want %q", number, told[number], n, want)
		}
	}
	if len(told) != 4 {
		t.Errorf("told: %v", told)
	}
	if notes := strings.Join(h.notes(), "\n"); !strings.Contains(notes, "coordinator of.kisima: cleared a lot of mould, smell of chemicals: "+string(again.Slip)+": Weir Grain Laboratory, 2026-11-03, WGL 117") {
		t.Errorf("the log:\n%s", notes)
	}
	holds(t, kisima.get(path).Body, "A laboratory cleared it of mould, smell of chemicals: Weir Grain Laboratory, 3 Nov 2026, WGL 117", "not Not accepted until")
	if a := kisima.post(path+"/clear", form); a.Status != http.StatusBadRequest {
		t.Errorf("once more: status %d", a.Status)
	}
	if said := h.sms(m, strangersNumber, string(again.Slip)); !strings.Contains(said, "Grade 1 of 3") || !strings.Contains(said, "cleared by Weir Grain Laboratory") {
		t.Errorf("%q", said)
	}
}

// No laboratory makes treated seed food. That it was not treated can be recorded,
// with who established it; what else was smelt stays.
func TestThatALotWasNotTreatedIsRecorded(t *testing.T) {
	h, _ := clearing(t)
	h.later(24 * time.Hour)
	admin := h.administrator()
	painted := h.flagged(0, grading.TreatedSeed, grading.Musty)
	h.put(session.Writes{Checks: []session.Check{painted}})
	path := "/desk/lots/" + string(painted.Slip)
	holds(t, admin.get(path).Body, "Not accepted: treated seed, musty", "not until a laboratory clears it", "Record that it was not treated", "Record what a laboratory found",
		`not name="sign" value="treated_seed"><span>`)
	if a := admin.post(path+"/clear", url.Values{"sign": {"treated_seed"}, "on": {"2026-11-02"}}); a.Status != http.StatusBadRequest {
		t.Errorf("by nobody: status %d", a.Status)
	}
	if a := admin.post(path+"/clear", url.Values{"sign": {"treated_seed"}, "by": {"Seed inspector Weir"}, "on": {"2026-11-02"}}); a.Status != http.StatusSeeOther {
		t.Fatalf("status %d\n%s", a.Status, a.Body)
	}
	if c := h.filed(painted.Slip); !slices.Equal(c.Readings.Flags, []grading.Flag{grading.Musty}) || c.Rank <= c.Of {
		t.Errorf("%v, %s", c.Readings.Flags, c.Grade)
	}
	if said := h.told()[kisimaNumber]; !strings.Contains(said, "hazikuwa mbegu zenye dawa (Seed inspector Weir, 2/11/2026)") || !strings.Contains(said, "Bado una harufu mbaya. Usiliwe") {
		t.Errorf("%q", said)
	}
	if notes := strings.Join(h.notes(), "\n"); !strings.Contains(notes, "recorded that a lot was not treated: "+string(painted.Slip)+": Seed inspector Weir, 2026-11-02") {
		t.Errorf("the log:\n%s", notes)
	}
	holds(t, admin.get(path).Body, "It was not treated seed: Seed inspector Weir, 2 Nov 2026", "Not accepted until a laboratory clears it: musty")
}
