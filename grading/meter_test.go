package grading_test

import (
	"testing"

	"threshline/grading"
)

// TestACheckedMetersBiasIsTakenOff: of 14.6, 14.5 and 14.7 on a meter that reads
// 0.5 above the oven the truth is 14.1, and what was read is kept as it was.
func TestACheckedMetersBiasIsTakenOff(t *testing.T) {
	r := read(t, `{"moisture":[14.6,14.5,14.7],"meter":{"name":"M3","bias":0.5,"doubt":0.15}}`)
	if v, ok := r.Get(grading.Moisture); !ok || v != 141000 || r.Repeats[0] != 146000 {
		t.Errorf("true %s of %v", v, r.Repeats)
	}
	res, err := grading.Grade(agmark(t), r)
	if err != nil || res.Parameter("moisture").Shown.String() != "14.1" {
		t.Errorf("%v, %v", res.Parameter("moisture").Shown, err)
	}
	b, err := r.MarshalJSON()
	if err != nil || string(b) != `{"moisture":[14.6,14.5,14.7],"meter":{"name":"M3","bias":0.5,"doubt":0.15}}` {
		t.Errorf("%s, %v", b, err)
	}
	r.Set(grading.Moisture, 135000)
	if v, _ := r.Get(grading.Moisture); v != 135000 || r.Repeats[0] != 140000 {
		t.Errorf("dried to 13.5 the meter would show %v, true %s", r.Repeats, v)
	}
}

// TestTwoMetersAreCorrectedEachByItsOwn when samples are taken together.
func TestTwoMetersAreCorrectedEachByItsOwn(t *testing.T) {
	one := read(t, `{"moisture":[14.4],"meter":{"bias":0.4,"doubt":0.1}}`)
	two := read(t, `{"moisture":[14.9],"meter":{"bias":0.9,"doubt":0.2}}`)
	both, err := grading.Combine(agmark(t), one, two)
	if err != nil {
		t.Fatal(err)
	}
	if v, _ := both.Readings.Get(grading.Moisture); v != 140000 || both.Readings.Meter.Doubt != 2000 || !both.Readings.Meter.Checked {
		t.Errorf("%s, %+v", v, both.Readings.Meter)
	}
}
