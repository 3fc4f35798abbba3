package standard_test

import (
	"errors"
	"fmt"
	"slices"
	"testing"

	"threshline/grading"
)

func TestNoBetterThan(t *testing.T) {
	for _, row := range []struct {
		name, id, in string
		grade        grading.GradeLabel
		missing      []grading.ParameterID
	}{
		{"nothing measured", "agmark-paddy", `{}`, "No grade",
			[]grading.ParameterID{"foreign_matter", "admixture", "damaged_immature_weevilled", "moisture"}},
		{"no pan: the immature alone do not make the sum", "agmark-paddy",
			`{"moisture":13,"sample_g":200,"chaff_g":3,"stones_g":0,"brown_g":150,"immature_g":1}`, "II",
			[]grading.ParameterID{"admixture", "damaged_immature_weevilled"}},
		{"chaff without stones is not foreign matter", "agmark-paddy",
			`{"moisture":13,"sample_g":200,"chaff_g":3,"values":{"admixture":1,"damaged_immature_weevilled":0}}`, "I",
			[]grading.ParameterID{"foreign_matter"}},
		{"out of grade needs nothing more", "agmark-paddy", `{"moisture":15}`, "out of grade", nil},
		{"what the class does not limit is not missing", "in-kms",
			`{"class":"common","values":{"chaff":1,"stones":1,"damaged_discoloured_sprouted_weevilled":1,"damaged_sprouted_weevilled":1,"immature_shrunken_shrivelled":1,"moisture":16}}`,
			"FAQ", nil},
		{"the other group has to know it", "in-kms",
			`{"class":"grade_a","values":{"chaff":1,"stones":1,"damaged_discoloured_sprouted_weevilled":1,"damaged_sprouted_weevilled":1,"immature_shrunken_shrivelled":1,"moisture":16}}`,
			"FAQ", []grading.ParameterID{"admixture_lower_class"}},
		{"one axis of a matrix", "inpres-3-2012", `{"moisture":[15]}`, "GKP", []grading.ParameterID{"empty_and_dirt"}},
		{"the leading parameter", "gb1350-japonica", `{"values":{"yellow":0,"husked_grains":0,"other_kinds":0,"head_rice":60}}`,
			"1", []grading.ParameterID{"immature", "bored_or_discoloured", "husked_yield"}},
		{"a yield without its imperfect grains is the best that it can be", "gb1350-japonica",
			`{"sample_g":200,"clean_g":190,"brown_g":146.3,"immature_g":10,"values":{"yellow":0,"husked_grains":0,"other_kinds":0,"head_rice":60,"moisture":14,"impurities":0}}`,
			"5", []grading.ParameterID{"bored_or_discoloured"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			res := gradeJSON(t, load(t, row.id), row.in)
			if res.Grade != row.grade || !slices.Equal(res.Missing, row.missing) || res.Complete != (len(row.missing) == 0) {
				t.Errorf("got %q, missing %q, complete %v", res.Grade, res.Missing, res.Complete)
			}
		})
	}
}

// A limit that only No. 1 has cannot make a lot of No. 2 any worse.
func TestAParameterThatCannotMatterIsNotMissing(t *testing.T) {
	in := `{"values":{"paddy_percent":1,"seeds_heat_damaged":20,"heat_damaged":1,"objectionable_seeds":2,"red_damaged":0.9,
		"chalky":1.8,"broken":0,"other_types":0,"well_milled":0,"moisture":12,"related_material":0,"unrelated_material":0}}`
	res := gradeJSON(t, load(t, "us-brown-rice"), in)
	if res.Grade != "U.S. No. 2" || !res.Complete {
		t.Errorf("got %q, missing %q", res.Grade, res.Missing)
	}
}

