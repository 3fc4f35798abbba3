package standard_test

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"threshline/grading"
	"threshline/grading/standard"
)

func loadFile(t testing.TB, name string) *grading.Standard {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(dataDir, name))
	if err != nil {
		t.Fatal(err)
	}
	s, err := standard.Load(name, b, func(id string) (*grading.Standard, error) {
		return loadFile(t, id+".toml"), nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestEndsOfABandAndOfTheLadder(t *testing.T) {
	s := loadFile(t, "every.toml")
	for _, row := range []struct {
		in     string
		id     grading.ParameterID
		grade  grading.GradeLabel
		limit  string
		next   string
		isMin  bool
		reason string
	}{
		{`{"moisture":11}`, "moisture", "1", "11", "", true, "a minimum belongs to the grade, and is the nearer end"},
		{`{"moisture":10.9}`, "moisture", "out", "11", "11", true, "under both minima"},
		{`{"moisture":13.9}`, "moisture", "1", "14", "", false, "the maximum is the nearer end"},
		{`{"moisture":14}`, "moisture", "2", "14", "14", false, "below is not up to"},
		{`{"moisture":14.1}`, "moisture", "out", "14", "14", false, "over both"},
		{`{"values":{"yield":70.1}}`, "yield", "2", "70", "80", true, "above 70"},
		{`{"values":{"yield":70}}`, "yield", "out", "70", "70", true, "above is not from"},
	} {
		res := gradeJSON(t, s, row.in)
		p := res.Parameter(row.id)
		if p.Grade != row.grade || text(p.Limit) != row.limit || text(p.Next) != row.next || p.LimitIsMin != row.isMin {
			t.Errorf("%s (%s): %q, limit %q, next %q, minimum %v", row.in, row.reason, p.Grade, text(p.Limit), text(p.Next), p.LimitIsMin)
		}
	}
}

func TestClassLimitsReplaceCommonOnes(t *testing.T) {
	s := loadFile(t, "every.toml")
	for _, row := range []struct {
		in, class string
		want      grading.GradeLabel
	}{
		{`{"values":{"bad":3}}`, "early", "1"},
		{`{"values":{"bad":3},"class":"late"}`, "late", "2"},
		{`{"values":{"bad":9}}`, "early", "out"},
		{`{"values":{"bad":9},"class":"late"}`, "late", "2"},
	} {
		if res := gradeJSON(t, s, row.in); res.Grade != row.want || res.Class != row.class {
			t.Errorf("%s: got %q in %q, want %q in %q", row.in, res.Grade, res.Class, row.want, row.class)
		}
	}
	if b, ok := s.Limit("late", 2, "bad"); ok {
		t.Errorf("a limit that was taken back is still %v", b)
	}
	if b, ok := s.Limit("late", 1, "bad"); !ok || *b.Max != 2*grading.One {
		t.Errorf("got %v", b)
	}
	if _, ok := s.Limit("late", 3, "bad"); ok {
		t.Error("a grade below the ladder has a limit")
	}
}

func TestAGateThatOnlyCapsTheGrade(t *testing.T) {
	s := loadFile(t, "every.toml")
	for _, row := range []struct {
		in       string
		grade    grading.GradeLabel
		deciding []grading.ParameterID
	}{
		{`{"counted":100,"red":4}`, "1", nil},
		{`{"counted":100,"red":5}`, "2", []grading.ParameterID{"red"}},
		{`{"counted":100,"red":5,"moisture":20}`, "out", []grading.ParameterID{"moisture"}},
		{`{"values":{"yield":50.1}}`, "out", []grading.ParameterID{"yield"}},
		{`{"values":{"yield":50}}`, "husks", []grading.ParameterID{"yield"}},
	} {
		res := gradeJSON(t, s, row.in)
		if res.Grade != row.grade || !slices.Equal(res.Deciding, row.deciding) {
			t.Errorf("%s: got %q by %q, want %q by %q", row.in, res.Grade, res.Deciding, row.grade, row.deciding)
		}
	}
	if s.Rank("husks") != 4 || s.Label(4) != "husks" || s.Rank("2") != 2 || s.Label(5) != grading.NotAccepted || s.Label(6) != grading.NoGrade || s.Label(7) != grading.WetLot || s.Label(8) != "" || s.Label(0) != "" || s.Rank("?") != 0 {
		t.Errorf("husks has rank %d, rank 4 is %q", s.Rank("husks"), s.Label(4))
	}
	if got := s.DefectOrder("early"); !slices.Equal(got, []grading.Field{grading.Discoloured, grading.PestDamaged, grading.Red}) {
		t.Errorf("defects in the order %v: the lowest limit first, a gate's too", got)
	}
}

func TestValuesOfEveryKindOfTerm(t *testing.T) {
	s := loadFile(t, "every.toml")
	res := gradeJSON(t, s, `{"sample_g":400,"clean_g":390,"brown_g":312,"immature_g":7.8,"counted":200,"pest_damaged":1,
		"discoloured":3,"red":5,"live_weevils":1,"live_others":0,"values":{"yield":79.5}}`)
	for id, want := range map[grading.ParameterID]string{
		"yield": "79.5 direct", "bad": "4.5 estimate", "yellow": "1.5 estimate", "red": "3", "insects": "3", "weevils": "1",
	} {
		p := res.Parameter(id)
		got := p.Shown.Fixed(p.Decimals)
		if p.Direct {
			got += " direct"
		}
		if p.Estimate {
			got += " estimate"
		}
		if !p.Measured || got != want {
			t.Errorf("%s is %q, want %q", id, got, want)
		}
	}
	if !slices.Equal(res.Remarks, []string{"lively"}) {
		t.Errorf("remarks %q", res.Remarks)
	}
}

// Immature by weight and damaged by count are shares of different wholes; where
// both are high they can add up to more than everything, which says "all".
func TestAnEstimateNeverExceedsEverything(t *testing.T) {
	res := gradeJSON(t, loadFile(t, "every.toml"), `{"brown_g":10,"immature_g":8,"counted":100,"pest_damaged":60,"discoloured":0}`)
	if p := res.Parameter("bad"); p.Value.Cmp(100*grading.One) != 0 {
		t.Errorf("80 %% and 60 %% make %s %%", p.Shown)
	}
}

func TestAnOfWhichOverItsWholeIsRefused(t *testing.T) {
	r := grading.Readings{Values: map[grading.ParameterID]grading.Decimal{"bad": 2 * grading.One, "yellow": 2*grading.One + 1}}
	var fault *grading.RangeError
	if _, err := grading.Grade(loadFile(t, "every.toml"), r); !errors.As(err, &fault) || fault.Name() != "values.yellow" ||
		fault.Error() != "grading: values.yellow is 2.0001, more than the 2 of bad" {
		t.Errorf("got %v", err)
	}
	r.Values["yellow"]--
	if _, err := grading.Grade(loadFile(t, "every.toml"), r); err != nil {
		t.Errorf("all of the bad are yellow: %v", err)
	}
}

func TestPartStepsAndTheCapOfACut(t *testing.T) {
	s := loadFile(t, "every.toml")
	for moisture, want := range map[string]string{"12": "0", "12.25": "-0.5", "13.2": "-2.4", "13.5": "-3", "13.9": "-3"} {
		res := gradeJSON(t, s, `{"moisture":`+moisture+`}`)
		a := grading.Adjustments(s, &res)
		if got := total(a, "price").Round(2).String(); got != want {
			t.Errorf("at %s %%: %s %%, want %s", moisture, got, want)
		}
		if capped := moisture == "13.9"; len(a) > 0 && a[0].Capped != capped {
			t.Errorf("at %s %%: capped %v", moisture, a[0].Capped)
		}
	}
}

func TestAChildChangesOnlyWhatItNames(t *testing.T) {
	parent := loadFile(t, "every.toml")
	before := loadFile(t, "every.toml")
	b, err := os.ReadFile(filepath.Join(dataDir, "every-child.toml"))
	if err != nil {
		t.Fatal(err)
	}
	child, err := standard.Load("every-child.toml", b, func(string) (*grading.Standard, error) { return parent, nil })
	if err != nil {
		t.Fatal(err)
	}
	// The parent may be in use by others: nothing of it may have moved.
	if got, want := gradeJSON(t, parent, `{"flags":["fishy"]}`), gradeJSON(t, before, `{"flags":["fishy"]}`); got.Grade != want.Grade {
		t.Errorf("the parent's gate changed: %q", got.Grade)
	}
	if p := parent.Parameter("red"); p.Label != "Red" || len(parent.Gates) != len(before.Gates) || len(parent.Prices) != 1 {
		t.Error("the parent changed")
	}
	if b, ok := parent.Limit("early", 1, "bad"); !ok || *b.Max != 4*grading.One {
		t.Error("the parent's limits changed")
	}
	if child.DefaultClass != "" || child.Parameter("red").Decimals != 1 || len(child.Gates) != len(parent.Gates)+1 ||
		len(child.Prices) != 1 || child.Prices[0].Parameter != "yield" {
		t.Errorf("the child is %+v", child)
	}
	res := gradeJSON(t, child, `{"class":"mid","flags":["fishy"],"values":{"bad":4.5,"yellow":4}}`)
	if res.Grade != "1" || !slices.Equal(res.Remarks, []string{"smell"}) {
		t.Errorf("got %q with %q", res.Grade, res.Remarks)
	}
	if _, err := grading.Grade(child, grading.Readings{}); !errors.Is(err, grading.ErrClass) {
		t.Errorf("new classes without a default: %v", err)
	}
}

// The upper end of the last band that still allows a grade is its limit.
func TestLimitsOfAMatrix(t *testing.T) {
	s := load(t, "inpres-3-2012")
	for _, row := range []struct {
		rank int
		id   grading.ParameterID
		want string
	}{
		{1, "moisture", "14"}, {2, "moisture", "25"}, {1, "empty_and_dirt", "3"}, {2, "empty_and_dirt", "10"},
	} {
		if b, ok := s.Limit("", row.rank, row.id); !ok || text(b.Max) != row.want || !s.IsAxis(row.id) {
			t.Errorf("rank %d %s: %s, want %s", row.rank, row.id, text(b.Max), row.want)
		}
	}
	if _, ok := load(t, "fci-storage").Limit("", 1, "live_insects"); ok {
		t.Error("what is no axis has a limit")
	}
}
