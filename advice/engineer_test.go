package advice_test

import (
	"fmt"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/cockroachdb/datadriven"

	"threshline/advice"
)

// TestTheLotsOfAnEngineerAreThere: those that were seen answered wrongly, and
// twenty more.
func TestTheLotsOfAnEngineerAreThere(t *testing.T) {
	file, err := os.ReadFile("../testdata/advice/engineer.txt")
	if err != nil {
		t.Fatal(err)
	}
	if lots := strings.Count(string(file), "\nengineer\n"); lots < 29 {
		t.Errorf("only %d lots", lots)
	}
}

// engineer holds the advice to a lot of which what to do was written down first,
// with why, by what is known of drying, cleaning and storing. A line "would" says
// what: the best remedy, a step of the set, a remedy that is named at all or is
// not, one for the next season; by when, days; how many hours of work in all at
// most; or that the grade after it is not sure, because something was not
// measured.
func engineer(t *testing.T, d *datadriven.TestData) string {
	var would [][]string
	var said []string
	for _, line := range strings.Split(d.Input, "\n") {
		if rest, ok := strings.CutPrefix(line, "would "); ok {
			would = append(would, strings.Fields(rest))
		} else {
			said = append(said, line)
		}
	}
	d.Input = strings.Join(said, "\n")
	c := facts(t, d)
	a := advice.Advise(c)
	var not []string
	for _, w := range would {
		if !does(&a, w) {
			not = append(not, "would "+strings.Join(w, " "))
		}
	}
	if len(not) == 0 && len(would) > 0 {
		return "as an engineer would\n"
	}
	return fmt.Sprintf("%s\nbut said:\n%s", strings.Join(not, "\n"), told(&c, &a))
}

// does reports whether the advice is what would be done.
func does(a *advice.Advice, would []string) bool {
	named := append(slices.Clone(a.Set), a.Meanwhile, a.Season)
	id := advice.RemedyID("")
	if len(would) > 1 {
		id = advice.RemedyID(would[1])
	}
	switch would[0] {
	case "best":
		return a.Best.Remedy == id
	case "do":
		return slices.Contains(a.Set, id)
	case "also":
		return slices.Contains(named, id)
	case "not":
		return !slices.Contains(named, id)
	case "season":
		return a.Season == id || a.Best.Remedy == id && a.Best.When == advice.NextSeason
	case "unsure":
		return a.Incomplete
	case "hours":
		most, err := strconv.ParseFloat(would[1], 64)
		return err == nil && a.SetHours <= most
	case "due":
		return strconv.Itoa(a.Best.DueDays) == would[1]
	}
	return false
}
