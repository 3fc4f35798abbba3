package report

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"
)

// TestHowAListIsLaidOutMakesNoDifference: one object to a line, several, indented, behind
// empty lines, longer than what is read at once; also beside faults that cost one lot.
func TestHowAListIsLaidOutMakesNoDifference(t *testing.T) {
	lots := strings.Split(strings.TrimSpace(string(someLots(40))), "\n")
	lots = append(lots, `[]`, `5`, `{"sample_g":0}`, `{"nonsense":1}`, lots[0], `{"kg":"x"}`, `{"counted":1,"counted":1}`, lots[1])
	want, n := grade(t, Grader{Form: JSON, Advise: true}, strings.Join(lots, "\n")+"\n")
	if n.Lots != len(lots) || n.Faults != 6 {
		t.Fatalf("%+v of %d lots", n, len(lots))
	}
	widened := func(text string) string { return strings.Replace(text, ",", ","+strings.Repeat(" ", 1<<17), 1) }
	var indented bytes.Buffer
	for _, lot := range lots {
		if err := json.Indent(&indented, []byte(lot), "", "\t"); err != nil {
			t.Fatal(err)
		}
		indented.WriteByte('\n')
	}
	for layout, text := range map[string]string{
		"no end of line": strings.Join(lots, "\n"), "empty lines": "\n \r\n" + strings.Join(lots, "\r\n\t\n  "),
		"one line": strings.Join(lots, " ") + "\n", "two to a line": strings.Join(lots[:2], "") + "\n" + strings.Join(lots[2:], "\n"),
		"a wide line": widened(strings.Join(lots, "\n")), "a wide line later": lots[0] + "\n" + widened(strings.Join(lots[1:], "\n")),
		"indented": indented.String(),
	} {
		if got, _ := grade(t, Grader{Form: JSON, Advise: true}, text); got != want {
			t.Errorf("%s: %d bytes of answers, want %d", layout, len(got), len(want))
		}
	}
}
