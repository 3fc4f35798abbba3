package gateway_test

import (
	"strings"
	"testing"
)

// The benchmarks' phones must do real work: grade and file lot after lot.
func TestThePhonesOfTheBenchmarksGradeLots(t *testing.T) {
	f := serve(t, wholeServer(t), 3)
	phone := f.talkers[0]
	var screens []string
	for range len(welcome) + 2*len(lot) {
		if err := phone.talk(); err != nil {
			t.Fatal(err)
		}
		screens = append(screens, "> "+phone.entries[phone.step-1]+"\n"+string(phone.reply))
	}
	if phone.grades != 2 {
		t.Errorf("graded %d lots of two:\n%s", phone.grades, strings.Join(screens, "\n"))
	}
	f.all(t, 3*(len(welcome)+2*len(lot)))
}
