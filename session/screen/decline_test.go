package screen_test

import (
	"strings"
	"testing"

	"threshline/session"
)

// Who is asked anew and says no is kept no longer, whatever was known before.
func TestANoKeepsNothingOfSomebodyKnown(t *testing.T) {
	w := newWorld(t, "agmark-paddy", "en")
	h := known(w, walker, session.Grower)
	me, err := w.store.PersonByPhone(walker)
	if err != nil {
		t.Fatal(err)
	}
	w.machine.Programme.ConsentVersion++
	asked, err := h.dial()
	if err != nil || !strings.Contains(asked.Text, w.machine.Words.Text("en", "consent.no")) {
		t.Fatalf("not asked anew: %q, %v", asked.Text, err)
	}
	if _, err := h.key("2"); err != nil {
		t.Fatal(err)
	}
	if p, ok := w.store.people[me.ID]; !ok || p.Phone != "" || p.Name != "" || p.Village != "" {
		t.Errorf("there %v, still %q of %q, %s", ok, p.Name, p.Village, p.Phone)
	}
}
