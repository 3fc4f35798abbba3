package desk

import (
	"cmp"
	"errors"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"threshline/gateway/desk/access"
	"threshline/gateway/desk/paper"
	"threshline/grading"
	"threshline/session"
	"threshline/session/ledger"
	"threshline/session/programme"

	"github.com/gorilla/mux"
)

// meterDesk keeps moisture meters, and who has which.
type meterDesk struct {
	*front
	*terms
	ledger   *ledger.Ledger
	records  Records
	accounts access.Book
	metered  func() // may be nil
}

// metersPage is the moisture meters that somebody checked: those of the
// configuration, which a page cannot change, and those that the desk keeps.
type metersPage struct {
	Set, Kept []meterRow
	Retired   paper.Table
	New       meterRow // what the form for another one begins with
	May       bool     // the visitor may change them
	Problem   string
}

// meterRow is one meter, with what its form holds.
type meterRow struct {
	Name, Bias, Doubt    string
	CheckedOn, GoodUntil string
	State                string
	Holders              []paper.Cell
	today                string
}

// Form is the first content of the i-th meter's form, without the results of
// its last check: a new check has new ones. Below 0, it is the form for a new
// meter, as it was filled in.
func (m meterRow) Form(i int) any {
	if i >= 0 {
		m = meterRow{Name: m.Name, CheckedOn: m.today}
	}
	return struct {
		For string
		Row meterRow
	}{"m" + strconv.Itoa(i), m}
}

// meterTable is meters under a caption.
type meterTable struct {
	Caption string
	Rows    []meterRow
}

// KeptTable and SetTable are the two tables of the page.
func (p metersPage) KeptTable() meterTable { return meterTable{"Meters that are kept here", p.Kept} }
func (p metersPage) SetTable() meterTable  { return meterTable{"Meters of the configuration", p.Set} }

// meterID is where the desk keeps a meter: no two names differ in their letters'
// size alone.
func meterID(name string) session.AccountID {
	return session.AccountID(session.DeskMeter) + "/" + session.AccountID(strings.ToLower(name))
}

// keepsMeters reports whether a visitor may change meters, which are used in
// all districts.
func keepsMeters(v *access.Visitor) bool {
	return v.May(session.DeskCoordinator) && len(v.Account.Districts) == 0
}

// kept lists the meters that the desk keeps, those that were retired among them.
func (d *meterDesk) kept(r *http.Request) (list []session.Account, err error) {
	all, err := d.guard.Accounts(r.Context())
	for i := range all {
		if all[i].Kind == session.DeskMeter {
			list = append(list, all[i])
		}
	}
	return list, err
}

func (d *meterDesk) showMeters(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	return d.meters(w, r, v, metersPage{}, http.StatusOK)
}

func (d *meterDesk) meters(w http.ResponseWriter, r *http.Request, v *access.Visitor, page metersPage, status int) error {
	list, err := d.kept(r)
	if err != nil {
		return err
	}
	holders, named := d.ledger.View().Holders(), false
	row := func(m *programme.Meter) meterRow {
		line := meterRow{
			Name: m.Name, Bias: m.Bias.Ratio().Signed(), Doubt: m.Doubt.String(), CheckedOn: m.CheckedOn, GoodUntil: m.GoodUntil, State: "good", today: d.today(),
		}
		if m.GoodUntil != "" && m.GoodUntil < d.today() {
			line.State = "over since " + paper.Day(m.GoodUntil) + ": it corrects nothing until it is checked again"
		}
		for _, id := range holders[strings.ToLower(m.Name)] {
			if p, _ := d.ledger.View().Person(id); v.Sees(p.District) {
				named = named || v.Knows(p.District)
				line.Holders = append(line.Holders, paper.Cell{Text: d.nameOf(v, id), Link: "/desk/growers/" + string(id)})
			}
		}
		return line
	}
	for i := range d.programme.Meters {
		if m := &d.programme.Meters[i]; !m.Kept {
			page.Set = append(page.Set, row(m))
		}
	}
	page.Retired = paper.Table{Caption: "Retired", Head: paper.Heads("Meter", "#Bias, points", "Checked on", "Retired")}
	for i := range list {
		a := &list[i]
		if m, ok := programme.KeptMeter(a); ok {
			page.Kept = append(page.Kept, row(&m))
		} else {
			page.Retired.Add(a.Name, a.Meter.Bias.Ratio().Signed(), paper.Day(a.Meter.CheckedOn), d.day(a.Ended))
		}
	}
	if page.May = keepsMeters(v); page.New.CheckedOn == "" {
		page.New.CheckedOn = d.today()
	}
	if named {
		if err := d.seen(r.Context(), v, "who has which meter", ""); err != nil {
			return err
		}
	}
	d.Show(w, r, status, v, "meters", "Moisture meters", page)
	return nil
}

// today is the day where the programme is.
func (d *meterDesk) today() string { return d.now().In(d.zone).Format("2006-01-02") }

// checkMeter stores a new meter, or the results of a new check of one.
func (d *meterDesk) checkMeter(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	m, line, err := d.readMeter(r)
	if err == nil && !keepsMeters(v) {
		err = errNotAll
	}
	if err == nil {
		err = d.changeMeter(r, v, m.Name, func(a *session.Account) (did, subject string, err error) {
			did = "checked a meter again"
			if a.Version == 0 || !a.Ended.IsZero() {
				did, a.Made = "added a meter", d.now()
			}
			a.Name, a.Ended = m.Name, session.Account{}.Ended
			a.Meter = session.MeterCheck{Bias: m.Bias, Doubt: m.Doubt, CheckedOn: m.CheckedOn, GoodUntil: m.GoodUntil}
			return did, m.Name + ": bias " + m.Bias.Ratio().Signed() + ", doubt " + m.Doubt.String() + ", checked " + m.CheckedOn + ", good until " + cmp.Or(m.GoodUntil, "further notice"), nil
		})
	}
	return d.metersAnswer(w, r, v, line, err)
}

