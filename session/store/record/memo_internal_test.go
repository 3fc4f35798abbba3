package record

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"threshline/grading"
	"threshline/session"
)

// A dialogue that the build before wrote goes on where it stood.
func TestAMemoOfNamesIsStillRead(t *testing.T) {
	names := map[string]string{
		"_lead": "Say again.", "_wrong": "1", "_asked": "1", "_language": "sw", "_code": "K7PQ3M", "_stopped": "1", "_unfinished": "1",
		"_digest": "2026-11-30", "_shape": "xrls1wq49ji xx", "_stray": "x", "_told": "1 z xrls1wq49ji", "_whole": "net-1\n1*2*13.8",
		"slip": "7KDM3XA", "looked": "7KDM3XA: grade II.", "grower": "GROWER", "found": "as", "then": "check", "name": "Asha", "village": "Weir",
		"short": "7", "sign": "test.bite_soft", "dry-from": "18.5", "dry-kg": "600", "dry-keep": "3",
	}
	written := func(c *Coder, d *session.Dialogue) {
		Text(c, 1, &d.Phone)
		table(c, 8, &names, Text[string], Text[string])
		whole(c, 12, &d.Wrong)
	}
	var got session.Dialogue
	if err := Decode(Encode(nil, &session.Dialogue{Phone: "+33639980001", Wrong: 2}, written), &got, Dialogue); err != nil {
		t.Fatal(err)
	}
	const shape = 123456789012345678 // xrls1wq49ji in base 36
	want := session.Dialogue{
		Phone: "+33639980001", Wrong: 2, Told: []uint64{1, 35, shape},
		Memo: session.Memo{
			Lead: "Say again.", Refused: true, Asked: true, Language: "sw", Invitation: "K7PQ3M", StopTold: true, Unfinished: true,
			Shape: shape, Shapes: 2, Strays: 1, WholeOf: "net-1", Whole: "1*2*13.8",
			Slip: "7KDM3XA", Looked: "7KDM3XA: grade II.", Grower: "GROWER", Search: "as", ForCheck: true, Name: "Asha", Village: "Weir",
			Short: 7, Sign: "test.bite_soft", DryFrom: 185 * grading.One / 10, DryKG: grading.NewDecimal(600), DryKeep: 3,
		},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	names = map[string]string{"dry-kg": "x"}
	got = session.Dialogue{}
	if err := Decode(Encode(nil, &session.Dialogue{}, written), &got, Dialogue); err != nil || got.Memo.DryKG != grading.NewDecimal(100) {
		t.Errorf("a lot that nobody weighed is %v kg, %v", got.Memo.DryKG, err)
	}
}
