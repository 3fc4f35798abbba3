package screen_test

import (
	"strings"
	"testing"

	"threshline/session"
	"threshline/session/programme"
)

// A check notes the edition of the procedure. Where the check before was made by
// another, all is measured anew and the two are not compared: the hands' work may
// be what changed.
func TestAReCheckAcrossEditionsMeasuresAllAnewAndComparesNothing(t *testing.T) {
	w := newWorld(t, "agmark-paddy", "en")
	h := known(w, walker, session.Grower)
	const first, second = "M 13.2 13.3 13.2 S 200 O 7 I 0.2 B 152 T 1 P 0 Y 0 R 0 V 0 BAG 8x75 OK", "M 13.2 13.3 13.2 S 200 O 1 I 0.2 B 152 T 1 P 0 Y 0 R 0 V 0 BAG 8x75 OK SLIP "
	if _, err := h.sms(first); err != nil {
		t.Fatal(err)
	}
	before := w.store.checks[h.slip()]
	if before.Procedure != session.Procedure {
		t.Fatalf("the check is of edition %d, want %d", before.Procedure, session.Procedure)
	}
	if fields := programme.Again(w.machine.Programme.Standard, before); len(fields) > 9 {
		t.Errorf("within one edition all is measured anew: %v", fields)
	}
	before.Procedure = 1
	w.store.checks[before.Slip] = before
	fields := programme.Again(w.machine.Programme.Standard, before)
	for _, f := range fields {
		before.Readings.Unset(f)
	}
	if len(fields) < 10 || len(before.Readings.Repeats) > 0 || before.Readings.Has(fields[0]) {
		t.Errorf("measured anew: %v", fields)
	}
	text := h.all(t, second+string(before.Slip))
	if !strings.Contains(text, "Measured in another way than "+string(before.Slip)) || strings.Contains(text, "Was ") {
		t.Errorf("the answer compares: %q", text)
	}
}

// Where the standard takes the mean of three samples the answer says how many there
// are, and what a laboratory alone measures is named as missing [INPRES-3-2012]
// [GB-1350].
func TestTheAnswerSaysWhichSamplesAndFiguresAreMissing(t *testing.T) {
	const message = "M 13.2 13.3 13.2 S 200 O 1 I 0.2 CL 198 B 152 T 1 P 0 Y 0 R 0 V 0 BAG 8x75 OK"
	for standard, want := range map[string]string{
		"inpres-3-2012": "Samples: 1 of 3.", "gb1350-japonica": "whole milled rice", "agmark-paddy": "",
	} {
		text := known(newWorld(t, standard, "en"), walker, session.Grower).all(t, message)
		if !strings.Contains(text, want) || want == "" && strings.Contains(text, "Samples:") {
			t.Errorf("%s: %q does not say %q", standard, text, want)
		}
	}
}

// A lot by one sample of three is not praised before that is said, in any language
// [INPRES-3-2012].
func TestTooFewSamplesAreSaidBeforeALotIsPraised(t *testing.T) {
	const message = "M 13.2 13.3 13.2 S 200 O 1 I 0.2 BAG 8x75 OK"
	for language, want := range map[session.Language][3]string{
		"en": {"Samples: 1 of 3.", "Good.", "Nothing holds"},
		"fr": {"Échantillons: 1 sur 3.", "C'est bon.", "Rien ne bloque"},
		"sw": {"Sampuli: 1 kati ya 3.", "Ni mzuri.", "Hakuna kinachoshusha"},
		"ha": {"Samfuri: 1 cikin 3.", "Ta yi kyau.", "Babu aibi"},
	} {
		w := newWorld(t, "inpres-3-2012", language)
		h := known(w, walker, session.Grower)
		p := w.store.people["known "+session.PersonID(walker)]
		p.Language = language
		w.store.people[p.ID] = p
		text := h.all(t, message)
		samples, praise := strings.Index(text, want[0]), strings.Index(text, want[1])
		if samples < 0 || praise < samples || strings.Contains(text, want[2]) {
			t.Errorf("%s: %q", language, text)
		}
	}
}
