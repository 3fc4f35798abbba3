package desk

import (
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"net/http"
	"strings"
	"time"

	"threshline/gateway/desk/access"
	"threshline/gateway/desk/paper"
	"threshline/session"

	"github.com/gorilla/mux"
)

// peopleDesk shows growers, agents and others, and moves them to new numbers.
type peopleDesk struct {
	*front
	*terms
	records      Records
	shelf        Shelf
	entropy      io.Reader
	meterChoices func(r *http.Request, now string) ([]paper.Option, error)
}

// growersPage lists people that agents look after, and others who talk to us.
type growersPage struct {
	Find      string
	Named     bool
	Growers   paper.Table
	More      string
	All       string // every one of them; "" there are none besides
	Role      session.Role
	Roles     []paper.Option
	District  string
	Districts []paper.Option
}

// growers lists people in the order of their records. A visitor who sees no
// names cannot search for one either.
func (d *peopleDesk) growers(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	q := r.URL.Query()
	page := growersPage{Named: v.May(session.DeskCoordinator), Role: session.Role(paper.Or(q.Get("role"), string(session.Grower))), District: q.Get("district")}
	if page.Named {
		page.Find = strings.TrimSpace(q.Get("find"))
	}
	for _, role := range []session.Role{session.Grower, session.Agent, session.Buyer, session.Coordinator} {
		page.Roles = append(page.Roles, paper.Option{Value: string(role), Label: string(role), Chosen: role == page.Role})
	}
	page.Districts = append(page.Districts, paper.Option{Value: "", Label: "Any", Chosen: page.District == ""})
	for _, name := range d.programme.Districts {
		if v.Sees(name) {
			page.Districts = append(page.Districts, paper.Option{Value: name, Label: name, Chosen: name == page.District})
		}
	}
	people, more, err := d.findPeople(r.Context(), v, &page, session.PersonID(q.Get("after")), rowsOf(r, perPage))
	if err != nil {
		return err
	}
	page.Growers = d.peopleTable(v, people, string(page.Role))
	if more {
		next := chosen{query: q}
		q.Del("after")
		if page.All = next.with(r.URL.Path, "rows", "all"); len(people) == mostPrinted {
			page.All = ""
		}
		page.More = next.with(r.URL.Path, "after", string(people[len(people)-1].ID))
	}
	if page.Named && len(people) > 0 {
		if err := d.seen(r.Context(), v, "a list of people: "+string(page.Role)+"s", page.District); err != nil {
			return err
		}
	}
	return d.show(w, r, v, "growers", "Growers and others", page)
}

// findPeople reads people after one until a page is full.
func (d *peopleDesk) findPeople(ctx context.Context, v *access.Visitor, page *growersPage, after session.PersonID, most int) (found []session.Person, more bool, err error) {
	find := strings.ToLower(page.Find)
	for {
		batch, err := d.shelf.People(ctx, after, atOnce)
		if err != nil {
			return nil, false, err
		}
		for _, p := range batch {
			if p.Role != page.Role || !v.Sees(p.District) || page.District != "" && p.District != page.District {
				continue
			}
			if find != "" && !strings.Contains(strings.ToLower(p.Name+" "+p.Village+" "+string(p.ID)), find) && string(p.Phone) != find {
				continue
			}
			if len(found) == most {
				return found, true, nil
			}
			found = append(found, p)
		}
		if len(batch) < atOnce {
			return found, false, nil
		}
		after = batch[len(batch)-1].ID
	}
}

func (d *peopleDesk) peopleTable(v *access.Visitor, people []session.Person, what string) paper.Table {
	t := paper.Table{Caption: "People whose role is " + what, Head: paper.Heads("Name", "District", "Village", "Agent", "Language", "Messages", "Since")}
	for i := range people {
		p := &people[i]
		messages := "wanted"
		switch {
		case p.Forgotten:
			messages = "forgotten at their wish"
		case !p.Stopped.IsZero():
			messages = "stopped " + d.day(p.Stopped)
		case p.Phone == "":
			messages = "no phone"
		}
		t.Rows = append(t.Rows, paper.Linked("/desk/growers/"+string(p.ID), personName(v, p), paper.Or(p.District, "not said"), paper.Or(p.Village, "not said"), d.nameOf(v, p.Agent),
			string(p.Language), messages, d.day(p.Joined)))
	}
	return t
}

// personName is nameOf for a person at hand.
func personName(v *access.Visitor, p *session.Person) string {
	if p.Name == "" || !v.Knows(p.District) {
		return string(p.ID)
	}
	return p.Name
}

