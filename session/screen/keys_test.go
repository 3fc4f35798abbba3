package screen_test

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"threshline/session"
)

var lineKey = regexp.MustCompile(`(?m)^(\d{1,3})(?: [^%]|:)`)

// sameKeyTwice finds a key that begins two lines of a screen, "9 More" among them.
func sameKeyTwice(text string) (key string, twice bool) {
	seen := map[string]bool{}
	for _, m := range lineKey.FindAllStringSubmatch(text, -1) {
		if seen[m[1]] {
			return m[1], true
		}
		seen[m[1]] = true
	}
	return "", false
}

// A programme of many districts, and an agent with a grower of number 9 among many of
// one name: every line has a key of its own, on all pages together, and means what it
// says.
func TestNoScreenUsesAKeyTwice(t *testing.T) {
	for _, lang := range newWorld(t, "agmark-paddy").machine.Words.Languages() {
		w := newWorld(t, "agmark-paddy", session.Language(lang))
		var districts []string
		for i := range 14 {
			districts = append(districts, fmt.Sprintf("Upper Mbuyu number %c", 'A'+i))
		}
		w.machine.Programme.Districts = districts
		for want := range 14 {
			h := &handset{world: w, number: session.Phone(fmt.Sprintf("+336399851%02d", want))}
			if _, err := h.dial(); err != nil {
				t.Fatal(err)
			}
			must(t, h.key, "1")
			page := must(t, h.key, "Asha")
			keys, name := map[string]string{}, districts[want]
			for range 6 {
				for _, line := range strings.Split(page, "\n") {
					key, rest, _ := strings.Cut(line, " ")
					if was, there := keys[key]; there && strings.HasPrefix(rest, "Upper") && was != rest {
						t.Errorf("%s: key %s is %q and %q", lang, key, was, rest)
					}
					keys[key] = rest
				}
				if key, twice := sameKeyTwice(page); twice {
					t.Errorf("%s: key %s twice:\n%s", lang, key, page)
				}
				if strings.Contains(page, name) {
					break
				}
				page = must(t, h.key, "9")
			}
			for key, rest := range keys {
				if rest == name {
					must(t, h.key, key)
				}
			}
			if p, _ := w.store.PersonByPhone(h.number); p.District != name {
				t.Errorf("%s: %q was chosen, %q is kept", lang, name, p.District)
			}
		}
	}
}

func TestAGrowerOfNumberNineIsPickedWhereTheListHasPages(t *testing.T) {
	w := newWorld(t, "agmark-paddy", "en")
	h := known(w, walker, session.Agent)
	agent, _ := w.store.PersonByPhone(walker)
	for n := 1; n <= 14; n++ {
		id := session.PersonID(fmt.Sprintf("g%02d", n))
		w.store.people[id] = session.Person{ID: id, Role: session.Grower, Name: fmt.Sprintf("Bahati Wanging'ombe %c", 'A'+n), Village: "Kisima", Short: n, Agent: agent.ID}
	}
	if _, err := h.dial(); err != nil {
		t.Fatal(err)
	}
	must(t, h.key, "6")
	page := must(t, h.key, "Bahati")
	for range 8 {
		if key, twice := sameKeyTwice(page); twice || strings.Contains(page, "9 More") {
			t.Fatalf("key %s is a grower and the next page:\n%s", key, page)
		}
		if strings.Contains(page, "9 Bahati") {
			break
		}
		page = must(t, h.key, "101")
	}
	if page = must(t, h.key, "9"); !strings.HasPrefix(page, "9 Bahati Wanging'ombe J") {
		t.Errorf("9 leads to\n%s", page)
	}
}
