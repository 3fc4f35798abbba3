package screen_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"threshline/session"
)

// moved is a world with an agent of Kisima, and a code from the desk for their new
// number.
func moved(t *testing.T) (*world, string) {
	t.Helper()
	w := newWorld(t, "mbuyu-hand", "en")
	agreed := session.Consent{Version: w.machine.Programme.ConsentVersion, Given: true, At: w.now}
	w.store.people["a-1"] = session.Person{ID: "a-1", Phone: "+33639982201", Role: session.Agent, Name: "Baraka Ole", District: "Kisima", Language: "en", Consent: agreed, Joined: w.now}
	code := session.NewInviteCode(42)
	w.store.invites[code] = session.Invite{Code: code, Role: session.Agent, District: "Kisima", Person: "a-1", Expires: w.now.Add(72 * time.Hour)}
	return w, code
}

func (w *world) at(number string) *handset { return &handset{world: w, number: session.Phone(number)} }

// says sends messages and gives the last answer.
func (h *handset) says(t *testing.T, texts ...string) (answer string) {
	t.Helper()
	for _, text := range texts {
		r, err := h.sms(text)
		if err != nil {
			t.Fatal(err)
		}
		answer = r.Text
	}
	return answer
}

// TestACodeMovesARecordToThePhoneThatSendsIt sends it from a phone that nobody
// knows, from one that has made a record for itself on the way, and from one that
// is somebody's.
func TestACodeMovesARecordToThePhoneThatSendsIt(t *testing.T) {
	for what, first := range map[string][]string{
		"nobody's":       nil,
		"known just now": {"hello", "1", "1", "3", "00", "7", "4"},
	} {
		t.Run(what, func(t *testing.T) {
			w, code := moved(t)
			h := w.at("+447700900155")
			if first == nil {
				h.says(t, "join "+code, "1")
			} else if answer := h.says(t, append(first, code)...); !strings.Contains(answer, "You are now: agent") {
				t.Errorf("the answer: %s", answer)
			}
			if p, err := w.store.PersonByPhone("+447700900155"); err != nil || p.ID != "a-1" || p.Role != session.Agent {
				t.Errorf("the phone is %+v, %v", p, err)
			}
			if p, err := w.store.PersonByPhone("+33639982201"); err == nil {
				t.Errorf("the old number is still %s", p.ID)
			}
			if !slices.ContainsFunc(w.store.outgoing, func(o session.Outgoing) bool {
				return o.To == "+33639982201" && o.Purpose == session.Safety && strings.Contains(o.Text, "ending in 55")
			}) {
				t.Error("the old number is not told")
			}
			if answer := w.at("+447700900156").says(t, "join "+code, "1", "1", "3", "00", "7", "4", code); !strings.Contains(answer, "code is not good") {
				t.Errorf("the code once more: %s", answer)
			}
		})
	}
	t.Run("somebody's", func(t *testing.T) {
		w, code := moved(t)
		agent := w.store.people["a-1"]
		agent.ID, agent.Phone = "a-2", "+33639982202"
		w.store.people["a-2"] = agent
		if answer := w.at("+33639982202").says(t, "menu", "7", "4", code); !strings.Contains(answer, "has a record already") {
			t.Errorf("the answer: %s", answer)
		}
		if p, err := w.store.PersonByPhone("+33639982202"); err != nil || p.ID != "a-2" {
			t.Errorf("the phone is %+v, %v", p, err)
		}
	})
}

