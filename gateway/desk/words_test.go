package desk_test

import (
	"net/http"
	"os"
	"strings"
	"testing"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/standard"
	"threshline/session/ledger"
	"threshline/session/programme"
)

// TestEveryIdHasWords finds ids that a page would show bare.
func TestEveryIdHasWords(t *testing.T) {
	data, err := os.ReadFile("paper/page/words.txt")
	if err != nil {
		t.Fatal(err)
	}
	have := map[string]bool{}
	for line := range strings.Lines(string(data)) {
		if key, text, ok := strings.Cut(line, " = "); ok && strings.TrimSpace(text) != "" {
			if have[key] {
				t.Errorf("%q has words twice", key)
			}
			have[key] = true
		}
	}
	want := func(kind, id string) {
		if !have[kind+"."+id] {
			t.Errorf("there are no words for %s %q", kind, id)
		}
		delete(have, kind+"."+id)
	}
	for _, r := range advice.Remedies() {
		want("remedy", string(r.ID))
	}
	for _, c := range advice.Cautions() {
		want("caution", string(c))
	}
	for _, r := range advice.Reasons() {
		want("because", string(r))
	}
	for _, f := range grading.Fields() {
		want("field", f.String())
	}
	for _, f := range grading.Flags() {
		want("saw", string(f))
	}
	for _, r := range ledger.Reasons() {
		want("odd", string(r))
		want("harmless", string(r))
		want("look", string(r))
	}
	for _, w := range ledger.Whys() {
		want("untested", string(w))
	}
	for _, d := range []advice.Doubt{advice.Heavier, advice.LostTooMuch, advice.MendedItself, advice.Wetter} {
		want("same_lot", string(d))
	}
	for _, a := range []programme.Alone{programme.OtherReadings, programme.TooFarApart, programme.TooLate, programme.ChangedSince} {
		want("alone", string(a))
	}
	for _, s := range []grading.Status{grading.Published, grading.Secondary, grading.FromMemory, grading.Demo} {
		want("status", string(s))
	}
	for _, b := range []grading.Basis{grading.OfSample, grading.OfClean, grading.OfHusked, grading.OfMilled, grading.OfGrains} {
		want("basis", string(b))
	}
	for _, d := range []programme.Danger{programme.Insects, programme.Wet} {
		want("danger", string(d))
	}
	for key := range have {
		t.Errorf("words for %q, which nothing is called", key)
	}
}

// TestEveryStandardIsShown shows the settings under each table that is built in.
func TestEveryStandardIsShown(t *testing.T) {
	all, err := standard.Builtin()
	if err != nil || len(all) == 0 {
		t.Fatalf("%d standards, %v", len(all), err)
	}
	h := newHouse(t)
	admin := h.administrator()
	for _, s := range all {
		h.programme.Standard = s
		a := admin.get("/desk/settings")
		if a.Status != http.StatusOK || !strings.Contains(a.Body, "<dd>"+s.ID+"</dd>") {
			t.Errorf("%s: status %d", s.ID, a.Status)
		}
		if len(a.Body) > heaviest {
			t.Errorf("%s: the page weighs %d bytes", s.ID, len(a.Body))
		}
		if s.Status.Warns() != strings.Contains(a.Body, "Do not trade on these grades") {
			t.Errorf("%s is %s: the warning is not as it should be", s.ID, s.Status)
		}
	}
}
