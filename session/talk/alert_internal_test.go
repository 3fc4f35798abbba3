package talk

import (
	"slices"
	"strings"
	"testing"

	"threshline/session/wording"
)

// Every text that tells a coordinator of a slip is known again when a phone
// sends it back.
func TestEveryAlertIsKnownAgain(t *testing.T) {
	words, err := wording.Embedded()
	if err != nil {
		t.Fatal(err)
	}
	var told []string
	for _, key := range words.Keys(wording.English) {
		holds := words.Placeholders(wording.English, key)
		if strings.HasPrefix(key, "alert.") && (slices.Contains(holds, "slip") || slices.Contains(holds, "slips")) {
			told = append(told, key)
		}
	}
	if known := slices.Sorted(slices.Values(alerts[:])); len(told) == 0 || !slices.Equal(told, known) {
		t.Errorf("texts of alerts are %q, known again are %q", told, known)
	}
}
