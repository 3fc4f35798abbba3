package carrier_test

import (
	"testing"

	"threshline/gateway/carrier"
)

// "*" stands for a point or a question mark by USSD, but not where the carrier parts
// the entries of a dialogue with it.
func TestAStarIsFreeWhereItPartsNothing(t *testing.T) {
	for _, c := range []struct {
		kind, how string
		want      bool
	}{
		{"ussd", "", true},
		{"ussd", `dialogue = "whole"`, false},
		{"ussd", "dialogue = \"whole\"\nseparator = \"#\"", true},
		{"ussd", `dialogue = "latest"`, true},
		{"sms", "", false},
	} {
		channel, err := carrier.New(parseConfig(t, `
name = "line"
kind = "`+c.kind+`"
reply = { body = "{{.Text}}" }
guard = { open = true }
[read]
from = "const:+33639980001"
text = "form:input"
session = "form:sid"
`+c.how+"\n"), setup())
		if err != nil {
			t.Fatal(err)
		}
		if got := channel.Star(); got != c.want {
			t.Errorf("%s %s: %v", c.kind, c.how, got)
		}
	}
}
