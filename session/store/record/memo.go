package record

import (
	"strconv"
	"strings"

	"google.golang.org/protobuf/encoding/protowire"

	"threshline/grading"
	"threshline/session"
)

// memoOfNames reads the memo of a dialogue as it was written before each thing in
// it had a number of its own: as names and texts. It is written no more.
func memoOfNames(c *Coder, n protowire.Number, d *session.Dialogue) {
	if !c.reading || !c.at(n, protowire.BytesType) {
		return
	}
	var was map[string]string
	table(c, n, &was, Text[string], Text[string])
	number := func(name string) int { i, _ := strconv.Atoi(was[name]); return i }
	amount := func(name string) grading.Decimal { v, _ := grading.ParseDecimal(was[name]); return v }
	of, whole, _ := strings.Cut(was["_whole"], "\n")
	shape, shapes, _ := strings.Cut(was["_shape"], " ")
	mark, _ := strconv.ParseUint(shape, 36, 64)
	d.Memo = session.Memo{
		Lead: was["_lead"], Refused: was["_wrong"] != "", Asked: was["_asked"] != "",
		Language: session.Language(was["_language"]), Invitation: was["_code"], StopTold: was["_stopped"] != "",
		Unfinished: was["_unfinished"] != "",
		Shape:      mark, Shapes: len(shapes), Strays: len(was["_stray"]), WholeOf: of, Whole: whole,
		Slip: session.Slip(was["slip"]), Looked: was["looked"], Grower: session.PersonID(was["grower"]),
		Search: was["found"], ForCheck: was["then"] == "check", Name: was["name"], Village: was["village"], Short: number("short"),
		Sign: was["sign"], DryFrom: amount("dry-from"), DryKG: amount("dry-kg"), DryKeep: number("dry-keep"),
	}
	if was["dry-kg"] == "x" { // a lot that nobody weighed is answered for 100 kg
		d.Memo.DryKG = grading.NewDecimal(100)
	}
	for _, begin := range strings.Fields(was["_told"]) {
		if u, err := strconv.ParseUint(begin, 36, 64); err == nil {
			d.Told = append(d.Told, u)
		}
	}
}