// retireMeter takes a meter out of use.
func (d *meterDesk) retireMeter(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	name, err := r.PostFormValue("name"), error(nil)
	if !keepsMeters(v) {
		err = errNotAll
	} else {
		err = d.changeMeter(r, v, name, func(a *session.Account) (did, subject string, err error) {
			if a.Version == 0 || !a.Ended.IsZero() {
				return "", "", session.ErrNotFound
			}
			a.Ended = d.now()
			return "retired a meter", a.Name, nil
		})
	}
	return d.metersAnswer(w, r, v, meterRow{}, err)
}

var errNotAll = paper.Wrong("Meters count in all districts: a coordinator of all districts, or an administrator, keeps them.")

// changeMeter changes a meter's record and notes what was done.
func (d *meterDesk) changeMeter(r *http.Request, v *access.Visitor, name string, change func(*session.Account) (did, subject string, err error)) error {
	a, err := d.accounts.Account(r.Context(), meterID(name))
	if errors.Is(err, session.ErrNotFound) {
		a, err = session.Account{ID: meterID(name), Kind: session.DeskMeter}, nil
	}
	if err != nil {
		return err
	}
	did, subject, err := change(&a)
	if err != nil {
		return err
	}
	_, err = d.records.Exchange(r.Context(), session.Key{}, func(session.View) (session.Writes, error) {
		return session.Writes{Accounts: []session.Account{a}, Notes: []session.AuditNote{d.guard.Note(v, did, subject)}}, nil
	})
	if err == nil && d.metered != nil {
		d.metered()
	}
	return err
}

// metersAnswer shows the meters after a change, or what was wrong with it above
// the form as it was filled in.
func (d *meterDesk) metersAnswer(w http.ResponseWriter, r *http.Request, v *access.Visitor, line meterRow, err error) error {
	var wrong *paper.InputError
	switch {
	case errors.As(err, &wrong):
		return d.meters(w, r, v, metersPage{Problem: wrong.Problem, New: line}, http.StatusUnprocessableEntity)
	case err != nil:
		return err
	}
	http.Redirect(w, r, "/desk/meters", http.StatusSeeOther)
	return nil
}

// readMeter reads the form.
func (d *meterDesk) readMeter(r *http.Request) (m programme.Meter, line meterRow, err error) {
	field := func(name string) string { return strings.Join(strings.Fields(r.PostFormValue(name)), " ") }
	line = meterRow{Name: field("name"), Bias: field("bias"), Doubt: field("doubt"), CheckedOn: field("checked_on"), GoodUntil: field("good_until")}
	number := func(what, s string) (n grading.Decimal) {
		n, bad := grading.ParseDecimal(strings.TrimPrefix(s, "+"))
		if bad != nil && err == nil {
			err = paper.Wrong("The " + what + " is a number of points, such as 0.4.")
		}
		return n
	}
	m = programme.Meter{CheckedOn: line.CheckedOn, GoodUntil: line.GoodUntil, Kept: true}
	m.Name, m.Checked, m.Bias, m.Doubt = line.Name, true, number("bias", line.Bias), programme.MeterDoubt
	if line.Doubt != "" {
		m.Doubt = number("doubt", line.Doubt)
	}
	set := slices.ContainsFunc(d.programme.Meters, func(o programme.Meter) bool { return !o.Kept && strings.EqualFold(o.Name, m.Name) })
	switch why := m.Wrong(); {
	case err != nil:
	case why != "":
		err = paper.Wrong(why)
	case m.CheckedOn > d.today():
		err = paper.Wrong("The day of the check is still to come.")
	case set:
		err = paper.Wrong("The configuration has a meter of this name: change it there.")
	}
	return m, line, err
}

// meterChoices are the meters that somebody can be given.
func (d *meterDesk) meterChoices(r *http.Request, now string) (list []paper.Option, err error) {
	kept, err := d.kept(r)
	if err != nil {
		return nil, err
	}
	list = []paper.Option{{Label: "not known", Chosen: now == ""}}
	add := func(name string) {
		list = append(list, paper.Option{Value: name, Label: name, Chosen: strings.EqualFold(name, now)})
	}
	for _, m := range d.programme.Meters {
		if !m.Kept {
			add(m.Name)
		}
	}
	for i := range kept {
		if m, ok := programme.KeptMeter(&kept[i]); ok {
			add(m.Name)
		}
	}
	return list, nil
}

// giveMeter says which meter somebody has.
func (d *meterDesk) giveMeter(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	id, name := session.PersonID(mux.Vars(r)["id"]), r.PostFormValue("meter")
	choices, err := d.meterChoices(r, "")
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(choices, func(o paper.Option) bool { return o.Value == name }) {
		return paper.Wrong("There is no meter of this name.")
	}
	var changed session.Person
	if err := changePerson(r, d.records, v, id, func(p session.Person) session.Writes {
		p.Kit.Meter = name
		changed = p
		return session.Writes{
			People: []session.Person{p},
			Notes:  []session.AuditNote{d.guard.Note(v, "said which meter somebody has", string(id)+": "+cmp.Or(name, "not known"))},
		}
	}); err != nil {
		return err
	}
	d.ledger.People(changed) // or the list of meters would not have it for half a minute
	http.Redirect(w, r, "/desk/growers/"+string(id), http.StatusSeeOther)
	return nil
}
