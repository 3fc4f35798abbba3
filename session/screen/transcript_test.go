package screen_test

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/cockroachdb/datadriven"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// The transcripts in testdata/session are dialogues as they go over the air:
// what is keyed in, and the screen that comes back, letter by letter. They are
// read by people who know growers and not programs; run the test with
// -rewrite to bring them up to date, and read the difference.
func TestTranscripts(t *testing.T) {
	names, err := filepath.Glob("../../testdata/session/*.txt")
	if err != nil {
		t.Fatal(err)
	}
	if len(names) == 0 {
		t.Fatal("found no transcript")
	}
	for _, name := range names {
		t.Run(strings.TrimSuffix(filepath.Base(name), ".txt"), func(t *testing.T) {
			p := &play{t: t, phones: map[string]*handset{}}
			datadriven.RunTest(t, name, p.act)
		})
	}
}

// play is one transcript under way.
type play struct {
	t      *testing.T
	world  *world
	phones map[string]*handset
	now    *handset
}

// act does one stage direction of a transcript.
func (p *play) act(t *testing.T, d *datadriven.TestData) string {
	switch d.Cmd {
	case "programme":
		return p.programme(d)
	case "money":
		p.money(d)
		return ""
	case "climate":
		p.climate(d)
		return ""
	case "standard":
		return p.standard(d)
	case "phone":
		var number string
		d.ScanArgs(t, "number", &number)
		if p.phones[number] == nil {
			p.phones[number] = &handset{world: p.world, number: session.Phone(number)}
		}
		p.now = p.phones[number]
		return ""
	case "meter":
		p.meter(d)
		return ""
	case "person":
		return p.person(d)
	case "grower":
		return p.grower(d)
	case "desk-code":
		return p.deskCode(d)
	case "consent":
		d.ScanArgs(t, "version", &p.world.machine.Programme.ConsentVersion)
		return ""
	case "dial":
		return p.said(p.now.dial())
	case "keys":
		return p.each(d.Input, p.now.key)
	case "sms":
		return p.each(d.Input, p.now.sms)
	case "again":
		return p.said(p.world.step(p.now.last))
	case "drop":
		in := p.now.last
		in.Event, in.Text = session.Timeout, ""
		return p.said(p.world.step(in))
	case "wait":
		return p.wait(d)
	case "filed":
		return p.filed()
	case "outgoing":
		return p.outgoing()
	case "desk-clears":
		return p.deskClears(d)
	case "weeks":
		return p.weeks(d)
	case "kept":
		return p.kept()
	}
	d.Fatalf(t, "no stage direction %q", d.Cmd)
	return ""
}

func (p *play) programme(d *datadriven.TestData) string {
	id, langs := "agmark-paddy", "en"
	d.MaybeScanArgs(p.t, "standard", &id)
	d.MaybeScanArgs(p.t, "languages", &langs)
	var languages []session.Language
	for _, l := range strings.Split(langs, "+") {
		languages = append(languages, session.Language(l))
	}
	p.world = newWorld(p.t, id, languages...)
	p.world.foresees = true
	d.MaybeScanArgs(p.t, "purpose", &p.world.machine.Programme.SamplingPurpose)
	d.MaybeScanArgs(p.t, "plan", &p.world.machine.Programme.SamplingPlan)
	return ""
}

// meter is one that the desk keeps, so many tenths above the oven.
func (p *play) meter(d *datadriven.TestData) {
	a, tenths := session.Account{Kind: session.DeskMeter}, 0
	d.ScanArgs(p.t, "name", &a.Name)
	d.ScanArgs(p.t, "tenths", &tenths)
	a.Meter = session.MeterCheck{Bias: grading.NewDecimal(tenths) / 10, Doubt: programme.MeterDoubt}
	d.MaybeScanArgs(p.t, "until", &a.Meter.GoodUntil)
	in := p.world.machine.Programme
	m, _ := programme.KeptMeter(&a)
	in.Meters, in.OneMeter = append(in.Meters, m), grading.Meter{}
}

// person puts somebody known into the store and takes up their phone.
func (p *play) person(d *datadriven.TestData) string {
	var number, role, name string
	d.ScanArgs(p.t, "number", &number)
	d.ScanArgs(p.t, "role", &role)
	d.ScanArgs(p.t, "name", &name)
	district, language := "Kisima", string(p.world.machine.Programme.Languages[0])
	d.MaybeScanArgs(p.t, "district", &district)
	d.MaybeScanArgs(p.t, "language", &language)
	id := session.PersonID("known " + number)
	p.world.store.people[id] = session.Person{
		ID: id, Phone: session.Phone(number), Role: session.Role(role), Name: name, District: district, Village: "Kisima",
		Language: session.Language(language),
		Consent:  session.Consent{Version: p.world.machine.Programme.ConsentVersion, Given: true, At: p.world.now}, Joined: p.world.now,
	}
	p.phones[number] = &handset{world: p.world, number: session.Phone(number)}
	p.now = p.phones[number]
	return ""
}

