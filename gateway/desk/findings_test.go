package desk_test

import (
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"

	"threshline/grading"
	"threshline/session"
)

// accusing are words that a finding must not use of anybody.
var accusing = regexp.MustCompile(`(?i)\b(cheat|fraud|fake|false|lie[sd]?|lying|dishonest|invent(s|ed)?|guilty|suspect|copied|made up|wrongdoing|blame)\w*`)

func TestAFindingIsSaidInWordsAndFiguresAndAccusesNobody(t *testing.T) {
	h := newHouse(t)
	h.people()
	var checks []session.Check
	random := rand.New(rand.NewPCG(7, 11)) // fixed: the same lots on every run
	for i := range 240 {
		chaff := 10 + random.Int64N(80)
		if i%2 == 1 && random.IntN(4) > 0 { // one agent likes whole tenths of a gram
			chaff = chaff / 10 * 10
		}
		r := reading(130+random.Int64N(20), chaff, random.Int64N(5))
		d, _ := r.Get(grading.Chaff)
		r.Set(grading.CleanWeight, grading.NewDecimal(20)-d-grading.Decimal(random.Int64N(20)*100))
		r.Set(grading.BrownWeight, grading.Decimal((1480+random.Int64N(100))*100))
		r.Set(grading.ImmatureWeight, grading.Decimal((10+random.Int64N(20))*100))
		checks = append(checks, h.check(i, districts[i%2], r))
	}
	h.put(session.Writes{Checks: checks})
	admin := h.administrator()
	body := admin.get("/desk/findings").Body
	if !strings.Contains(body, kisimaAgent+"</a>: some last digits come up too often") || strings.Contains(body, upperAgent+"</a>") {
		t.Errorf("want a finding on the one agent and none on the other:\n%s", body)
	}
	for _, want := range []string{"Chaff, straw, weed seed, g: the last digit is 0 in 7", "chi-square", "May be in order", "Worth doing"} {
		if !strings.Contains(body, want) {
			t.Errorf("the page does not say %q:\n%s", want, body)
		}
	}
	if word := accusing.FindString(body); word != "" {
		t.Errorf("the page says %q of somebody", word)
	}
	viewer := h.member(admin, "looks.on", session.DeskViewer)
	if body := viewer.get("/desk/findings").Body; strings.Contains(body, kisimaAgent) || !strings.Contains(body, "a-kisima") {
		t.Error("a viewer sees the name, or not even the code")
	}
}

func TestAFilterByPersonNamesNobodyInTheLogOrInAFile(t *testing.T) {
	h := newHouse(t)
	h.season(6)
	admin := h.administrator()
	if body := admin.get("/desk/lots?agent=a-kisima").Body; !strings.Contains(body, "Checks: agent "+kisimaAgent) {
		t.Error("the page does not name the agent to whom who may see it")
	}
	for _, format := range []string{"csv", "jsonl"} {
		if body := admin.get("/desk/export/file?agent=a-kisima&format=" + format).Body; secretIn(body, secrets) != "" || !strings.Contains(body, "Checks: agent a-kisima") {
			t.Errorf("%s: the filter names the agent, or is not said", format)
		}
	}
	for _, note := range h.notes() {
		if s := secretIn(note, secrets); s != "" {
			t.Errorf("the audit log holds %q: %s", s, note)
		}
	}
}
