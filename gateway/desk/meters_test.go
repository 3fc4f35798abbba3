package desk_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"threshline/gateway/desk"
	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

func meterForm(name, bias, doubt, on, until string) url.Values {
	return url.Values{"name": {name}, "bias": {bias}, "doubt": {doubt}, "checked_on": {on}, "good_until": {until}}
}

// A coordinator adds a meter, checks it again, gives it to an agent and retires
// it; each is stored and in the audit log.
func TestTheDeskKeepsMeters(t *testing.T) {
	told := 0
	h := newHouse(t, func(c *desk.Config) {
		c.Metered = func() { told++ }
		c.Programme.Meters = []programme.Meter{{Meter: grading.Meter{Name: "M2", Bias: 9000, Doubt: 1500, Checked: true}, CheckedOn: "2026-06-15", GoodUntil: "2026-10-31"}}
	})
	h.people()
	admin := h.administrator()
	all := h.member(admin, "of.all", session.DeskCoordinator)
	if a := all.post("/desk/meters", meterForm("M7", "-0.9", "", "2026-11-01", "2027-02-28")); a.Status != http.StatusSeeOther {
		t.Fatalf("add: status %d\n%s", a.Status, a.Body)
	}
	holds(t, all.get("/desk/meters").Body,
		`<th scope="row">M7</th><td class="n">-0.9</td><td class="n">0.15</td><td>1 Nov 2026</td><td>28 Feb 2027</td><td>good</td><td>nobody</td>`,
		`<th scope="row">M2</th><td class="n">&#43;0.9</td><td class="n">0.15</td><td>15 Jun 2026</td><td>31 Oct 2026</td><td>over since 31 Oct 2026`,
		"Check M7 again", "not Check M2 again", `name="bias" value=""`, `name="checked_on" value="2026-11-02"`)
	if a := all.post("/desk/growers/a-kisima/meter", url.Values{"meter": {"M7"}}); a.Status != http.StatusSeeOther {
		t.Fatalf("give: status %d\n%s", a.Status, a.Body)
	}
	holds(t, all.get("/desk/growers/a-kisima").Body, "<dt>Moisture meter</dt><dd>M7</dd>", `<option value="M7" selected>`, `<option value="M2">`)
	holds(t, all.get("/desk/meters").Body, `<a href="/desk/growers/a-kisima">`+kisimaAgent+`</a>`)
	if a := all.post("/desk/meters", meterForm("m7", "+0.4", "0.2", "2026-11-02", "")); a.Status != http.StatusSeeOther {
		t.Fatalf("check again: status %d\n%s", a.Status, a.Body)
	}
	a, err := h.store.Account(t.Context(), "meter/m7")
	if err != nil {
		t.Fatal(err)
	}
	if m, ok := programme.KeptMeter(&a); !ok || m.Bias != 4000 || m.Doubt != 2000 || !m.Checked || m.CheckedOn != "2026-11-02" || m.GoodUntil != "" {
		t.Errorf("it is kept as %+v", m)
	}
	if a := all.post("/desk/meters/retire", url.Values{"name": {"m7"}}); a.Status != http.StatusSeeOther {
		t.Fatalf("retire: status %d\n%s", a.Status, a.Body)
	}
	holds(t, all.get("/desk/meters").Body, `<caption class="unseen">Retired</caption>`, `<th scope="row">m7</th><td class="n">&#43;0.4</td>`, "not Check m7 again")
	if a := all.post("/desk/meters/retire", url.Values{"name": {"m7"}}); a.Status != http.StatusNotFound {
		t.Errorf("retired twice: status %d", a.Status)
	}
	if a := all.post("/desk/meters", meterForm("M7", "0.1", "", "2026-11-02", "")); a.Status != http.StatusSeeOther {
		t.Errorf("back in use: status %d", a.Status)
	}
	if told != 4 {
		t.Errorf("the gateway was told %d times, want 4", told)
	}
	notes := strings.Join(h.notes(), "\n")
	for _, want := range []string{
		"coordinator of.all: added a meter: M7: bias -0.9, doubt 0.15, checked 2026-11-01, good until 2027-02-28",
		"coordinator of.all: checked a meter again: m7: bias +0.4, doubt 0.2, checked 2026-11-02, good until further notice",
		"coordinator of.all: retired a meter: m7", "coordinator of.all: said which meter somebody has: a-kisima: M7",
	} {
		if !strings.Contains(notes, want) {
			t.Errorf("the log lacks %q:\n%s", want, notes)
		}
	}
}