// grower puts somebody whom the phone's person looks after into the store, as a
// roster brings them: not asked yet, unless it says "agreed".
func (p *play) grower(d *datadriven.TestData) string {
	var name string
	var short int
	d.ScanArgs(p.t, "name", &name)
	d.ScanArgs(p.t, "short", &short)
	agent, err := p.world.store.PersonByPhone(p.now.number)
	if err != nil {
		d.Fatalf(p.t, "%v", err)
	}
	id := session.PersonID("grower " + name)
	grower := session.Person{ID: id, Role: session.Grower, Name: name, District: "Kisima", Agent: agent.ID, Short: short, Joined: p.world.now}
	if d.HasArg("agreed") {
		grower.Consent = session.Consent{Version: p.world.machine.Programme.ConsentVersion, Given: true, At: p.world.now}
	}
	p.world.store.people[id] = grower
	return ""
}

// deskCode puts the code into the store that the desk shows for somebody's new
// number.
func (p *play) deskCode(d *datadriven.TestData) string {
	var number string
	d.ScanArgs(p.t, "number", &number)
	person, err := p.world.store.PersonByPhone(session.Phone(number))
	if err != nil {
		d.Fatalf(p.t, "%v", err)
	}
	code := session.NewInviteCode(42) // D3222R
	p.world.store.invites[code] = session.Invite{Code: code, Role: person.Role, District: person.District, Person: person.ID, Expires: p.world.now.Add(72 * time.Hour)}
	return ""
}

// deskClears records at the desk what takes signs off the lot of a slip, the one
// filed last when none is named, and says what became of its checks.
func (p *play) deskClears(d *datadriven.TestData) string {
	what := session.Clearance{At: p.world.now, On: p.world.now.Truncate(24 * time.Hour)}
	slip, signs := p.slip(), ""
	d.MaybeScanArgs(p.t, "slip", &slip)
	d.ScanArgs(p.t, "signs", &signs)
	d.ScanArgs(p.t, "by", &what.By)
	d.MaybeScanArgs(p.t, "reference", &what.Reference)
	what.By, what.Reference = strings.ReplaceAll(what.By, "_", " "), strings.ReplaceAll(what.Reference, "_", " ")
	for _, s := range strings.Split(signs, "+") {
		what.Flags = append(what.Flags, grading.Flag(s))
	}
	p.world.turns++
	known := func(string, string) *grading.Standard { return p.world.machine.Programme.Standard }
	w, err := p.world.machine.Clear(p.world.store, session.Slip(slip), what, known, [2]uint64{20261125, p.world.turns}, budget)
	if err != nil {
		return err.Error() + "\n"
	}
	if err := p.world.store.apply("", w); err != nil {
		p.t.Fatal(err)
	}
	var out strings.Builder
	for _, c := range w.Checks {
		fmt.Fprintf(&out, "%s: %s, cleared by %s\n", c.Slip, c.Grade, what.By)
	}
	return out.String()
}

// code is the invitation made last, for a transcript's word CODE; codes are
// drawn anew when the screens change.
func (p *play) code() string {
	for _, i := range p.world.store.invites {
		if !i.Used {
			return i.Code
		}
	}
	return "CODE"
}

// slip is the slip filed last, for a transcript's word SLIP.
func (p *play) slip() string {
	if all, _ := p.world.store.list(1, func(session.Check) bool { return true }); len(all) > 0 {
		return string(all[0].Slip)
	}
	return "SLIP"
}

func (p *play) said(r session.Reply, err error) string {
	if err != nil {
		p.t.Fatal(err)
	}
	most := budget.Septets
	if p.world.store.dialogues[p.now.number].Screen == "lots" { // what became of several lots is told at once
		most = threeMessages
	}
	if n, ok := count(r.Text); !ok || n > most {
		p.t.Errorf("over the budget or not GSM-7 (%d): %q", n, r.Text)
	}
	return shown(r)
}

// each sends line by line; with several lines, each is shown before its screen.
func (p *play) each(lines string, send func(string) (session.Reply, error)) string {
	lines = strings.NewReplacer("CODE", p.code(), "SLIP", p.slip()).Replace(lines)
	all := strings.Split(strings.TrimRight(lines, "\n"), "\n")
	if len(all) == 1 {
		return p.said(send(all[0]))
	}
	var out strings.Builder
	for _, line := range all {
		fmt.Fprintf(&out, "> %s\n%s", line, p.said(send(line)))
	}
	return out.String()
}

