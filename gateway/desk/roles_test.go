package desk_test

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"

	"threshline/session"
)

// secretIn finds personal data in a page.
func secretIn(body string, of []string) string {
	for _, s := range of {
		if strings.Contains(body, s) {
			return s
		}
	}
	return ""
}

func (h *house) messages() {
	h.put(session.Writes{Outgoing: []session.Outgoing{
		{ID: "m1", To: kisimaNumber, Text: "Dear " + kisimaGrower + ", dry it.", Created: begin, State: session.Delivered, Channel: "valley-sms", Segments: 1},
		{ID: "m2", To: upperNumber, Text: "Dear " + upperGrower + ", winnow it.", Created: begin, State: session.Queued, Channel: "valley-sms", Segments: 2},
		{ID: "m3", To: "+33639984999", Text: "To a stranger.", Created: begin, State: session.Failed, Channel: "valley-sms", Segments: 1},
	}})
}

func TestAViewerSeesNobodysNameOrNumberAnywhere(t *testing.T) {
	h := newHouse(t)
	checks := h.season(24)
	h.messages()
	viewer := h.member(h.administrator(), "looks.on", session.DeskViewer)
	before := len(h.notes())
	looked := 0
	for _, path := range append([]string{
		"/desk/lots/" + string(checks[0].Slip), "/desk/lots/" + string(checks[1].Slip), "/desk/growers/g-upper", "/desk/growers/a-kisima",
		"/desk/growers?find=" + url.QueryEscape(upperGrower), "/desk/lots?grower=g-upper", "/desk/lots?agent=a-kisima", "/desk/grades?agent=a-kisima",
		"/desk/export/file?format=csv", "/desk/export/file?format=jsonl",
	}, pages...) {
		a := viewer.get(path)
		if a.Status != http.StatusOK {
			t.Errorf("%s: status %d", path, a.Status)
			continue
		}
		looked++
		body := a.Body
		if path == "/desk/growers?find="+url.QueryEscape(upperGrower) {
			body = strings.ReplaceAll(body, "find=", "")
		}
		if s := secretIn(body, append(secrets, "To a stranger", "4999")); s != "" {
			t.Errorf("%s shows %q", path, s)
		}
	}
	if looked < 20 {
		t.Fatalf("only %d pages were looked at", looked)
	}
	for _, path := range []string{"/desk/people", "/desk/audit"} {
		if a := viewer.get(path); a.Status != http.StatusForbidden {
			t.Errorf("%s: status %d, want 403", path, a.Status)
		}
	}
	for _, format := range []string{"csv", "jsonl", "xlsx"} {
		if a := viewer.get("/desk/export/file?identified=yes&format=" + format); a.Status != http.StatusBadRequest || secretIn(a.Body, secrets) != "" {
			t.Errorf("identified %s: status %d, want 400", format, a.Status)
		}
	}
	for _, note := range h.notes()[:len(h.notes())-before] {
		if strings.Contains(note, "read ") {
			t.Errorf("a viewer is said to have read personal data: %s", note)
		}
	}
}

func TestACoordinatorSeesTheirOwnDistrictsOnly(t *testing.T) {
	h := newHouse(t)
	checks := h.season(24)
	h.messages()
	c := h.member(h.administrator(), "kisima.one", session.DeskCoordinator, "Kisima")
	others := []string{upperGrower, upperNumber[1:], upperAgent, upperAgentNo[1:], "g-upper", "a-upper"}
	for _, path := range append([]string{"/desk/export/file?format=csv&identified=yes", "/desk/export/file?format=jsonl&identified=yes",
		"/desk/lots?district=Upper+Mbuyu", "/desk/grades?district=Upper+Mbuyu", "/desk/export/file?format=csv&district=Upper+Mbuyu"}, pages...) {
		a := c.get(path)
		if a.Status != http.StatusOK {
			t.Errorf("%s: status %d", path, a.Status)
		}
		if s := secretIn(a.Body, others); s != "" {
			t.Errorf("%s shows %q of another district", path, s)
		}
	}
	for _, path := range []string{"/desk/lots/" + string(checks[0].Slip), "/desk/growers/g-upper", "/desk/growers/a-upper"} {
		if a := c.get(path); a.Status != http.StatusNotFound {
			t.Errorf("%s of another district: status %d, want 404", path, a.Status)
		}
	}
	if a := c.get("/desk/lots/" + string(checks[1].Slip)); !strings.Contains(a.Body, kisimaGrower) || !strings.Contains(a.Body, kisimaAgent) {
		t.Errorf("their own lot does not name its people: %d", a.Status)
	}
	if a := c.get("/desk/growers/g-kisima"); !strings.Contains(a.Body, kisimaNumber[1:]) {
		t.Error("their own grower's page has no number")
	}
	if a := c.get("/desk/messages"); !strings.Contains(a.Body, kisimaGrower+", dry it") || strings.Contains(a.Body, "To a stranger") || strings.Contains(a.Body, kisimaNumber[1:]) {
		t.Error("messages: want the texts to their own people only, and masked numbers")
	}
	if a := c.get("/desk/"); !strings.Contains(a.Body, "12\u202fchecks") {
		t.Error("the season counts checks of other districts")
	}
}

