package grading

// What a lot is called that the ladder would take and that has no place in it,
// whatever the standard.
const (
	// NoGrade is a lot of which no moisture was read and nothing measured that the
	// standard grades by; what was seen of insects is no such thing.
	NoGrade GradeLabel = "No grade"
	// WetLot is a lot that a test without a meter found too wet: it is dried first,
	// and what it is then nobody knows.
	WetLot GradeLabel = "Too wet"
)

// WetGate is the ID of the gate that stops a WetLot, above every standard.
const WetGate = "too_wet"

// ungraded gives the rank of a lot that the ladder would take although nothing
// was measured, or that a test by hand found too wet.
func (e *Evaluator) ungraded(r *Readings, lot []Found, rank int, res *Result) int {
	switch {
	case rank > len(e.standard.Grades):
	case r.WetByHand() != "":
		if res != nil {
			res.Gates = append(res.Gates, WetGate)
		}
		return e.noGrade + 1
	case len(r.Repeats) == 0 && !e.anything(lot):
		return e.noGrade
	}
	return rank
}

// anything reports whether any parameter was measured, insects aside.
func (e *Evaluator) anything(lot []Found) bool {
	for i := range lot {
		if v := &lot[i]; v.Measured && (v.Direct || v.Word != "" || e.known[i].made&^alive != 0) {
			return true
		}
	}
	return false
}

// alive are the fields of live insects.
var alive = SetOf(FieldsOf(Insects)...)