// wait lets time pass and does what falls due meanwhile.
func (p *play) wait(d *datadriven.TestData) string {
	var long string
	d.ScanArgs(p.t, "for", &long)
	span, err := time.ParseDuration(long)
	if err != nil {
		d.Fatalf(p.t, "%v", err)
	}
	until := p.world.now.Add(span)
	if p.world.machine.Weeks != nil && len(p.world.store.due(p.world.now)) == 0 { // as a station looks once a day
		w, err := p.world.machine.Programme.Digests(p.world.now)(p.world.store)
		if err != nil || p.world.store.apply("", w) != nil {
			p.t.Fatal(err)
		}
	}
	for {
		at := until
		for _, r := range p.world.store.reminders {
			if r.Due.Before(at) {
				at = r.Due
			}
		}
		if at.After(p.world.now) {
			p.world.now = at
		}
		due := p.world.store.due(p.world.now)
		if len(due) == 0 {
			break
		}
		p.world.turns++
		w, err := p.world.machine.Remind(p.world.store, due, p.world.now, [2]uint64{20261125, p.world.turns}, budget)
		if err != nil {
			p.t.Fatal(err)
		}
		if err := p.world.store.apply(due[0].Phone, w); err != nil {
			p.t.Fatal(err)
		}
	}
	p.world.now = until
	return p.outgoing()
}

func (p *play) outgoing() string {
	var out strings.Builder
	for _, o := range p.world.store.outgoing {
		n, _ := count(o.Text)
		fmt.Fprintf(&out, "to %s, %s: %s\n[%d septets]\n", string(o.To), o.Purpose, o.Text, n)
	}
	p.world.store.outgoing = nil
	return out.String()
}

func (p *play) filed() string {
	var out strings.Builder
	all, _ := p.world.store.list(100, func(session.Check) bool { return true })
	for _, c := range all {
		fmt.Fprintf(&out, "%s %s: %s, %d bags, grower %s", c.Slip, c.State, c.Grade, c.Lot.Bags, p.world.store.people[c.Lot.Grower].Name)
		if c.Recheck != "" {
			fmt.Fprintf(&out, ", re-check of %s", c.Recheck)
		}
		if c.Pooled() {
			fmt.Fprintf(&out, " with %d of %d moistures its own", len(c.Sample.Repeats), len(c.Readings.Repeats))
		}
		if c.ReplacedBy != "" {
			fmt.Fprintf(&out, ", replaced by %s", c.ReplacedBy)
		}
		out.WriteString("\n")
	}
	return out.String()
}

// kept says what is stored about the phone's person, in numbers and names.
func (p *play) kept() string {
	var out strings.Builder
	person, err := p.world.store.PersonByPhone(p.now.number)
	if err != nil {
		out.WriteString("no person\n")
	} else {
		fmt.Fprintf(&out, "%s, name %q, village %q, district %q, language %s, agreed %v, stopped %v, lacks %v\n",
			person.Role, person.Name, person.Village, person.District, person.Language, person.Consent.Given,
			!person.Stopped.IsZero(), person.Kit.Lacks)
	}
	if d, ok := p.world.store.dialogues[p.now.number]; ok {
		fmt.Fprintf(&out, "dialogue with %d unfinished\n", len(d.Drafts))
	} else {
		out.WriteString("no dialogue\n")
	}
	return out.String()
}

// weeks hands in figures of a district, the same for every week: what the
// ledger would reckon. "district=Kisima checks=42 before=38 ...".
func (p *play) weeks(d *datadriven.TestData) string {
	district, week := "", programme.Week{}
	d.MaybeScanArgs(p.t, "district", &district)
	for name, to := range map[string]*int{
		"checks": &week.Checks, "before": &week.Before, "grade": &week.InGrade, "held": &week.Held,
		"hand": &week.ByHand, "lifts": &week.Lifts, "lots": &week.Lots, "older": &week.Older, "visits": &week.Visits,
	} {
		d.MaybeScanArgs(p.t, name, to)
	}
	var deciding, remedy, slips string
	d.MaybeScanArgs(p.t, "deciding", &deciding)
	d.MaybeScanArgs(p.t, "remedy", &remedy)
	d.MaybeScanArgs(p.t, "slips", &slips)
	week.Deciding, week.Remedy = grading.ParameterID(deciding), advice.RemedyID(remedy)
	for _, s := range strings.FieldsFunc(slips, func(r rune) bool { return r == '+' }) {
		week.Newest = append(week.Newest, session.Slip(s))
	}
	if slips == "filed" { // all that were filed in this transcript
		week.Newest = nil
		all, _ := p.world.store.list(100, func(session.Check) bool { return true })
		for _, c := range all {
			week.Newest = append(week.Newest, c.Slip)
		}
		week.Visits = max(week.Visits, len(all))
	}
	p.world.machine.Weeks = func() *programme.Weeks {
		today := p.world.now.Truncate(24 * time.Hour)
		sunday := today.AddDate(0, 0, -1-int(today.Weekday()+6)%7)
		all := map[string]programme.Week{district: week}
		return &programme.Weeks{Running: programme.SevenDays{Last: today, Districts: all}, Whole: programme.SevenDays{Last: sunday, Districts: all}}
	}
	return ""
}
