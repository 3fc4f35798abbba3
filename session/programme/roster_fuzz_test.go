package programme_test

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"threshline/session"
	"threshline/session/programme"
)

var wholeNumber = regexp.MustCompile(`^\+[1-9][0-9]{7,14}$`)

// valleyRules are the rules of an invented programme.
func valleyRules() programme.RosterRules {
	return programme.RosterRules{
		Languages: []session.Language{"en", "sw"}, Districts: []string{"Upper Mbuyu", "Lower Mbuyu", "Kisima", "Korongo"},
		Number: func(raw string) (session.Phone, error) {
			if !wholeNumber.MatchString(raw) {
				return "", errors.New("no number")
			}
			return session.Phone(raw), nil
		},
	}
}

// FuzzRoster reads any bytes as a roster. What is refused is refused line by
// line, in one short message for each fault; what is taken keeps the rules, and
// reads the same after it was written.
func FuzzRoster(f *testing.F) {
	files, err := filepath.Glob("../../testdata/session/roster/*.csv")
	if err != nil || len(files) == 0 {
		f.Fatalf("found no roster: %v", err)
	}
	for _, name := range files {
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	for _, seed := range []string{"", "role,name", "role,name\n\"", "role,name\ngrower", "role,name,agent\ngrower,\x00\xff,+33639981111\n", "name,role,number\n''=1,buyer,+33639981111\n"} {
		f.Add([]byte(seed))
	}
	rules := valleyRules()
	f.Fuzz(func(t *testing.T, data []byte) {
		rows, err := programme.ReadRoster(bytes.NewReader(data), rules)
		if err != nil {
			refusedByLine(t, err)
			return
		}
		if len(rows) == 0 {
			t.Fatal("nobody is in it, and nothing is wrong with it")
		}
		keepsRules(t, &rules, rows)
		var out bytes.Buffer
		if err := programme.WriteRoster(&out, peopleOf(rows)); err != nil {
			t.Fatal(err)
		}
		again, err := programme.ReadRoster(bytes.NewReader(out.Bytes()), rules)
		if err != nil {
			t.Fatalf("what was written does not read: %v\n%q", err, out.Bytes())
		}
		for _, list := range [][]programme.RosterRow{rows, again} {
			for i := range list {
				list[i].Line = 0
			}
		}
		if !slices.Equal(rows, again) {
			t.Fatalf("%+v reads back as %+v", rows, again)
		}
	})
}

// refusedByLine wants every fault to name its line.
func refusedByLine(t *testing.T, err error) {
	t.Helper()
	all := []error{err}
	if many, ok := err.(interface{ Unwrap() []error }); ok {
		all = many.Unwrap()
	}
	for _, one := range all {
		var fault programme.RosterFault
		if !errors.As(one, &fault) || fault.Line < 1 || fault.Problem == "" {
			t.Fatalf("refused without a line: %q", one)
		}
	}
}

// keepsRules wants each row as the rules have it, and no number twice.
func keepsRules(t *testing.T, rules *programme.RosterRules, rows []programme.RosterRow) {
	t.Helper()
	seen := map[string]bool{}
	for _, r := range rows {
		once := func(key string) {
			if seen[key] {
				t.Fatalf("line %d: %q stands twice", r.Line, key)
			}
			seen[key] = true
		}
		if r.Phone != "" {
			once(string(r.Phone))
		}
		if r.Short > 0 {
			once(fmt.Sprint(r.Agent, "/", r.Short))
		}
		switch {
		case r.Line < 2, r.Name == "", strings.TrimSpace(r.Name) != r.Name,
			r.Role != session.Grower && r.Role != session.Agent && r.Role != session.Buyer && r.Role != session.Coordinator,
			r.Phone == "" && (r.Role != session.Grower || r.Agent == ""),
			r.Agent != "" && r.Role != session.Grower,
			r.Short < 0 || r.Short > programme.MostShort || r.Short > 0 && r.Agent == "",
			r.District != "" && !slices.Contains(rules.Districts, r.District),
			r.Language != "" && !slices.Contains(rules.Languages, r.Language):
			t.Fatalf("taken against the rules: %+v", r)
		}
	}
}

// peopleOf are the people of a roster, and the agents that it only names: those
// are forgotten, so that they are not written.
func peopleOf(rows []programme.RosterRow) (people []session.Person) {
	id := func(p session.Phone) session.PersonID {
		if p == "" {
			return ""
		}
		return session.PersonID("of " + p)
	}
	known := map[session.Phone]bool{}
	for i, r := range rows {
		p := session.Person{
			ID: id(r.Phone), Role: r.Role, Phone: r.Phone, Name: r.Name, District: r.District, Village: r.Village,
			Language: r.Language, Agent: id(r.Agent), Short: r.Short,
		}
		if p.ID == "" {
			p.ID = session.PersonID(fmt.Sprint("row ", i))
		}
		known[r.Phone] = true
		people = append(people, p)
	}
	for _, r := range rows {
		if r.Agent != "" && !known[r.Agent] {
			known[r.Agent] = true
			people = append(people, session.Person{ID: id(r.Agent), Role: session.Agent, Phone: r.Agent, Forgotten: true})
		}
	}
	return people
}
