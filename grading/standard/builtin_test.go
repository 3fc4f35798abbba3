package standard_test

import (
	"testing"

	"threshline/grading"
	"threshline/grading/standard"
)

func TestEveryShippedStandardLoads(t *testing.T) {
	all, err := standard.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	if len(all) == 0 {
		t.Fatal("no shipped standard found")
	}
	for i, s := range all {
		if s.ID != standard.IDs()[i] {
			t.Errorf("file %s.toml has the id %q", standard.IDs()[i], s.ID)
		}
	}
}

// W9 and W10, derived from the AGMARK table ([AGMARK-PADDY]): 200 g with 3.0 g
// foreign matter, moisture 13.2 %, and laboratory values for the rest.
func TestAgmarkByHand(t *testing.T) {
	s, err := standard.ByID("agmark-paddy")
	if err != nil {
		t.Fatal(err)
	}
	var r grading.Readings
	if err := r.UnmarshalJSON([]byte(`{"moisture":[13.2],"sample_g":200,"chaff_g":2.4,"stones_g":0.6,
		"values":{"admixture":6.0,"damaged_immature_weevilled":0.8}}`)); err != nil {
		t.Fatal(err)
	}
	res, err := grading.Grade(s, r)
	if err != nil {
		t.Fatal(err)
	}
	if res.Grade != "II" || res.Rank != 2 || res.Of != 4 || !res.Complete || len(res.Deciding) != 2 {
		t.Errorf("got %+v", res)
	}
	fm := res.Parameter("foreign_matter")
	if fm.Shown.Fixed(2) != "1.50" || fm.Limit.String() != "2" || fm.Next.String() != "1" {
		t.Errorf("foreign matter: %+v", fm)
	}
}
