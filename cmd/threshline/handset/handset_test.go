package handset_test

import (
	"bytes"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"threshline/cmd/threshline/handset"
	"threshline/gateway/carrier"
	"threshline/session"
)

// gatewayStub answers each request with how many came and what was keyed in, and
// ends the session after three.
func gatewayStub(t *testing.T) (*httptest.Server, *[]string) {
	t.Helper()
	var got []string
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if err := r.ParseForm(); err != nil {
			t.Error(err)
		}
		got = append(got, r.URL.Path+" "+r.Form.Get("from")+" "+r.Form.Get("text"))
		if r.Form.Get("text") == "boom" {
			http.Error(w, "no", http.StatusServiceUnavailable)
			return
		}
		w.Header().Set(handset.MoreHeader, fmt.Sprint(len(got)%3 != 0))
		fmt.Fprintf(w, "Screen %d for %q", len(got), r.Form.Get("text"))
	}))
	t.Cleanup(server.Close)
	return server, &got
}

func channel(dialogue string) carrier.Config {
	return carrier.Config{Name: "valley-ussd", Kind: session.USSD, Read: carrier.ReadConfig{
		From: "form:from", Text: "form:text", Session: "form:sid", Message: "form:mid", Dialogue: dialogue,
	}}
}

// A script is played as keys, and each screen printed as a basic phone shows it.
func TestAScriptIsPlayed(t *testing.T) {
	for _, c := range []struct{ dialogue, script, keyed string }{
		{"latest", "1\n2\n", "|1|2"},
		{"whole", "1\n2\n", "|1|1*2"},
		{"latest", "1\n:again\n", "|1|1"},
		{"latest", ":drop\n1\n", "||1"},                                    // a line after a lost session dials first
		{"latest", "1\n2\n3\n", "|1|2||3"},                                 // and so after one that has ended
		{"latest", "1\n:quit\n2\n", "|1"},                                  // what follows is not played
		{"latest", "1\r\n", "|1"},                                          // lines of another system
		{"latest", strings.Repeat("9", 60), "|" + strings.Repeat("9", 60)}, // no end of line
	} {
		server, got := gatewayStub(t)
		var out bytes.Buffer
		phone := handset.New(server.URL+"/", channel(c.dialogue), "+33639980042")
		if err := phone.Play(t.Context(), strings.NewReader(c.script), &out, false); err != nil {
			t.Errorf("%q: %v", c.script, err)
		}
		keyed := make([]string, len(*got))
		for i, request := range *got {
			keyed[i] = strings.TrimPrefix(request, "/in/valley-ussd +33639980042 ")
		}
		if strings.Join(keyed, "|") != c.keyed {
			t.Errorf("%s, %q: the gateway got %q, want %q", c.dialogue, c.script, keyed, c.keyed)
		}
		if !strings.Contains(out.String(), "| Screen 1 for \"\"          |") || !strings.Contains(out.String(), "/160 septets") {
			t.Errorf("%q: no screen in\n%s", c.script, &out)
		}
	}
}

// A fault ends a script; to a person it is said, and they go on.
func TestAFaultEndsAScriptButNotAPerson(t *testing.T) {
	server, _ := gatewayStub(t)
	for _, talking := range []bool{false, true} {
		var out bytes.Buffer
		err := handset.New(server.URL, channel("latest"), "+33639980042").Play(t.Context(), strings.NewReader("boom\n7\n"), &out, talking)
		if (err == nil) != talking || strings.Contains(out.String(), `for "7"`) != talking || strings.Contains(out.String(), "Type keys") != talking {
			t.Errorf("talking %v: %v\n%s", talking, err, &out)
		}
	}
}
