package desk_test

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"threshline/gateway/desk"
	"threshline/gateway/desk/access"
	"threshline/gateway/desk/reckon"
	"threshline/grading"
	"threshline/grading/standard/standardtest"
	"threshline/session"
	"threshline/session/ledger"
	"threshline/session/programme"
	"threshline/session/store/mem"
)

// begin is when every test begins. Nothing here reads a clock.
var begin = time.Date(2026, 11, 2, 7, 30, 0, 0, time.UTC)

var districts = []string{"Upper Mbuyu", "Kisima"}

// house is a desk over a store in memory, and its clock.
type house struct {
	t         testing.TB
	store     *mem.Store
	ledger    *ledger.Ledger
	programme *programme.Programme
	desk      *desk.Desk

	mu      sync.Mutex
	now     time.Time
	address string
	handset handset
}

// handset answers with what it was sent.
type handset struct{ keyed []string }

func (h *handset) Key(_ context.Context, whose string, kind session.Kind, event session.Event, text string) (session.Reply, error) {
	h.keyed = append(h.keyed, strings.Join([]string{whose, string(kind), string(event), text}, "|"))
	return session.Reply{Text: "You typed <" + text + ">", More: true}, nil
}

func newHouse(t testing.TB, change ...func(*desk.Config)) *house {
	t.Helper()
	s, err := standardtest.ByID("mbuyu-hand")
	if err != nil {
		t.Fatal(err)
	}
	h := &house{t: t, store: mem.New(mem.Options{}), now: begin, address: "192.0.2.1"}
	h.programme = &programme.Programme{
		Name: "Mbuyu Valley rice scheme", Region: "FR", Languages: []session.Language{"en", "sw"}, Currency: "MVS", Zone: time.UTC,
		BagKG: grading.NewDecimal(75), Standard: s, OneMeter: grading.Meter{Checked: true}, Districts: districts, ConsentVersion: 1, CorrectFor: 48 * time.Hour,
	}
	h.programme.Advice.Prices = map[grading.GradeLabel]grading.Decimal{
		"Grade 1": grading.NewDecimal(58), "Grade 2": grading.NewDecimal(52), "Grade 3": grading.NewDecimal(45),
	}
	h.programme.Advice.OutPrice = grading.NewDecimal(34)
	h.ledger = ledger.New(ledger.Settings{Zone: time.UTC, Standards: []*grading.Standard{s}, Advice: h.programme.Advice, Dangers: h.programme.Dangers, Workers: 2})
	cfg := desk.Config{
		Programme: h.programme, Records: h.store, Accounts: h.store, Shelf: h.store, Backup: h.store, Ledger: h.ledger, Handset: &h.handset,
		Channels: []desk.ChannelFacts{{Name: "valley-sms", Kind: session.SMS, Budget: 160, Sends: true, PerSegment: 0.9, DailyLimit: 100, Guards: "a token"}},
		Now:      h.clock, Log: zerolog.Nop(), Cost: access.Cost{Passes: 1, Memory: 8, Threads: 1},
		Address: func(*http.Request) netip.Addr { return netip.MustParseAddr(h.address) },
		Fresh:   h.catchUp, OneFactor: true,
		Pace: reckon.Pace{Enough: func() <-chan time.Time { return nil }}, // as long as it takes
	}
	for _, f := range change {
		f(&cfg)
	}
	if h.desk, err = desk.New(cfg); err != nil {
		t.Fatal(err)
	}
	return h
}

func (h *house) clock() time.Time {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.now
}

func (h *house) later(d time.Duration) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.now = h.now.Add(d)
}

func (h *house) catchUp(ctx context.Context) error {
	people, err := h.store.People(ctx, "", 10_000)
	if err != nil {
		return err
	}
	h.ledger.People(people...)
	checks, err := h.store.Filed(ctx, h.ledger.View().Position(), 10_000)
	h.ledger.Apply(checks...)
	return err
}

func (h *house) put(w session.Writes) {
	h.t.Helper()
	if _, err := h.store.Exchange(h.t.Context(), session.Key{}, func(session.View) (session.Writes, error) { return w, nil }); err != nil {
		h.t.Fatal(err)
	}
}

