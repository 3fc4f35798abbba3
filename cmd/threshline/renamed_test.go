package main

import (
	"strings"
	"testing"

	"threshline/cmd/threshline/config"
)

// A key under the name that it had before is refused with its line and the new
// name: passed over, a programme would run by a default that nobody chose.
func TestARenamedKeyIsRefusedWithItsNewName(t *testing.T) {
	for old, now := range map[string]string{"mend_for = \"48h\"": "correct_for", "balance_step_g = 0.1": "scale_step_g"} {
		text := strings.Replace(leastConfig, "[[channel]]", old+"\n[[channel]]", 1)
		if _, err := config.Parse("some.toml", []byte(text)); err == nil || !strings.HasPrefix(err.Error(), "some.toml:4:1: ") || !strings.Contains(err.Error(), `"`+now+`"`) {
			t.Errorf("%s: %v", old, err)
		}
		text = strings.Replace(text, strings.Fields(old)[0], now, 1)
		if _, err := config.Parse("some.toml", []byte(text)); err != nil {
			t.Errorf("%s: %v", now, err)
		}
	}
}
