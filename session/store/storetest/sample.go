package storetest

import (
	"fmt"
	"time"

	"threshline/grading"
	"threshline/session"
)

// Begin is the sample records' first moment. Nothing here reads a clock.
var Begin = time.Date(2026, time.March, 2, 6, 30, 0, 0, time.UTC)

// Phone is the i-th sample number, i from 0 to 9999, of a range that is
// reserved for fiction.
func Phone(i int) session.Phone { return session.Phone(fmt.Sprintf("+3363998%04d", i)) }

// PersonID is the id of the i-th sample person.
func PersonID(i int) session.PersonID { return session.PersonID(fmt.Sprintf("p%06d", i)) }

// Slip is the slip of the i-th sample check.
func Slip(i int) session.Slip { return session.Slip(fmt.Sprintf("S%06d", i)) }

// Person is a new grower with the i-th number.
func Person(i int) session.Person {
	return session.Person{
		ID: PersonID(i), Phone: Phone(i % 10000), Role: session.Grower, Name: fmt.Sprintf("Grower %d", i),
		District: "Kisima", Village: "Weir", Language: "sw", Joined: Begin,
		Consent: session.Consent{Version: 1, Given: true, At: Begin},
		Kit:     session.Kit{Lacks: []session.Tool{session.Pan}, ScaleStep: 1000},
	}
}

// Readings are those of a whole check by hand.
func Readings() grading.Readings {
	r := grading.Readings{Repeats: []grading.Decimal{138000, 141000, 139000}, Flags: []grading.Flag{grading.Musty}}
	for f, d := range map[grading.Field]grading.Decimal{
		grading.SampleWeight: 200000, grading.Chaff: 2400, grading.Stones: 0, grading.BrownWeight: 155200,
		grading.ImmatureWeight: 1100, grading.Counted: 1000000, grading.PestDamaged: 0, grading.Discoloured: 10000, grading.Red: 20000,
	} {
		r.Set(f, d)
	}
	return r
}

// Dialogue is a dialogue in the middle of a check.
func Dialogue(phone session.Phone) session.Dialogue {
	return session.Dialogue{
		Phone: phone, Screen: "pan", Trail: []session.ScreenID{"main", "bags", "moisture", "sample", "sieve", "brown"},
		NetworkSession: "net-4711", Current: 0, Memo: session.Memo{Slip: Slip(3), DryKeep: 4},
		Drafts: []session.Draft{{
			Lot:      session.Lot{Grower: PersonID(1), District: "Kisima", Village: "Weir", Variety: "Faro", Bags: 8, BagKG: 750000, KG: 6000000},
			Readings: Readings(), Started: Begin, Touched: Begin.Add(4 * time.Minute), Screen: "pan",
			Paces:   map[grading.Field]int{grading.Moisture: 40, grading.SampleWeight: 95, grading.Chaff: 150, grading.BrownWeight: 210},
			Skipped: []grading.Field{grading.Cracked},
		}},
		Last: Begin.Add(4 * time.Minute), Expires: Begin.Add(24 * time.Hour), Recent: []uint64{1 << 63, 42, 7, 9},
	}
}

// Check is a new filed check, filed i minutes after Begin.
func Check(i int, grower, reporter session.PersonID) session.Check {
	return session.Check{
		Slip: Slip(i), State: session.Filed,
		Lot:      session.Lot{Grower: grower, District: "Kisima", Village: "Weir", Variety: "Faro", Bags: 8, BagKG: 750000, KG: 6000000},
		Readings: Readings(), Reporter: reporter, Channel: "valley-ussd", Language: "sw",
		Started: Begin.Add(time.Duration(i-6) * time.Minute), At: Begin.Add(time.Duration(i) * time.Minute),
		Paces:      map[grading.Field]int{grading.Moisture: 40, grading.SampleWeight: 95, grading.Chaff: 150},
		StandardID: "agmark-paddy", Edition: "sample", Grade: "II", Rank: 2, Of: 4, Complete: true, Confidence: 0.71,
		Deciding: []grading.ParameterID{"foreign_matter"}, Remedy: "winnow", Becomes: "I", BecomesRank: 1,
		Values: map[grading.ParameterID]grading.Decimal{"moisture": 139000, "foreign_matter": 12000, "admixture": 20000, "damaged": 15000},
	}
}

// Outgoing is a message that is due i seconds after Begin.
func Outgoing(i int) session.Outgoing {
	return session.Outgoing{
		ID: session.OutgoingID(fmt.Sprintf("m%06d", i)), To: Phone(i % 10000), Channel: "valley-sms", Text: "Dry it to 14 %.",
		Purpose: session.Reminding, Created: Begin, Due: Begin.Add(time.Duration(i) * time.Second), Changed: Begin,
		State: session.Queued, Segments: 1,
	}
}