// growerPage is one person and their checks.
type growerPage struct {
	Name, Number string
	Named        bool
	Movable      bool   // a code for a new number can be made
	Path         string // of the page
	Code         string // shown once, right after it was made
	Facts        paper.Facts
	History      paper.Table
	Lots         string         // all of their checks
	Meters       []paper.Option // that they can be given; nil for who cannot be changed
}

func (d *peopleDesk) grower(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	return d.aboutPerson(w, r, v, "")
}

// codeFor is how long a code for a new number is good. Source: assumed, [ASSUMED-DESK].
const codeFor = 72 * time.Hour

// moveCode makes a code that moves a person's record to the phone that sends
// the code, and shows it once. By phone alone, nobody with more rights than a
// grower can be moved.
func (d *peopleDesk) moveCode(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	id := session.PersonID(mux.Vars(r)["id"])
	var random [8]byte
	if _, err := io.ReadFull(d.entropy, random[:]); err != nil {
		return fmt.Errorf("desk: no random bits: %w", err)
	}
	code, now := session.NewInviteCode(binary.BigEndian.Uint64(random[:])), d.now()
	if err := changePerson(r, d.records, v, id, func(p session.Person) session.Writes {
		return session.Writes{
			Accounts: []session.Account{access.CodeOf(v, code, now, now.Add(codeFor))},
			Invites:  []session.Invite{{Code: code, Role: p.Role, District: p.District, Person: p.ID, Expires: now.Add(codeFor)}},
			Notes:    []session.AuditNote{d.guard.Note(v, "made a code for a new number", string(p.ID))},
		}
	}); err != nil {
		return err
	}
	return d.aboutPerson(w, r, v, code)
}

// changePerson changes somebody whom the visitor may move.
func changePerson(r *http.Request, records Records, v *access.Visitor, id session.PersonID, change func(session.Person) session.Writes) error {
	_, err := records.Exchange(r.Context(), session.Key{}, func(view session.View) (session.Writes, error) {
		p, err := view.Person(id)
		if err == nil && !movable(v, &p) {
			err = session.ErrNotFound
		}
		if err != nil {
			return session.Writes{}, err
		}
		return change(p), nil
	})
	return err
}

// movable reports whether a visitor may move a person to a new number.
func movable(v *access.Visitor, p *session.Person) bool {
	return v.Knows(p.District) && !p.Forgotten
}

// aboutPerson shows a person, with a code that was just made for them.
func (d *peopleDesk) aboutPerson(w http.ResponseWriter, r *http.Request, v *access.Visitor, code string) error {
	var p session.Person
	var checks []session.Check
	err := d.records.Read(r.Context(), func(view session.View) (err error) {
		if p, err = view.Person(session.PersonID(mux.Vars(r)["id"])); err != nil {
			return err
		}
		if p.Role == session.Grower {
			checks, err = view.ChecksOf(p.ID, perPage)
		} else {
			checks, err = view.ChecksBy(p.ID, perPage)
		}
		return err
	})
	if err != nil {
		return err
	}
	if !v.Sees(p.District) {
		return session.ErrNotFound
	}
	page := growerPage{Name: personName(v, &p), Named: v.Knows(p.District), History: d.history(v, checks, "")}
	page.Movable, page.Path, page.Code = movable(v, &p), "/desk/growers/"+string(p.ID), code
	by := "agent"
	if p.Role == session.Grower {
		by = "grower"
	}
	page.Lots = (&chosen{}).with("/desk/lots", by, string(p.ID))
	if page.Movable && p.Role != session.Buyer {
		if page.Meters, err = d.meterChoices(r, p.Kit.Meter); err != nil {
			return err
		}
	}
	add := page.Facts.Add
	add("Role", string(p.Role))
	add("Where", place(p.District, p.Village))
	if p.Agent != "" {
		add("Agent", d.nameOf(v, p.Agent))
	}
	add("Language", string(p.Language))
	if p.Kit.Meter != "" {
		add("Moisture meter", p.Kit.Meter)
	}
	switch {
	case p.Forgotten:
		add("Data", "name and number were removed at the person’s wish")
	case p.Consent.Given:
		add("Consent", "given "+d.day(p.Consent.At))
	default:
		add("Consent", "not given")
	}
	if !p.Stopped.IsZero() {
		add("Messages", "stopped "+d.day(p.Stopped))
	}
	if page.Named {
		page.Number = string(p.Phone)
		if err := d.seen(r.Context(), v, "name and number of a person", string(p.ID)); err != nil {
			return err
		}
	}
	return d.show(w, r, v, "grower", page.Name, page)
}
