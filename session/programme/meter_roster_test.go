package programme_test

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"threshline/session"
	"threshline/session/programme"
)

// The roster says who has which meter: one of those that were checked, whatever
// the size of its letters.
func TestARosterNamesMeters(t *testing.T) {
	const roster = "role,number,name,district,language,meter\nagent,+33639981071,Asha,Kisima,en,m7\nagent,+33639981072,Baraka,Kisima,en,\n"
	rules := valleyRules()
	rules.Meters = []string{"M2", "M7"}
	rows, err := programme.ReadRoster(strings.NewReader(roster), rules)
	if err != nil || len(rows) != 2 || rows[0].Meter != "M7" || rows[1].Meter != "" {
		t.Fatalf("%+v, %v", rows, err)
	}
	var out bytes.Buffer
	if err := programme.WriteRoster(&out, []session.Person{{ID: "a", Role: session.Agent, Phone: "+33639981071", Name: "Asha", Language: "en", Kit: session.Kit{Meter: "M7"}}}); err != nil {
		t.Fatal(err)
	}
	if again, err := programme.ReadRoster(&out, rules); err != nil || again[0].Meter != "M7" {
		t.Errorf("written and read again: %+v, %v", again, err)
	}
	rules.Meters = []string{"M2"}
	if _, err := programme.ReadRoster(strings.NewReader(roster), rules); err == nil || !strings.Contains(err.Error(), "want one of the programme's meters, M2") {
		t.Errorf("a meter that nobody checked: %v", err)
	}
}

func TestWhatIsWrongWithAMeterIsSaid(t *testing.T) {
	good := func() programme.Meter {
		a := session.Account{Kind: session.DeskMeter, Name: "M7", Meter: session.MeterCheck{Bias: -9000, Doubt: 1500, CheckedOn: "2026-11-01", GoodUntil: "2027-02-28"}}
		m, ok := programme.KeptMeter(&a)
		if !ok || m.Wrong() != "" {
			t.Fatalf("%+v is wrong: %s", m, m.Wrong())
		}
		return m
	}
	for name, spoil := range map[string]func(*programme.Meter){
		"name of a meter": func(m *programme.Meter) { m.Name = "a long name 7" }, "1 to 12 letters": func(m *programme.Meter) { m.Name = "" },
		"bias is in points": func(m *programme.Meter) { m.Bias = -100 * 10000 }, "doubt of the bias": func(m *programme.Meter) { m.Doubt = -1 },
		"beside the oven": func(m *programme.Meter) { m.CheckedOn = "" }, "until before it was checked": func(m *programme.Meter) { m.GoodUntil = "2026-10-31" },
		"cannot be read": func(m *programme.Meter) { m.GoodUntil = "next May" },
	} {
		m := good()
		if spoil(&m); !strings.Contains(m.Wrong(), name) {
			t.Errorf("%+v: %q, want %q", m, m.Wrong(), name)
		}
	}
	if _, ok := programme.KeptMeter(&session.Account{Kind: session.DeskMeter, Name: "M7", Ended: time.Unix(1, 0)}); ok {
		t.Error("one that was retired counts")
	}
	if _, ok := programme.KeptMeter(&session.Account{Kind: session.DeskPerson, Name: "M7"}); ok {
		t.Error("a person counts as a meter")
	}
}
