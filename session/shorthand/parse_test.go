package shorthand_test

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"github.com/cockroachdb/datadriven"

	"threshline/grading"
	"threshline/session/shorthand"
	"threshline/session/wording"
)

const tables = "../../testdata/shorthand"

func catalogue(t testing.TB) *wording.Catalogue {
	t.Helper()
	c, err := wording.Embedded()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// TestMessagesAsPeopleTypeThem reads testdata/shorthand/<language>.txt: what is
// typed, and what is read out of it.
func TestMessagesAsPeopleTypeThem(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(tables, "*.txt"))
	if err != nil || len(files) == 0 {
		t.Fatalf("found no table: %v", err)
	}
	cat, total := catalogue(t), 0
	for _, file := range files {
		lang := strings.TrimSuffix(filepath.Base(file), ".txt")
		reader := shorthand.NewReader(cat, lang)
		datadriven.RunTest(t, file, func(t *testing.T, d *datadriven.TestData) string {
			total++
			message, problems := reader.Parse(d.Input)
			return describe(message, problems)
		})
	}
	if total < 120 {
		t.Errorf("%d messages in the tables, want at least 120", total)
	}
}

func describe(m shorthand.Message, problems []shorthand.Problem) string {
	var out strings.Builder
	for _, l := range m.Lots {
		fmt.Fprintln(&out, describeLot(l))
	}
	for _, p := range problems {
		fmt.Fprintf(&out, "! %s", p.Trouble)
		if p.Key != "" {
			fmt.Fprintf(&out, " %s", p.Key)
		}
		if p.Typed != "" {
			fmt.Fprintf(&out, " %q", p.Typed)
		}
		if p.Max != 0 {
			fmt.Fprintf(&out, " (%s to %s)", p.Min, p.Max)
		}
		if p.Over != grading.NoField {
			fmt.Fprintf(&out, " over %s", p.Over)
		}
		if p.Lot > 0 {
			fmt.Fprintf(&out, " in lot %d", p.Lot+1)
		}
		if p.Example != "" {
			fmt.Fprintf(&out, ": %s", p.Example)
		}
		fmt.Fprintln(&out)
	}
	return out.String()
}

func describeLot(l shorthand.Lot) string {
	var out []string
	add := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if l.Grower.Short > 0 {
		add("grower=%d", l.Grower.Short)
	}
	if l.Grower.Name != "" {
		add("name=%q", l.Grower.Name)
	}
	for _, f := range grading.Fields() {
		if f == grading.Moisture && len(l.Readings.Repeats) > 0 {
			add("moisture=%v", l.Readings.Repeats)
		} else if d, ok := l.Readings.Get(f); ok {
			add("%s=%s", f, d)
		}
	}
	if h := l.Readings.Hand; h != (grading.Hand{}) {
		add("by_hand=[%s]", h)
	}
	if l.Bite > 0 {
		add("bite=%d", l.Bite)
	}
	if l.Salt > 0 {
		add("salt=%d", l.Salt)
	}
	for _, f := range l.Unable {
		add("%s=?", f)
	}
	if l.Bags > 0 {
		add("bags=%d", l.Bags)
	}
	if l.BagKG > 0 {
		add("bag_kg=%s", l.BagKG)
	}
	if l.KG > 0 {
		add("kg=%s", l.KG)
	}
	for _, f := range l.Readings.Flags {
		add("%s", f)
	}
	if l.Slip != "" {
		add("slip=%s", l.Slip)
	}
	return strings.Join(out, " ")
}