func TestReadingPersonalDataIsWrittenDown(t *testing.T) {
	h := newHouse(t)
	checks := h.season(10)
	admin := h.administrator()
	for path, want := range map[string]string{
		"/desk/lots/" + string(checks[0].Slip):         "administrator head.office: read a lot with its grower: " + string(checks[0].Slip),
		"/desk/growers/g-upper":                        "administrator head.office: read name and number of a person: g-upper",
		"/desk/growers":                                "administrator head.office: read a list of people: growers: ",
		"/desk/lots?district=Kisima":                   "administrator head.office: read the names in a list of lots: Checks: district Kisima",
		"/desk/districts":                              "administrator head.office: read the names of agents: All checks",
		"/desk/export/file?format=csv&identified=yes":  "administrator head.office: read names and numbers, exported as csv: All checks",
		"/desk/export/file?format=csv&district=Kisima": "administrator head.office: exported checks as csv: Checks: district Kisima",
	} {
		if a := admin.get(path); a.Status != http.StatusOK {
			t.Fatalf("%s: status %d", path, a.Status)
		}
		if notes := h.notes(); notes[0] != want {
			t.Errorf("%s is written down as %q, want %q", path, notes[0], want)
		}
	}
	for _, note := range h.notes() {
		if s := secretIn(note, secrets); s != "" {
			t.Errorf("the audit log itself holds %q: %s", s, note)
		}
	}
}

// TestNamesInAFilterAreWrittenDown: the list of agents above every page once for
// a sign-in, somebody by whom the page chooses each time; for a viewer, who sees
// codes, never.
func TestNamesInAFilterAreWrittenDown(t *testing.T) {
	h := newHouse(t)
	h.season(10)
	admin := h.administrator()
	viewer := h.member(admin, "looks.on", session.DeskViewer)
	notes := func(path string, c *caller) []string {
		before := len(h.notes())
		if a := c.get(path); a.Status != http.StatusOK {
			t.Fatalf("%s: status %d", path, a.Status)
		}
		after := h.notes()
		return after[:len(after)-before]
	}
	const list, one = "administrator head.office: read the names of agents to choose from: ", "administrator head.office: read the name of somebody in a filter: g-upper"
	for _, step := range []struct {
		path string
		by   *caller
		want []string
	}{
		{"/desk/", admin, []string{list}},
		{"/desk/limits", admin, nil},
		{"/desk/report?grower=g-upper", admin, []string{one}},
		{"/desk/grades?grower=g-upper", admin, []string{one}},
		{"/desk/?grower=nobody", admin, nil},
		{"/desk/?grower=g-upper", viewer, nil},
	} {
		if got := notes(step.path, step.by); !slices.Equal(got, step.want) {
			t.Errorf("%s is written down as %q, want %q", step.path, got, step.want)
		}
	}
}

func TestEveryChangeIsWrittenDown(t *testing.T) {
	h := newHouse(t)
	admin := h.administrator()
	h.member(admin, "field.one", session.DeskViewer, "Kisima")
	admin.post("/desk/people/change", url.Values{"id": {"person/field.one"}, "do": {"role"}, "role": {"coordinator"}, "district": {"Kisima"}})
	admin.post("/desk/people/token", url.Values{"name": {"nightly"}, "scope": {"export"}, "days": {"30"}, "all": {"yes"}})
	admin.post("/desk/people/change", url.Values{"id": {"person/field.one"}, "do": {"end"}})
	sign(h.caller(), "head.office", password)
	admin.post("/desk/sign-out", nil)
	notes := h.notes()
	for _, want := range []string{
		"administrator head.office: chose a password by a one-time link: person/head.office",
		"administrator head.office: made a one-time link for a viewer: Kisima",
		"viewer field.one: signed in by a one-time link: ",
		"administrator head.office: gave the role coordinator Kisima: person/field.one",
		"administrator head.office: ended a person: person/field.one",
		"administrator head.office: signed in: ",
		"administrator head.office: signed out: ",
	} {
		if !slices.Contains(notes, want) {
			t.Errorf("not written down: %q, in\n%s", want, strings.Join(notes, "\n"))
		}
	}
	if !slices.ContainsFunc(notes, func(n string) bool {
		return strings.HasPrefix(n, "administrator head.office: made a token for export: token/")
	}) {
		t.Errorf("the token is not written down:\n%s", strings.Join(notes, "\n"))
	}
	fresh := h.caller()
	sign(fresh, "head.office", password)
	if a := fresh.get("/desk/audit"); !strings.Contains(a.Body, "gave the role coordinator Kisima") {
		t.Error("the audit page does not show it")
	}
}

func TestARoleOutsideTheProgrammeIsRefused(t *testing.T) {
	h := newHouse(t)
	admin := h.administrator()
	for i, form := range []url.Values{{"role": {"owner"}}, {"role": {""}}, {"role": {"viewer"}, "district": {"Elsewhere"}}, {"role": {"administrator"}, "district": {"Kisima"}}, {"role": {"viewer"}}, {"role": {"viewer"}, "all": {"yes"}, "district": {"Kisima"}}} {
		if a := admin.post("/desk/people/invite", form); a.Status != http.StatusUnprocessableEntity {
			t.Errorf("%v: status %d, want 422", form, a.Status)
		}
		h.member(admin, "one"+strconv.Itoa(i)+".more", session.DeskViewer)
		form.Set("id", "person/one"+strconv.Itoa(i)+".more")
		form.Set("do", "role")
		if a := admin.post("/desk/people/change", form); a.Status != http.StatusUnprocessableEntity {
			t.Errorf("%v: status %d, want 422", form, a.Status)
		}
	}
}
