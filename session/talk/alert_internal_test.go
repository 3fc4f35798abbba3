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
		if strings.HasPrefix(key, "alert.") && slices.Contains(words.Placeholders(wording.English, key), "slip") {
			told = append(told, key)
		}
	}
	if known := slices.Sorted(slices.Values(alerts[:])); len(told) == 0 || !slices.Equal(told, known) {
		t.Errorf("texts of alerts are %q, known again are %q", told, known)
	}
}
