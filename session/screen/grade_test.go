package screen_test

import (
	"strconv"
	"strings"
	"testing"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// gradeLots are lots with something of everything that can hold a grade down,
// each with whether a caution may take the slip's place on the first page.
var gradeLots = []struct {
	name     string
	lot      string // moisture; sample, chaff, stones; brown, immature; bored, discoloured, red, other variety
	flags    []grading.Flag
	cautions bool
}{
	{name: "good", lot: "13.1; 200 0.6 0.1; 155.2 0.4; 0 0 1 0"},
	{name: "close in moisture", lot: "13.9; 200 2.4 0.6; 155.2 1.1; 0 1 2 0"},
	{name: "dusty", lot: "13.2; 200 5.4 0.2; 155.2 0.8; 0 0 1 0"},
	{name: "stony", lot: "13.2; 200 0.6 3.8; 155.2 0.8; 0 0 1 0"},
	{name: "wet", lot: "16.4; 200 1.4 0.2; 155.2 0.5; 0 0 2 0"},
	{name: "very wet and dirty", lot: "23; 20 0.6 0.3; 15 0.9; 2 4 6 1"},
	{name: "green", lot: "13.4; 200 1 0.2; 152 9.1; 0 1 2 0"},
	{name: "dusty and green", lot: "13.9; 20 0.3 0.1; 15.2 0.9; 0 1 2 0"},
	{name: "red", lot: "13.4; 200 1 0.2; 155 1; 0 1 9 6"},
	{name: "discoloured", lot: "13.4; 200 1 0.2; 155 1; 0 7 1 0"},
	{name: "bored", lot: "13.4; 200 1 0.2; 155 1; 6 1 1 0"},
	{name: "counted only", lot: "; ; ; 0 1 2 0"},
	{name: "weighed only", lot: "13.2; 200 1 0.2; ; "},
	{name: "mouldy", lot: "13.8; 20 0.1 0.03; 15 0.2; 2 0 1 0", flags: []grading.Flag{grading.Mouldy}, cautions: true},
}

var gradeFields = [][]grading.Field{
	{grading.Moisture},
	{grading.SampleWeight, grading.Chaff, grading.Stones},
	{grading.BrownWeight, grading.ImmatureWeight},
	{grading.PestDamaged, grading.Discoloured, grading.Red, grading.OtherVariety},
}

func gradeReadings(t *testing.T, lot string, flags []grading.Flag) (r grading.Readings) {
	t.Helper()
	for i, part := range strings.Split(lot, ";") {
		for k, value := range strings.Fields(part) {
			d, err := grading.ParseDecimal(value)
			if err != nil {
				t.Fatal(err)
			}
			r.Set(gradeFields[i][k], d)
		}
	}
	if r.Has(grading.Red) {
		r.Set(grading.Counted, 100*grading.One)
	}
	r.Flags, r.Looked = flags, grading.WasLooked
	return r
}

// The first page of a check's grade has the grade and the slip, what to do, and
// what it is for: in every language, by either kind of channel. Only a caution
// may leave no room for the slip.
func TestTheFirstPageOfAGradeHasTheSlipAndTheRemedy(t *testing.T) {
	languages := newWorld(t, "agmark-paddy").machine.Words.Languages()
	if len(languages) == 0 {
		t.Fatal("no language")
	}
	for _, lang := range languages {
		for _, id := range []string{"agmark-paddy", "mbuyu-hand"} {
			for _, lot := range gradeLots {
				for _, kind := range []session.Kind{session.USSD, session.SMS} {
					t.Run(strings.Join([]string{lang, id, lot.name, string(kind)}, " "), func(t *testing.T) {
						w := newWorld(t, id, session.Language(lang))
						h := known(w, walker, session.Grower)
						readings := gradeReadings(t, lot.lot, lot.flags)
						c, judged := seeded(t, w, readings)
						page := h.firstPage(t, kind)
						if !strings.Contains(page, string(c.Slip)) && !lot.cautions {
							t.Errorf("no slip on the first page:\n%s", page)
						}
						do := w.machine.Words.Text(lang, "remedy."+string(judged.Advice.Best.Remedy)+".do",
							"target", w.machine.Words.Number(lang, judged.Advice.Best.Target.Round(1).String()))
						if more := judged.Advice.Best.More; more != nil || judged.Advice.Best.Reason == advice.Unmeasured {
							do = measureWords(w, lang, more)
						}
						if !strings.Contains(page, do) {
							t.Errorf("%q is not on the first page:\n%s", do, page)
						}
					})
				}
			}
		}
	}
}

// measureWords are those of measuring again.
func measureWords(w *world, lang string, more *grading.Settle) string {
	say := func(key string, count int) string {
		return w.machine.Words.Text(lang, "measure."+key, "count", w.machine.Words.Number(lang, strconv.Itoa(count)),
			"grams", w.machine.Words.Number(lang, more.Grams.Round(0).String()))
	}
	switch {
	case more == nil:
		return w.machine.Words.Text(lang, "measure.water")
	case more.Grains > 0 && more.Grams > 0:
		return say("both", more.Grains)
	case more.Grains > 0:
		return say("grains", more.Grains)
	case more.Grams > 0:
		return say("grams", int(more.Grams.Float()))
	case more.Repeats > 0:
		return say("repeats", more.Repeats)
	}
	return say("meter", 0)
}

// seeded files a check of the walker's without a dialogue.
func seeded(t *testing.T, w *world, r grading.Readings) (session.Check, programme.Judged) {
	t.Helper()
	p, _ := w.store.PersonByPhone(walker)
	p.Language = w.machine.Programme.Languages[0]
	w.store.people[p.ID] = p
	lot := session.Lot{Grower: p.ID, Bags: 8, BagKG: 75 * grading.One, KG: 600 * grading.One}
	judged, err := w.machine.Programme.Judge(lot, r, p.Kit, w.now, []advice.Past{})
	if err != nil {
		t.Fatal(err)
	}
	c := session.Check{Slip: session.NewSlip(5), State: session.Filed, Lot: lot, Readings: r, Reporter: p.ID, At: w.now}
	judged.Record(&c, w.machine.Programme.Standard)
	w.store.checks[c.Slip] = c
	return c, judged
}

// firstPage is what the phone shows of its newest check.
func (h *handset) firstPage(t *testing.T, kind session.Kind) string {
	t.Helper()
	send, r, err := h.sms, session.Reply{}, error(nil)
	if kind == session.USSD {
		send = h.key
		_, err = h.dial()
	}
	for _, key := range []string{"2", "1"} {
		if err == nil {
			r, err = send(key)
		}
	}
	if err != nil {
		t.Fatal(err)
	}
	return r.Text
}