// The people of the tests: an agent and a grower in each district.
const (
	upperGrower, upperNumber   = "Amina Juu", "+33639984101"
	kisimaGrower, kisimaNumber = "Musa Kisimani", "+33639984202"
	upperAgent, upperAgentNo   = "Asha Mbeyu", "+33639984103"
	kisimaAgent, kisimaAgentNo = "Baraka Mwamba", "+33639984204"
)

// secrets are what nobody may see who has no right to: numbers without their
// plus, which a page writes in another way.
var secrets = []string{upperGrower, upperNumber[1:], kisimaGrower, kisimaNumber[1:], upperAgent, upperAgentNo[1:], kisimaAgent, kisimaAgentNo[1:]}

func (h *house) people() {
	h.t.Helper()
	agreed := session.Consent{Version: 1, Given: true, At: begin}
	person := func(id session.PersonID, role session.Role, name, number, district string, agent session.PersonID, short int) session.Person {
		return session.Person{ID: id, Role: role, Name: name, Phone: session.Phone(number), District: district, Village: "Weir", Language: "sw", Agent: agent, Short: short, Consent: agreed, Joined: begin}
	}
	h.put(session.Writes{People: []session.Person{
		person("a-upper", session.Agent, upperAgent, upperAgentNo, "Upper Mbuyu", "", 0),
		person("a-kisima", session.Agent, kisimaAgent, kisimaAgentNo, "Kisima", "", 0),
		person("g-upper", session.Grower, upperGrower, upperNumber, "Upper Mbuyu", "a-upper", 1),
		person("g-kisima", session.Grower, kisimaGrower, kisimaNumber, "Kisima", "a-kisima", 1),
	}})
}

// reading makes the readings of a lot: moisture in tenths of a percent,
// chaff in hundredths of a gram in 20 g, red grains in 100.
func reading(moisture, chaff, red int64) grading.Readings {
	var r grading.Readings
	for i := range int64(3) {
		r.Repeats = append(r.Repeats, grading.Decimal((moisture+i-1)*1000))
		r.Meter = grading.Meter{Checked: true}
	}
	for f, d := range map[grading.Field]grading.Decimal{
		grading.SampleWeight: grading.NewDecimal(20), grading.Chaff: grading.Decimal(chaff * 100), grading.Stones: 0,
		grading.CleanWeight: grading.NewDecimal(20) - grading.Decimal(chaff*100), grading.BrownWeight: 155000, grading.ImmatureWeight: 1500,
		grading.Counted: grading.NewDecimal(100), grading.PestDamaged: 0, grading.Discoloured: grading.NewDecimal(1),
		grading.Red: grading.NewDecimal(int(red)), grading.OtherVariety: 0,
	} {
		r.Set(f, d)
	}
	return r
}

// check makes the i-th check of a lot.
func (h *house) check(i int, where string, r grading.Readings) session.Check {
	h.t.Helper()
	c := session.Check{
		Procedure: session.Procedure,
		Slip:      session.NewSlip(uint64(i)*7919 + 11), State: session.Filed, Readings: r, Channel: "valley-sms", Language: "sw",
		Started: begin.Add(time.Duration(i) * time.Hour), At: begin.Add(time.Duration(i)*time.Hour + 12*time.Minute),
		Paces: map[grading.Field]int{grading.Moisture: 60, grading.Chaff: 300, grading.Counted: 600},
		Lot:   session.Lot{Grower: "g-upper", Variety: "Kijani", District: "Upper Mbuyu", Village: "Weir", Bags: 8, BagKG: h.programme.BagKG, KG: 8 * h.programme.BagKG},
		Agent: "a-upper", Reporter: "a-upper",
	}
	if where == "Kisima" {
		c.Lot.Grower, c.Lot.District, c.Agent, c.Reporter = "g-kisima", "Kisima", "a-kisima", "a-kisima"
	}
	judged, err := h.programme.Judge(c.Lot, r, session.Kit{}, c.At, nil)
	if err != nil {
		h.t.Fatal(err)
	}
	judged.Record(&c, h.programme.Standard)
	return c
}

