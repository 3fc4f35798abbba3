package standard_test

import (
	"errors"
	"strings"
	"testing"

	"threshline/grading"
	"threshline/grading/standard"
	"threshline/grading/standard/standardtest"
)

func load(t testing.TB, id string) *grading.Standard {
	t.Helper()
	s, err := standardtest.ByID(id)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func gradeJSON(t testing.TB, s *grading.Standard, in string) grading.Result {
	t.Helper()
	var r grading.Readings
	if err := r.UnmarshalJSON([]byte(in)); err != nil {
		t.Fatalf("%s: %v", in, err)
	}
	res, err := grading.Grade(s, r)
	if err != nil {
		t.Fatalf("%s: %v", in, err)
	}
	return res
}

// The worked examples that end in a grade. W1 (rounding) is in package
// grading; the numbers are those of the list of examples this was built from.
func TestWorkedExamples(t *testing.T) {
	for _, w := range []struct{ name, id, in, want string }{
		{"W2, published: 15.02 % and 4.12 % is GKP [INPRES-3-2012]", "inpres-3-2012",
			`{"values":{"moisture":15.02,"empty_and_dirt":4.12}}`, "GKP"},
		{"W3, published: 1 % weevilled and 3 % damaged or discoloured is A1 [FCI-STORAGE]", "fci-storage",
			`{"values":{"weevilled":1,"damaged_discoloured":3}}`, "A1"},
		{"W7, the interval 75 to under 77 is grade 3 of indica [GB-1350]: 75.0", "gb1350-indica",
			gb("75.0"), "3"},
		{"W7: 76.9", "gb1350-indica", gb("76.9"), "3"},
		{"W7: 77.0", "gb1350-indica", gb("77.0"), "2"},
		{"W9, derived from the table: 1.5, 6.0, 0.8 % is II [AGMARK-PADDY]", "agmark-paddy",
			agmark(`"chaff_g":3.0`, "6.0", "0.8", "13.2"), "II"},
		{"W10, derived: 2.0 g of 200 g is 1.00 %, at the limit of I", "agmark-paddy",
			agmark(`"chaff_g":2.0`, "0", "0", "13"), "I"},
		{"W10: 2.02 g is 1.01 %, which is II because AGMARK says nothing of rounding first", "agmark-paddy",
			agmark(`"chaff_g":2.02`, "0", "0", "13"), "II"},
		{"W11, derived: 14.2 g is 7.1 %, over IV", "agmark-paddy",
			agmark(`"chaff_g":14.2`, "0", "0", "13"), "out of grade"},
		{"W11: moisture 14.1 % is over the limit of all four grades", "agmark-paddy",
			agmark(`"chaff_g":0`, "0", "0", "14.1"), "out of grade"},
		{"W12, derived: 24 paddy grains fail No. 1 by count, their 0.1 % meets No. 2 [CFR-868 §868.261]", "us-brown-rice",
			`{"values":{"paddy_count":24,"paddy_percent":0.12,"seeds_heat_damaged":9,"heat_damaged":1,"objectionable_seeds":2,
			"red_damaged":0.9,"chalky":1.8,"broken":0,"other_types":0,"well_milled":0,"moisture":12,"related_material":0,"unrelated_material":0}}`,
			"U.S. No. 2"},
		{"W15, derived: 8 % fails the base specification [IN-KMS]", "in-kms",
			kms(`"damaged_discoloured_sprouted_weevilled":8.0`), "not FAQ"},
		{"W15: under the relaxation 8 % passes but 4.5 % of it weevilled does not [IN-KMS-PUNJAB]", "in-kms-punjab-2025",
			kms(`"damaged_discoloured_sprouted_weevilled":8.0,"damaged_sprouted_weevilled":4.5`), "not FAQ"},
		{"the same with 4.0 % of it passes", "in-kms-punjab-2025",
			kms(`"damaged_discoloured_sprouted_weevilled":8.0,"damaged_sprouted_weevilled":4.0`), "FAQ"},
	} {
		t.Run(w.name, func(t *testing.T) {
			res := gradeJSON(t, load(t, w.id), w.in)
			if string(res.Grade) != w.want || !res.Complete {
				t.Errorf("got %q (complete %v), want %q", res.Grade, res.Complete, w.want)
			}
		})
	}
}

func gb(husked string) string {
	return `{"values":{"husked_yield":` + husked + `,"head_rice":60,"moisture":13,"impurities":1,"yellow":0,"husked_grains":0,"other_kinds":0}}`
}

func agmark(fields, admixture, damaged, moisture string) string {
	return `{"sample_g":200,"stones_g":0,"moisture":` + moisture + `,` + fields +
		`,"values":{"admixture":` + admixture + `,"damaged_immature_weevilled":` + damaged + `}}`
}

func kms(values string) string {
	return `{"class":"grade_a","values":{"chaff":0.5,"stones":0,"immature_shrunken_shrivelled":1,"admixture_lower_class":2,"moisture":16,` + values + `}}`
}

// Trap of W10: the same lot is grade I under a rule that rounds to the tenth
// before it compares. The rule is the standard's, and it is stated.
func TestRoundingFirstChangesTheGradeOfW10(t *testing.T) {
	s := *load(t, "agmark-paddy")
	s.Parameters = append([]grading.Parameter(nil), s.Parameters...)
	s.Parameters[0].Decimals = 1
	s.RoundFirst = true
	if res := gradeJSON(t, &s, agmark(`"chaff_g":2.02`, "0", "0", "13")); res.Grade != "I" {
		t.Errorf("1.01 %% rounded first is %q, want I", res.Grade)
	}
}

// Trap of W5: a published paper calls this lot "Mutu II" of SNI 01-0224-1987,
// at 14.55 % moisture. The table, as far as it is recalled, allows 14 % in
// every grade, so that a strict reading puts the lot out of grade: the paper
// cannot be a vector for the table, and the table, known from memory only, is
// not shipped. Source: [SNI-1987-PAPER].
const sni1987 = `
id = "sni-1987-recalled"
title = "SNI 01-0224-1987 as recalled, for this test only"
edition = "1987"
issuer = "Indonesia"
country = "ID"
source = "from memory"
source_tag = "SNI-1987-PAPER"
status = "from memory"
out_of_grade = "out"
parameter = [
  { id = "moisture", label = "Moisture", unit = "% wet basis", basis = "sample", decimals = 2, required = true },
  { id = "empty", label = "Empty", unit = "% weight", basis = "sample", decimals = 2, required = true },
  { id = "damaged_yellow", label = "Damaged and yellow", unit = "% weight", basis = "sample", decimals = 2, required = true },
  { id = "chalky_young", label = "Chalky and young", unit = "% weight", basis = "sample", decimals = 2, required = true },
  { id = "red", label = "Red", unit = "% weight", basis = "sample", decimals = 2, required = true },
]
grade = [
  { label = "I", max = { moisture = 14, empty = 1, damaged_yellow = 2, chalky_young = 1, red = 1 } },
  { label = "II", max = { moisture = 14, empty = 2, damaged_yellow = 5, chalky_young = 5, red = 2 } },
  { label = "III", max = { moisture = 14, empty = 3, damaged_yellow = 7, chalky_young = 10, red = 4 } },
]`

func TestTheContradictionOfW5(t *testing.T) {
	s, err := standard.Load("sni.toml", []byte(sni1987), nil)
	if err != nil {
		t.Fatal(err)
	}
	res := gradeJSON(t, s, `{"values":{"moisture":14.55,"empty":1.64,"chalky_young":3.12,"damaged_yellow":4.46,"red":0}}`)
	if res.Grade != "out" || len(res.Deciding) != 1 || res.Deciding[0] != "moisture" {
		t.Errorf("got %q by %q, want out by moisture alone", res.Grade, res.Deciding)
	}
	for _, id := range []grading.ParameterID{"empty", "damaged_yellow", "chalky_young"} {
		if got := res.Parameter(id).Grade; got != "II" {
			t.Errorf("%s is %q: the paper's grade II is that of everything but the moisture", id, got)
		}
	}
}

// W8, published: "58/70" is 58 % head rice and 70 % milled rice of the paddy,
// so that 12 points are broken. Source: [DELTA-MILLING]. The format makes such
// a difference out of two given values.
func TestDifferenceOfTwoParameters(t *testing.T) {
	text := strings.Replace(sni1987, `{ id = "red"`,
		`{ id = "milled", label = "Milled", unit = "% weight", basis = "sample", decimals = 0 },
  { id = "head", label = "Head", unit = "% weight", basis = "sample", decimals = 0, part_of = "milled" },
  { id = "broken", label = "Broken", unit = "% weight", basis = "sample", decimals = 0,
    from = [{ parameter = "milled" }, { parameter = "head", subtract = true }] },
  { id = "red"`, 1)
	s, err := standard.Load("yield.toml", []byte(text), nil)
	if err != nil {
		t.Fatal(err)
	}
	res := gradeJSON(t, s, `{"values":{"milled":70,"head":58}}`)
	if got := res.Parameter("broken").Shown.String(); got != "12" {
		t.Errorf("got %s points broken, want 12", got)
	}
	var r grading.Readings
	if err := r.UnmarshalJSON([]byte(`{"values":{"milled":58,"head":70}}`)); err != nil {
		t.Fatal(err)
	}
	var fault *grading.RangeError
	if _, err := grading.Grade(s, r); !errors.As(err, &fault) || fault.Name() != "broken" || fault.Got != -12*grading.One {
		t.Errorf("more head rice than milled rice gave %v", err)
	}
}