func TestOnlyWhoMayKeepsMeters(t *testing.T) {
	h := newHouse(t, func(c *desk.Config) {
		c.Programme.Meters = []programme.Meter{{Meter: grading.Meter{Name: "M2", Checked: true}}}
	})
	h.people()
	admin := h.administrator()
	kisima, viewer := h.member(admin, "of.kisima", session.DeskCoordinator, "Kisima"), h.member(admin, "looks.on", session.DeskViewer)
	form := meterForm("M7", "0.4", "", "2026-11-01", "")
	for what, c := range map[string]struct {
		*caller
		path string
		form url.Values
		want int
	}{
		"a viewer adds one":                        {viewer, "/desk/meters", form, http.StatusForbidden},
		"nobody adds one":                          {h.caller(), "/desk/meters", form, http.StatusUnauthorized},
		"a coordinator of one district adds one":   {kisima, "/desk/meters", form, http.StatusUnprocessableEntity},
		"a coordinator of one district ends one":   {kisima, "/desk/meters/retire", url.Values{"name": {"M7"}}, http.StatusUnprocessableEntity},
		"a viewer gives one":                       {viewer, "/desk/growers/a-kisima/meter", url.Values{"meter": {"M2"}}, http.StatusForbidden},
		"to somebody of another district":          {kisima, "/desk/growers/a-upper/meter", url.Values{"meter": {"M2"}}, http.StatusNotFound},
		"one that nobody knows":                    {kisima, "/desk/growers/a-kisima/meter", url.Values{"meter": {"M9"}}, http.StatusBadRequest},
		"one of the configuration is changed":      {admin, "/desk/meters", meterForm("m2", "0.4", "", "2026-11-01", ""), http.StatusUnprocessableEntity},
		"one of the configuration is retired":      {admin, "/desk/meters/retire", url.Values{"name": {"M2"}}, http.StatusNotFound},
		"a name that no phone shows":               {admin, "/desk/meters", meterForm("Mètre", "0.4", "", "2026-11-01", ""), http.StatusUnprocessableEntity},
		"a name that is too long":                  {admin, "/desk/meters", meterForm("0123456789abc", "0.4", "", "2026-11-01", ""), http.StatusUnprocessableEntity},
		"a bias that is no number":                 {admin, "/desk/meters", meterForm("M7", "much", "", "2026-11-01", ""), http.StatusUnprocessableEntity},
		"a bias beyond all meters":                 {admin, "/desk/meters", meterForm("M7", "14.2", "", "2026-11-01", ""), http.StatusUnprocessableEntity},
		"a doubt beyond all checks":                {admin, "/desk/meters", meterForm("M7", "0.4", "3", "2026-11-01", ""), http.StatusUnprocessableEntity},
		"no day":                                   {admin, "/desk/meters", meterForm("M7", "0.4", "", "", ""), http.StatusUnprocessableEntity},
		"a day to come":                            {admin, "/desk/meters", meterForm("M7", "0.4", "", "2026-11-03", ""), http.StatusUnprocessableEntity},
		"good until before it was checked":         {admin, "/desk/meters", meterForm("M7", "0.4", "", "2026-11-01", "2026-10-01"), http.StatusUnprocessableEntity},
		"an account of somebody as if it were one": {admin, "/desk/meters/retire", url.Values{"name": {"../person/head.office"}}, http.StatusNotFound},
	} {
		if a := c.post(c.path, c.form); a.Status != c.want {
			t.Errorf("%s: status %d, want %d", what, a.Status, c.want)
		}
	}
	holds(t, admin.post("/desk/meters", meterForm("M7", "much", "0.2", "2026-11-01", "")).Body,
		`role="alert">The bias is a number of points`, `value="much"`, "<details open><summary>Add a meter")
	holds(t, viewer.get("/desk/meters").Body, "not Add a meter", "M2")
	if list, err := h.store.Accounts(t.Context(), "meter/", 1); err != nil || len(list) > 0 && list[0].Kind == session.DeskMeter {
		t.Errorf("something was kept all the same: %+v, %v", list, err)
	}
	// A meter lets nobody in, and is not ended as an account.
	if a := admin.post("/desk/meters", form); a.Status != http.StatusSeeOther {
		t.Fatal(a.Status)
	}
	if a := sign(h.caller(), "M7", ""); a.Status == http.StatusSeeOther {
		t.Error("a meter signs in")
	}
	for _, do := range []string{"end", "role", "password", "factor"} {
		if a := admin.post("/desk/people/change", url.Values{"id": {"meter/m7"}, "do": {do}, "role": {"viewer"}, "all": {"yes"}}); a.Status < 400 {
			t.Errorf("%s of a meter among the people: status %d", do, a.Status)
		}
	}
}