// TestACodeIsGoodAsLongAsWhatItWasMadeOn lowers or removes whoever made a code, and
// raises whom it is for.
func TestACodeIsGoodAsLongAsWhatItWasMadeOn(t *testing.T) {
	for what, c := range map[string]struct {
		invites session.Role
		change  func(*session.Person)
		good    bool
	}{
		"an agent invites a buyer":            {session.Buyer, func(*session.Person) {}, true},
		"who invited left":                    {session.Buyer, func(p *session.Person) { *p = p.Anonymous() }, false},
		"who invited is a grower now":         {session.Buyer, func(p *session.Person) { p.Role = session.Grower }, false},
		"no coordinator any more":             {session.Agent, func(*session.Person) {}, false},
		"a coordinator invites an agent":      {session.Agent, func(p *session.Person) { p.Role = session.Coordinator }, true},
		"a new number":                        {"", func(*session.Person) {}, true},
		"a new number, of a coordinator now":  {"", func(p *session.Person) { p.Role = session.Coordinator }, false},
		"a new number, in another district":   {"", func(p *session.Person) { p.District = "Korongo" }, false},
		"a new number, of all districts now":  {"", func(p *session.Person) { p.District = "" }, false},
		"a new number, of somebody forgotten": {"", func(p *session.Person) { *p = p.Anonymous() }, false},
	} {
		t.Run(what, func(t *testing.T) {
			w, code := moved(t)
			if c.invites != "" {
				w.store.invites[code] = session.Invite{Code: code, Role: c.invites, District: "Kisima", Agent: "a-1", Expires: w.now.Add(72 * time.Hour)}
			}
			p := w.store.people["a-1"]
			c.change(&p)
			w.store.people["a-1"] = p
			answer := w.at("+447700900155").says(t, "hello", "1", "1", "3", "00", "7", "4", code)
			if good := strings.Contains(answer, "You are now"); good != c.good || !good && !strings.Contains(answer, "code is not good") {
				t.Errorf("the answer: %s", answer)
			}
		})
	}
}

// TestARightSlipMakesNoWrongCodeGood tries codes, and looks up a slip after each four.
func TestARightSlipMakesNoWrongCodeGood(t *testing.T) {
	w, code := moved(t)
	w.store.checks["HBKXWG2"] = session.Check{Slip: "HBKXWG2", State: session.Filed, Grade: "Grade 1", Rank: 1, Of: 3, Complete: true, StandardID: "mbuyu-hand", At: w.now}
	h := w.at("+33639982201")
	for i := range 10 {
		h.says(t, "menu", "7", "4", session.NewInviteCode(uint64(1000+i)))
		if i%4 == 3 {
			h.says(t, "menu", "4", "HBKXWG2")
		}
	}
	if answer := h.says(t, "menu", "7", "4", code); !strings.Contains(answer, "Too many wrong codes") {
		t.Errorf("after ten wrong codes: %s", answer)
	}
}

// TestACoordinatorChangesGrowersAndAgentsOfTheirDistrict asks who may change whom.
func TestACoordinatorChangesGrowersAndAgentsOfTheirDistrict(t *testing.T) {
	person := func(id session.PersonID, role session.Role, district string, agent session.PersonID) *session.Person {
		return &session.Person{ID: id, Role: role, District: district, Agent: agent}
	}
	chief, kisima, agent := person("c-0", session.Coordinator, "", ""), person("c-1", session.Coordinator, "Kisima", ""), person("a-1", session.Agent, "Kisima", "")
	for _, c := range []struct {
		who, whom *session.Person
		want      bool
	}{
		{kisima, person("g", session.Grower, "Kisima", "a-1"), true},
		{kisima, person("g", session.Grower, "", ""), true},
		{kisima, person("g", session.Grower, "Korongo", "a-2"), false},
		{kisima, agent, true},
		{kisima, person("a", session.Agent, "Korongo", ""), false},
		{kisima, person("a", session.Agent, "", ""), false},
		{kisima, chief, false},
		{kisima, person("c-2", session.Coordinator, "Kisima", ""), false},
		{kisima, person("b", session.Buyer, "Kisima", ""), false},
		{chief, person("a", session.Agent, "Korongo", ""), true},
		{chief, kisima, false},
		{agent, person("g", session.Grower, "Kisima", "a-1"), true},
		{agent, person("g", session.Grower, "Kisima", "a-2"), false},
	} {
		if got := c.who.MayChange(c.whom); got != c.want {
			t.Errorf("%s of %q changes %s of %q: %v, want %v", c.who.Role, c.who.District, c.whom.Role, c.whom.District, got, c.want)
		}
	}
}
