package screen_test

import (
	"math"
	"testing"

	"threshline/grading"
	"threshline/session"
)

// TestTwoSamplesAreJudgedAsOne: 3 of 100 red and 1 of 100 are 4 of 200, between
// the bounds that [NIST-PRC242] defines by the binomial's tails; each sample
// stays to be read as it was measured.
func TestTwoSamplesAreJudgedAsOne(t *testing.T) {
	w := newWorld(t, "mbuyu-hand", "en")
	w.machine.Programme.Advice.Prices = map[grading.GradeLabel]grading.Decimal{
		"Grade 1": grading.NewDecimal(58), "Grade 2": grading.NewDecimal(52), "Grade 3": grading.NewDecimal(45),
	}
	me := session.Person{ID: "me", Phone: "+33639983301", Role: session.Grower, Name: "Asha", Language: "en", Consent: session.Consent{Version: 1, Given: true}}
	w.store.people["me"] = me
	h := &handset{world: w, number: me.Phone}
	send := func(text string) session.Check {
		t.Helper()
		if _, err := h.sms(text); err != nil {
			t.Fatal(err)
		}
		all, _ := w.store.list(1, func(session.Check) bool { return true })
		return all[0]
	}
	first := send("M 13.0 13.1 13.0 S 200 O 1.0 I 0.4 B 152.6 T 1.2 P 0 Y 1 R 3 bag 8")
	both := send("recheck " + string(first.Slip) + " M 13.1 13.0 13.2 S 200 O 1.2 I 0.4 B 152.4 T 1.4 P 0 Y 1 R 1")
	if both.Recheck != first.Slip || !both.Pooled() || first.Pooled() {
		t.Fatalf("re-check of %q, pooled %v; the first pooled %v", both.Recheck, both.Pooled(), first.Pooled())
	}
	for _, c := range []struct {
		of   string
		r    *grading.Readings
		f    grading.Field
		want grading.Decimal
	}{
		{"together", &both.Readings, grading.Red, grading.NewDecimal(4)},
		{"together", &both.Readings, grading.Counted, grading.NewDecimal(200)},
		{"together", &both.Readings, grading.SampleWeight, grading.NewDecimal(400)},
		{"the second", &both.Sample, grading.Red, grading.NewDecimal(1)},
		{"the second", &both.Sample, grading.SampleWeight, grading.NewDecimal(200)},
		{"the first", &first.Readings, grading.Red, grading.NewDecimal(3)},
	} {
		if got, _ := c.r.Get(c.f); got != c.want {
			t.Errorf("%s: %s is %s, want %s", c.of, c.f, got, c.want)
		}
	}
	judged, err := w.machine.Programme.Judge(both.Lot, both.Readings, session.Kit{}, both.At, nil)
	if err != nil {
		t.Fatal(err)
	}
	red := judged.Result.Parameter("red")
	if judged.Result.Grade != both.Grade || red.Shown != grading.NewDecimal(2) {
		t.Errorf("judged again %s with %s %% red, filed as %s", judged.Result.Grade, red.Shown, both.Grade)
	}
	if low, high := tail(4, 200, red.Low/100, true), tail(4, 200, red.High/100, false); math.Abs(low-0.025) > 1e-6 || math.Abs(high-0.025) > 1e-6 {
		t.Errorf("red lies within %v to %v: tails %v and %v, want 0.025 each", red.Low, red.High, low, high)
	}
}

// tail is the chance of k or more, or of k or fewer, of n.
func tail(k, n int, p float64, more bool) (sum float64) {
	term := math.Pow(1-p, float64(n))
	for i := 0; i <= n; i++ {
		if more && i >= k || !more && i <= k {
			sum += term
		}
		term *= float64(n-i) / float64(i+1) * p / (1 - p)
	}
	return sum
}