// season files n checks in both districts.
func (h *house) season(n int) []session.Check {
	h.t.Helper()
	h.people()
	var checks []session.Check
	for i := range n {
		checks = append(checks, h.check(i, districts[i%2], reading(130+int64(i*7%30), int64(10+i*13%70), int64(i*3%9))))
	}
	h.put(session.Writes{Checks: checks})
	return checks
}

// caller is a browser without a face.
type caller struct {
	h       *house
	cookies map[string]string
	header  http.Header
}

func (h *house) caller() *caller {
	return &caller{h: h, cookies: map[string]string{}, header: http.Header{}}
}

// answer is what came back.
type answer struct {
	Status int
	Header http.Header
	Body   string
	raw    []*http.Cookie
}

func (c *caller) ask(method, path, kind string, body io.Reader) answer {
	c.h.t.Helper()
	r := httptest.NewRequestWithContext(c.h.t.Context(), method, path, body)
	if kind != "" {
		r.Header.Set("Content-Type", kind)
	}
	for name, values := range c.header {
		r.Header[name] = values
	}
	for name, value := range c.cookies {
		r.AddCookie(&http.Cookie{Name: name, Value: value})
	}
	w := httptest.NewRecorder()
	c.h.desk.ServeHTTP(w, r)
	a := answer{Status: w.Code, Header: w.Header(), Body: w.Body.String(), raw: w.Result().Cookies()}
	for _, k := range a.raw {
		if k.MaxAge < 0 {
			delete(c.cookies, k.Name)
		} else {
			c.cookies[k.Name] = k.Value
		}
	}
	return a
}

func (c *caller) get(path string) answer { c.h.t.Helper(); return c.ask("GET", path, "", nil) }

func (c *caller) post(path string, form url.Values) answer {
	c.h.t.Helper()
	return c.ask("POST", path, "application/x-www-form-urlencoded", strings.NewReader(form.Encode()))
}

const password = "three dry grains"

// administrator signs the first one in.
func (h *house) administrator() *caller {
	h.t.Helper()
	path, err := h.desk.Guard().FirstLink(h.t.Context())
	if err != nil || path == "" {
		h.t.Fatalf("first link: %q, %v", path, err)
	}
	c := h.caller()
	if a := c.post(path, url.Values{"name": {"head.office"}, "password": {password}, "again": {password}}); a.Status != http.StatusSeeOther {
		h.t.Fatalf("use of the first link: %d\n%s", a.Status, a.Body)
	}
	return c
}

// member signs somebody new in, let in by an administrator.
func (h *house) member(admin *caller, name string, role session.DeskRole, districts ...string) *caller {
	h.t.Helper()
	a := admin.post("/desk/people/invite", within(url.Values{"role": {string(role)}}, districts))
	_, link, found := strings.Cut(a.Body, "http://example.com/desk/link/")
	if a.Status != http.StatusOK || !found {
		h.t.Fatalf("invite: %d\n%s", a.Status, a.Body)
	}
	link, _, _ = strings.Cut(link, "<")
	c := h.caller()
	if a := c.post("/desk/link/"+link, url.Values{"name": {name}, "password": {password}, "again": {password}}); a.Status != http.StatusSeeOther {
		h.t.Fatalf("use of a link: %d\n%s", a.Status, a.Body)
	}
	return c
}

// notes lists the audit log, newest first, one line each.
func (h *house) notes() (lines []string) {
	h.t.Helper()
	notes, _, err := h.store.Notes(h.t.Context(), 0, 1000)
	if err != nil {
		h.t.Fatal(err)
	}
	for _, n := range notes {
		lines = append(lines, fmt.Sprintf("%s: %s: %s", n.Who, n.Did, n.Subject))
	}
	return lines
}

// pages are the addresses of every page that a viewer may open.
var pages = []string{
	"/desk/", "/desk/grades", "/desk/limits", "/desk/what-if", "/desk/districts", "/desk/lots", "/desk/growers", "/desk/growers?role=agent",
	"/desk/findings", "/desk/visits", "/desk/hands", "/desk/meters", "/desk/messages", "/desk/export", "/desk/handset", "/desk/settings", "/desk/report",
}

// within adds the districts to a form, or that it is all of them.
func within(form url.Values, districts []string) url.Values {
	if form["district"] = districts; len(districts) == 0 {
		form.Set("all", "yes")
	}
	return form
}
