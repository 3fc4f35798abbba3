package advice_test

import (
	"math"
	"regexp"
	"slices"
	"testing"

	"threshline/advice"
	"threshline/grading"
)

func TestTheTableIsComplete(t *testing.T) {
	tag := regexp.MustCompile(`^\[[A-Z][A-Z0-9.]*(-[A-Z0-9.]+)+\]$`)
	sourced := func(source string) bool { return source == advice.NoSource || tag.MatchString(source) }
	seen := map[advice.RemedyID]bool{}
	cautioned := map[advice.CautionID]bool{}
	for _, rem := range advice.Remedies() {
		if seen[rem.ID] || rem.ID == "" {
			t.Errorf("%q stands twice or has no name", rem.ID)
		}
		seen[rem.ID] = true
		if len(rem.Cautions) == 0 {
			t.Errorf("%s has no caution", rem.ID)
		}
		for _, c := range rem.Cautions {
			cautioned[c] = true
			if !slices.Contains(advice.Cautions(), c) {
				t.Errorf("%s has caution %q, which Cautions does not list", rem.ID, c)
			}
		}
		if !sourced(rem.Source) || rem.Trust == "" || rem.Source == advice.NoSource && rem.Trust != advice.Practice {
			t.Errorf("%s: source %q, trust %q", rem.ID, rem.Source, rem.Trust)
		}
		if rem.Tool == "" || (rem.When == advice.NextSeason) != (rem.Band == advice.SeasonBand) {
			t.Errorf("%s: tool %q, %s, band %s", rem.ID, rem.Tool, rem.When, rem.Band)
		}
		if rem.Work != (advice.Work{}) && (rem.Work.Trust == "" || !sourced(rem.Work.Source)) {
			t.Errorf("%s: hours without a source", rem.ID)
		}
		for _, e := range rem.Effects {
			s := e.Takes
			if s.Low < 0 || s.Low > s.Mid || s.Mid > s.High || s.High > 1 || !sourced(e.Source) || e.Trust == "" {
				t.Errorf("%s: effect %+v", rem.ID, e)
			}
		}
	}
	cautioned[advice.HandTestsAreNot] = true // it goes with what is asked, not with a remedy
	for _, c := range advice.Cautions() {
		if !cautioned[c] {
			t.Errorf("caution %q travels with no remedy", c)
		}
	}
}

// What lies inside the husk cannot be taken out of the bag.
func TestNoRemedyForThisLotMendsGrains(t *testing.T) {
	inside := []grading.Field{grading.Red, grading.OtherVariety, grading.Cracked, grading.Discoloured, grading.PestDamaged, grading.ImmatureWeight, grading.BrownWeight}
	for _, rem := range advice.Remedies() {
		if rem.When != advice.ThisLot {
			continue
		}
		for _, e := range rem.Effects {
			if slices.Contains(inside, e.Field) {
				t.Errorf("%s claims to mend %s in this lot", rem.ID, e.Field)
			}
		}
	}
}

// The cautions that a person's safety hangs on, by remedy.
func TestSafetyCautionsTravel(t *testing.T) {
	for id, want := range map[advice.RemedyID][]advice.CautionID{
		advice.Winnow:        {advice.DustAndEyes},
		advice.Sieve:         {advice.DustAndEyes},
		advice.DrySun:        {advice.NotOnRoad, advice.HotGrain, advice.RainCover},
		advice.DryMachine:    {advice.MovingParts},
		advice.Destone:       {advice.MovingParts},
		advice.Quarantine:    {advice.NotEaten, advice.StoredDustMask},
		advice.RejectTreated: {advice.NotFood},
		advice.CoolInsects:   {advice.NoFumigant, advice.NotEaten},
		advice.ClearInsects:  {advice.NoFumigant},
		advice.StoreHygiene:  {advice.NoFumigant},
		advice.Hermetic:      {advice.NoFumigant, advice.DryBeforeSeal},
		advice.KeepWell:      {advice.NoFumigant},
		advice.BetterSeed:    {advice.NeverSow},
		advice.StopDrying:    {advice.DoNotWet},
	} {
		rem := advice.RemedyOf(id)
		for _, c := range want {
			if rem == nil || !slices.Contains(rem.Cautions, c) {
				t.Errorf("%s lacks caution %s", id, c)
			}
		}
	}
}

// The figures of machines as their sources give them.
func TestMachinesAsTheirSourcesSay(t *testing.T) {
	takes := func(id advice.RemedyID) advice.Share { return advice.RemedyOf(id).Effects[0].Takes }
	if s := takes(advice.Destone); s.Low != 0.825 || s.High != 0.9975 { // [CIGR-DESTONE]
		t.Errorf("destoner: %+v", s)
	}
	for id, kgAnHour := range map[advice.RemedyID]float64{advice.Winnow: 242, advice.WinnowMachine: 625} { // [CRRI-WINNOW], [TNAU-WINNOW]
		if got, want := advice.RemedyOf(id).Work.Hours(1000), 2*1000/kgAnHour; math.Abs(got-want) > 1e-9 { // two people
			t.Errorf("%s: %v hours a tonne, want %v", id, got, want)
		}
	}
	if o := advice.RemedyOf(advice.ClearInsects); o.Lasts != advice.SealedDays || len(o.Effects) > 0 || advice.SealedDays < 35 { // [WEEVIL-CYCLE]
		t.Errorf("insects: %+v", o)
	}
}
