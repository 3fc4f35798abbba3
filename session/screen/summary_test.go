package screen_test

import (
	"slices"
	"testing"

	"threshline/grading"
)

// Moisture that came in a message is taken as it came and not asked for again, but
// where its line of the summary is chosen it can be changed.
func TestMoistureOfAMessageCanBeChangedBeforeItIsFiled(t *testing.T) {
	for _, entries := range [][]string{{"3", "13.5 13.6 13.7"}, {"3 13.5 13.6 13.7"}} {
		h, send := asha(t, "en")
		h.all(t, "M 13.0 13.1 13.0 S 200 O 1 I 0.2 B 155.2 T 1.2 P 0 Y 0 R 0 bag 8 zzz")
		for _, entry := range append([]string{"1"}, entries...) {
			must(t, h.sms, entry)
		}
		c := send("1")
		if want := []grading.Decimal{135000, 136000, 137000}; !slices.Equal(c.Readings.Repeats, want) {
			t.Errorf("%q: filed with moistures %v", entries, c.Readings.Repeats)
		}
	}
}
