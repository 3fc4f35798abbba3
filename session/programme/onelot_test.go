package programme_test

import (
	"slices"
	"testing"
	"time"

	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// A new check may be of a lot that nobody may eat when bags and kg are about the
// same and 60 days have not gone by.
func TestWhichLotANewCheckMayBeOf(t *testing.T) {
	begin := time.Date(2026, 11, 2, 8, 0, 0, 0, time.UTC)
	lot := func(bags, kg int) session.Lot {
		l := session.Lot{Grower: "g", Bags: bags, KG: grading.NewDecimal(kg)}
		if bags > 0 {
			l.BagKG = grading.NewDecimal(kg / bags)
		}
		return l
	}
	check := func(slip session.Slip, l session.Lot, flags ...grading.Flag) session.Check {
		return session.Check{Slip: slip, State: session.Filed, At: begin, Lot: l, Readings: grading.Readings{Flags: flags}}
	}
	mouldy := check("M", lot(8, 600), grading.Mouldy)
	cleared := mouldy
	cleared.Clear(session.Clearance{Flags: []grading.Flag{grading.Mouldy}})
	withdrawn, corrected := mouldy, mouldy
	withdrawn.State, corrected.State = session.Withdrawn, session.Corrected
	again := check("R", lot(8, 600), grading.Mouldy)
	again.Recheck = "M"
	for _, c := range []struct {
		name   string
		lot    session.Lot
		said   []grading.Flag
		days   int
		checks []session.Check
		other  []session.Slip
		want   session.Slip
	}{
		{"the same bags and kg", lot(8, 600), nil, 1, []session.Check{mouldy}, nil, "M"},
		{"a bag and a few kg less", lot(7, 520), nil, 1, []session.Check{mouldy}, nil, "M"},
		{"two bags less", lot(6, 450), nil, 1, []session.Check{mouldy}, nil, ""},
		{"as many bags, and half as heavy", lot(8, 300), nil, 1, []session.Check{mouldy}, nil, ""},
		{"a heap of as many kg", lot(0, 600), nil, 1, []session.Check{mouldy}, nil, "M"},
		{"a heap of other kg", lot(0, 900), nil, 1, []session.Check{mouldy}, nil, ""},
		{"on the 60th day", lot(8, 600), nil, 60, []session.Check{mouldy}, nil, "M"},
		{"on the 61st day", lot(8, 600), nil, 61, []session.Check{mouldy}, nil, ""},
		{"which says so itself", lot(8, 600), []grading.Flag{grading.Mouldy}, 1, []session.Check{mouldy}, nil, ""},
		{"which says something else", lot(8, 600), []grading.Flag{grading.TreatedSeed}, 1, []session.Check{mouldy}, nil, "M"},
		{"a lot with nothing that makes it no food", lot(8, 600), nil, 1, []session.Check{check("W", lot(8, 600), grading.Warm)}, nil, ""},
		{"one that a laboratory cleared", lot(8, 600), nil, 1, []session.Check{cleared}, nil, ""},
		{"one that was withdrawn", lot(8, 600), nil, 1, []session.Check{withdrawn}, nil, "M"},
		{"one that was corrected: its correction is asked after", lot(8, 600), nil, 1, []session.Check{corrected}, nil, ""},
		{"one that was checked again: the newer is asked after", lot(8, 600), nil, 1, []session.Check{again, mouldy}, nil, "R"},
		{"said to be another", lot(8, 600), nil, 1, []session.Check{again, mouldy}, []session.Slip{"R"}, ""},
	} {
		got, ok := programme.SameLot(c.lot, c.said, begin.AddDate(0, 0, c.days), c.checks, c.other)
		if got.Slip != c.want || ok != (c.want != "") {
			t.Errorf("%s: %q, want %q", c.name, got.Slip, c.want)
		}
	}
}

// A lot is all its re-checks and corrections, whichever of them is asked about.
func TestTheChecksOfOneLot(t *testing.T) {
	checks := []session.Check{
		{Slip: "other"}, {Slip: "third", Recheck: "second"}, {Slip: "branch", Recheck: "mended"}, {Slip: "second", Recheck: "mended"},
		{Slip: "mended"}, {Slip: "first", State: session.Corrected, ReplacedBy: "mended"}, {Slip: "of other", Recheck: "other"},
	}
	for _, c := range checks {
		want := []session.Slip{"branch", "first", "mended", "second", "third"}
		if c.Slip == "other" || c.Slip == "of other" {
			want = []session.Slip{"of other", "other"}
		}
		var got []session.Slip
		for _, k := range programme.OneLot(c, checks) {
			got = append(got, k.Slip)
		}
		if slices.Sort(got); !slices.Equal(got, want) {
			t.Errorf("of %s: %v, want %v", c.Slip, got, want)
		}
	}
}