func TestLimitAndNextOfAParameter(t *testing.T) {
	for _, row := range []struct {
		id, in      string
		parameter   grading.ParameterID
		grade       grading.GradeLabel
		limit, next string
		isMin       bool
	}{
		{"agmark-paddy", `{"values":{"foreign_matter":0.5}}`, "foreign_matter", "I", "1", "", false},
		{"agmark-paddy", `{"values":{"foreign_matter":1.5}}`, "foreign_matter", "II", "2", "1", false},
		{"agmark-paddy", `{"values":{"foreign_matter":8}}`, "foreign_matter", "out of grade", "7", "7", false},
		{"gb1350-japonica", `{"values":{"husked_yield":78}}`, "husked_yield", "3", "77", "79", true},
		{"gb1350-japonica", `{"values":{"husked_yield":90}}`, "husked_yield", "1", "81", "", true},
		{"gb1350-japonica", `{"values":{"husked_yield":70}}`, "husked_yield", "out of grade", "73", "73", true},
		{"us-brown-rice", `{"values":{"paddy_count":24}}`, "paddy_count", "U.S. No. 2", "", "20", false},
		{"inpres-3-2012", `{"values":{"moisture":20}}`, "moisture", "GKP", "25", "14", false},
		{"inpres-3-2012", `{"values":{"moisture":30}}`, "moisture", "out of quality", "25", "25", false},
	} {
		res := gradeJSON(t, load(t, row.id), row.in)
		p := res.Parameter(row.parameter)
		if p.Grade != row.grade || text(p.Limit) != row.limit || text(p.Next) != row.next || p.LimitIsMin != row.isMin {
			t.Errorf("%s %s: grade %q, limit %q, next %q, minimum %v", row.id, row.in, p.Grade, text(p.Limit), text(p.Next), p.LimitIsMin)
		}
	}
}

func text(d *grading.Decimal) string {
	if d == nil {
		return ""
	}
	return d.String()
}

func TestGatesAndTheirOutcomes(t *testing.T) {
	demo := load(t, "mbuyu-hand")
	res := gradeJSON(t, demo, `{"flags":["warm","musty"],"live_weevils":2}`)
	if res.Grade != "Not accepted" || !res.OutOfGrade() || !slices.Equal(res.Gates, []string{"unsafe", "warm", "live_insects"}) {
		t.Errorf("got %q by %q, want the worst of three outcomes", res.Grade, res.Gates)
	}
	if mild := gradeJSON(t, demo, `{"flags":["warm"]}`); mild.Grade != "Below grade" || mild.Rank >= res.Rank {
		t.Errorf("got %q at rank %d, want one milder than %d", mild.Grade, mild.Rank, res.Rank)
	}
	wet := gradeJSON(t, load(t, "us-brown-rice"), `{"values":{"moisture":14.6}}`)
	if wet.Grade != "U.S. Sample grade" || !slices.Equal(wet.Deciding, []grading.ParameterID{"moisture"}) {
		t.Errorf("got %q by %q", wet.Grade, wet.Deciding)
	}
}

func TestRefusedInputs(t *testing.T) {
	for _, row := range []struct {
		id, in string
		want   error
	}{
		{"eu-1272-2009", `{"class":"long"}`, grading.ErrClass},
		{"agmark-paddy", `{"values":{"admixtur":1}}`, grading.ErrParameter},
		{"us-rough-rice", `{"values":{"colour":1}}`, grading.ErrParameter},
		{"us-rough-rice", `{"words":{"chalky":"little"}}`, grading.ErrParameter},
		{"agmark-paddy", `{"flags":["muusty"]}`, grading.ErrFlag},
	} {
		var r grading.Readings
		if err := r.UnmarshalJSON([]byte(row.in)); err != nil {
			t.Fatal(err)
		}
		if _, err := grading.Grade(load(t, row.id), r); !errors.Is(err, row.want) {
			t.Errorf("%s %s: got %v, want %v", row.id, row.in, err, row.want)
		}
	}
	r := grading.Readings{Values: map[grading.ParameterID]grading.Decimal{"moisture": -1}}
	var fault *grading.RangeError
	if _, err := grading.Grade(load(t, "agmark-paddy"), r); !errors.As(err, &fault) || fault.Name() != "values.moisture" {
		t.Errorf("got %v", err)
	}
	r = grading.Readings{Words: map[grading.ParameterID]string{"colour": "pink"}}
	var word *grading.WordError
	if _, err := grading.Grade(load(t, "us-rough-rice"), r); !errors.As(err, &word) || word.Got != "pink" {
		t.Errorf("got %v", err)
	}
}

func TestDefaultClass(t *testing.T) {
	s := load(t, "us-rough-rice")
	in := `{"values":{"chalky":1.5}%s}`
	if res := gradeJSON(t, s, fmt.Sprintf(in, "")); res.Class != "long" || res.Grade != "U.S. No. 2" {
		t.Errorf("got %q in class %q", res.Grade, res.Class)
	}
	if res := gradeJSON(t, s, fmt.Sprintf(in, `,"class":"medium_short"`)); res.Grade != "U.S. No. 1" {
		t.Errorf("got %q", res.Grade)
	}
}

