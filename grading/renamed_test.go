package grading_test

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"threshline/grading"
)

// An old name of a reading or a sign is refused with the new one: passed over, a
// lot would be graded without it.
func TestAnOldNameIsRefusedWithItsNewOne(t *testing.T) {
	for text, now := range map[string]string{
		`{"sample_g":200,"organic_g":2}`: "chaff_g", `{"sample_g":200,"inorganic_g":1}`: "stones_g", `{"flags":["musty","heating"]}`: "warm",
	} {
		var r grading.Readings
		err := json.Unmarshal([]byte(text), &r)
		if bad := (*grading.InputError)(nil); !errors.As(err, &bad) || !strings.Contains(bad.Want, now) {
			t.Errorf("%s: %v", text, err)
		}
		if _, _, err := grading.ReadJSON(json.NewDecoder(strings.NewReader(text))); err == nil {
			t.Errorf("%s is read", text)
		}
	}
}
