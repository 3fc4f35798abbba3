package gateway_test

import (
	"strings"
	"sync"
	"testing"
)

// The benchmarks' phones must do real work: grade and file lot after lot, each
// of those that they have.
func TestThePhonesOfTheBenchmarksGradeLots(t *testing.T) {
	f := serve(t, wholeServer(t), len(lots))
	screens := make([]strings.Builder, len(lots))
	var all sync.WaitGroup
	for n, phone := range f.talkers {
		all.Go(func() {
			for range len(welcome) + 2*len(lot) {
				if err := phone.talk(); err != nil {
					t.Error(err)
					return
				}
				screens[n].WriteString("> " + phone.entries[phone.step-1] + "\n" + string(phone.reply) + "\n")
			}
		})
	}
	all.Wait()
	for n, phone := range f.talkers {
		if phone.grades != 2 {
			t.Errorf("graded %d lots of two:\n%s", phone.grades, &screens[n])
		}
	}
}
