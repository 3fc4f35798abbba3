package desk

import (
	"context"
	"net/http"
	"strings"

	"threshline/session"
)

// growersPage lists people that agents look after, and others who talk to us.
type growersPage struct {
	Find      string
	Named     bool
	Growers   table
	More      string
	Role      session.Role
	Roles     []option
	District  string
	Districts []option
}

// growers lists people by the order of their records. Whoever sees no names
// cannot look for one either.
func (d *Desk) growers(w http.ResponseWriter, r *http.Request, v *visitor) error {
	q := r.URL.Query()
	page := growersPage{Named: v.may(session.DeskCoordinator), Role: session.Role(saidOf(q.Get("role"), string(session.Grower))), District: q.Get("district")}
	if page.Named {
		page.Find = strings.TrimSpace(q.Get("find"))
	}
	for _, role := range []session.Role{session.Grower, session.Agent, session.Buyer, session.Coordinator} {
		page.Roles = append(page.Roles, option{string(role), string(role), role == page.Role})
	}
	page.Districts = append(page.Districts, option{"", "Any", page.District == ""})
	for _, name := range d.cfg.Programme.Districts {
		if v.sees(name) {
			page.Districts = append(page.Districts, option{name, name, name == page.District})
		}
	}
	people, more, err := d.findPeople(r.Context(), v, &page, session.PersonID(q.Get("after")))
	if err != nil {
		return err
	}
	page.Growers = d.peopleTable(v, people, string(page.Role))
	if more {
		next := chosen{query: q}
		page.More = next.with(r.URL.Path, "after", string(people[len(people)-1].ID))
	}
	if page.Named && len(people) > 0 {
		if err := d.seen(r.Context(), v, "a list of people: "+string(page.Role)+"s", page.District); err != nil {
			return err
		}
	}
	d.show(w, r, http.StatusOK, v, "growers", "Growers and others", page)
	return nil
}

// findPeople reads people after one until a page is full.
func (d *Desk) findPeople(ctx context.Context, v *visitor, page *growersPage, after session.PersonID) (found []session.Person, more bool, err error) {
	find := strings.ToLower(page.Find)
	for {
		batch, err := d.cfg.Shelf.People(ctx, after, accountBatch)
		if err != nil {
			return nil, false, err
		}
		for _, p := range batch {
			if p.Role != page.Role || !v.sees(p.District) || page.District != "" && p.District != page.District {
				continue
			}
			if find != "" && !strings.Contains(strings.ToLower(p.Name+" "+p.Village+" "+string(p.ID)), find) && string(p.Phone) != find {
				continue
			}
			if len(found) == perPage {
				return found, true, nil
			}
			found = append(found, p)
		}
		if len(batch) < accountBatch {
			return found, false, nil
		}
		after = batch[len(batch)-1].ID
	}
}

func (d *Desk) peopleTable(v *visitor, people []session.Person, what string) table {
	t := table{Caption: "People whose role is " + what, Head: heads("Name", "District", "Village", "Agent", "Language", "Messages", "Since")}
	for i := range people {
		p := &people[i]
		messages := "wanted"
		switch {
		case p.Forgotten:
			messages = "forgotten at their wish"
		case !p.Stopped.IsZero():
			messages = "stopped " + p.Stopped.In(d.cfg.Programme.Zone).Format("2 Jan 2006")
		case p.Phone == "":
			messages = "no phone"
		}
		row := cells(d.personName(v, p), saidOf(p.District, "not said"), saidOf(p.Village, "not said"), d.nameOf(v, p.Agent),
			string(p.Language), messages, p.Joined.In(d.cfg.Programme.Zone).Format("2 Jan 2006"))
		row[0].Link = "/desk/growers/" + string(p.ID)
		t.Rows = append(t.Rows, row)
	}
	return t
}

// personName is nameOf for a person at hand.
func (d *Desk) personName(v *visitor, p *session.Person) string {
	if p.Name == "" || !v.knows(p.District) {
		return string(p.ID)
	}
	return p.Name
}

// growerPage is one person and their checks.
type growerPage struct {
	Name, Number string
	Named        bool
	Facts        []fact
	History      table
}

func (d *Desk) grower(w http.ResponseWriter, r *http.Request, v *visitor) error {
	var p session.Person
	var checks []session.Check
	err := d.cfg.Records.Read(r.Context(), func(view session.View) (err error) {
		if p, err = view.Person(session.PersonID(r.PathValue("id"))); err != nil {
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
	if !v.sees(p.District) {
		return session.ErrNotFound
	}
	page := growerPage{Name: d.personName(v, &p), Named: v.knows(p.District), History: d.history(v, checks, "")}
	add := func(term, text string) { page.Facts = append(page.Facts, fact{term, text}) }
	add("Role", string(p.Role))
	add("Where", place(p.District, p.Village))
	if p.Agent != "" {
		add("Agent", d.nameOf(v, p.Agent))
	}
	add("Language", string(p.Language))
	switch {
	case p.Forgotten:
		add("Data", "name and number were removed at the person’s wish")
	case p.Consent.Given:
		add("Consent", "given "+p.Consent.At.In(d.cfg.Programme.Zone).Format("2 Jan 2006"))
	default:
		add("Consent", "not given")
	}
	if !p.Stopped.IsZero() {
		add("Messages", "stopped "+p.Stopped.In(d.cfg.Programme.Zone).Format("2 Jan 2006"))
	}
	if page.Named {
		page.Number = string(p.Phone)
		if err := d.seen(r.Context(), v, "name and number of a person", string(p.ID)); err != nil {
			return err
		}
	}
	d.show(w, r, http.StatusOK, v, "grower", page.Name, page)
	return nil
}