// A grain with several defects counts once, in the category with the lowest
// limit. Source: [ISO-7301-MODEL Annex A].
func TestDefectOrder(t *testing.T) {
	want := []grading.Field{grading.PestDamaged, grading.Discoloured, grading.Red, grading.OtherVariety}
	if got := load(t, "agmark-paddy").DefectOrder(""); !slices.Equal(got, want) {
		t.Errorf("AGMARK: got %v, want %v", got, want)
	}
	want = []grading.Field{grading.PestDamaged, grading.Discoloured, grading.Red}
	if got := load(t, "mbuyu-hand").DefectOrder(""); !slices.Equal(got, want) {
		t.Errorf("demo: got %v, want %v", got, want)
	}
	if got := load(t, "us-brown-rice").DefectOrder(""); len(got) != 0 {
		t.Errorf("US brown rice: got %v, want none by hand", got)
	}
}

func TestARelaxationIsInForceFromItsDay(t *testing.T) {
	s := load(t, "in-kms-punjab-2025")
	for day, want := range map[string]bool{"2025-11-11": false, "2025-11-12": true, "2026-03-01": true,
		"2026-09-30": true, "2026-10-01": false} {
		if s.InForce(day) != want {
			t.Errorf("%s: %v", day, !want)
		}
	}
	if s.ValidTo = "2025-12-31"; s.InForce("2026-01-01") || !s.InForce("2025-12-31") {
		t.Error("the last day is the last one in force")
	}
	if !load(t, "agmark-paddy").InForce("1990-01-01") {
		t.Error("a standard without days is always in force")
	}
}

// Tables from memory or from a doubtful copy carry a warning, and nothing else does.
func TestOnlyTablesNobodyReadWarn(t *testing.T) {
	var warn []string
	for _, s := range builtin(t) {
		if s.Status.Warns() {
			warn = append(warn, s.ID)
		}
	}
	if !slices.Equal(warn, []string{"in-kms", "in-kms-punjab-2025", "ph-paddy", "us-rough-rice"}) {
		t.Errorf("%q warn", warn)
	}
}

// Of a lot of which nothing was measured no standard says a grade, whatever was
// looked for; one that a bitten grain finds too wet is dried before it has one. A
// meter is surer than a bite, and what else stops a lot stands above both.
func TestWhatHasNoGrade(t *testing.T) {
	for _, row := range []struct {
		name, in string
		grade    grading.GradeLabel
		gates    []string
	}{
		{"nothing", `{}`, grading.NoGrade, nil},
		{"the sample alone", `{"sample_g":200,"flags":[]}`, grading.NoGrade, nil},
		{"no live insects", `{"live_weevils":0,"live_others":0,"flags":[]}`, grading.NoGrade, nil},
		{"wet by bite, and nothing else", `{"flags":["too_wet"]}`, grading.WetLot, []string{grading.WetGate}},
		{"soaked by bite, else good", `{"flags":["very_wet"],"sample_g":200,"chaff_g":1,"stones_g":0.1}`, grading.WetLot, []string{grading.WetGate}},
		{"wet by bite, dry by the meter", `{"flags":["too_wet"],"moisture":[13,13.1,13.2]}`, "Grade 1", nil},
		{"wet by bite and mouldy", `{"flags":["too_wet","mouldy"]}`, "Not accepted", []string{"unsafe"}},
		{"wet by bite and full of chaff", `{"flags":["too_wet"],"sample_g":200,"chaff_g":40,"stones_g":0.1}`, "Below grade", nil},
	} {
		res := gradeJSON(t, load(t, "mbuyu-hand"), row.in)
		if res.Grade != row.grade || row.gates != nil && !slices.Equal(res.Gates, row.gates) {
			t.Errorf("%s: %q by %q, want %q by %q", row.name, res.Grade, res.Gates, row.grade, row.gates)
		}
		if res.Grade == grading.NoGrade && (res.Complete || len(res.Missing) == 0 || res.Confidence != 0) {
			t.Errorf("%s: complete %v, missing %q, confidence %v", row.name, res.Complete, res.Missing, res.Confidence)
		}
	}
}
