package carrier_test

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	webhooks "github.com/standard-webhooks/standard-webhooks/libraries/go"

	"threshline/gateway/carrier"
	"threshline/session"
)

var outgoing = session.Outgoing{ID: "ref-1", To: "+33639980001", Text: "Séchez “à l’ombre”"}

func sending(t testing.TB, send string) *carrier.Channel {
	return newChannel(t, `
name = "line"
kind = "sms"
allow_prefixes = ["+3363998"]
[read]
from = "form:from"
text = "form:text"
[reply]
via = "send"
body = "taken"
[guard]
open = true
`+send)
}

func called(t *testing.T, c *carrier.Channel, o session.Outgoing) (*http.Request, string) {
	t.Helper()
	r, err := c.Call(t.Context(), o, noon)
	if err != nil {
		t.Fatal(err)
	}
	if r.Body == nil {
		return r, ""
	}
	body, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	return r, string(body)
}

func TestACallIsMadeFromTemplates(t *testing.T) {
	c := sending(t, `
[send]
url = "https://carrier.example/out/{{query .ID}}?to={{query .To}}"
method = "PUT"
content_type = "application/json"
headers = { X-Reference = "{{.ID}}" }
body = '{"to":{{json (bare .To)}},"text":{{json .Text}},"as":{{json .Sender}},"parts":{{.Segments}}}'
sender = "Mbuyu"
token = "env:TOKEN"
token_at = "header:Authorization"
token_prefix = "Bearer "
`)
	r, body := called(t, c, outgoing)
	if r.Method != "PUT" || r.URL.String() != "https://carrier.example/out/ref-1?to=%2B33639980001" {
		t.Errorf("calls %s %s", r.Method, r.URL)
	}
	if want := `{"to":"33639980001","text":"Séchez \"à l'ombre\"","as":"Mbuyu","parts":1}`; body != want {
		t.Errorf("body %s, want %s", body, want)
	}
	if r.Header.Get("X-Reference") != "ref-1" || r.Header.Get("Authorization") != "Bearer not-a-real-secret-0123456789" {
		t.Errorf("headers %v", r.Header)
	}
}

func TestATokenCanGoIntoTheBodyOfACall(t *testing.T) {
	c := sending(t, `
[send]
url = "https://carrier.example/out"
content_type = "application/x-www-form-urlencoded; charset=iso-8859-1"
body = "key={{query .Token}}&text={{.Text}}&wide={{.Wide}}"
token = "env:TOKEN"
`)
	_, body := called(t, c, outgoing)
	if want := "key=not-a-real-secret-0123456789&text=S\xe9chez \"\xe0 l'ombre\"&wide=false"; body != want {
		t.Errorf("body %q, want %q", body, want)
	}
	if strings.Contains(fmt.Sprintf("%+v", c.Config()), "not-a-real") {
		t.Error("the configuration shows the secret")
	}
}

func TestAHeaderOfACallCannotBeBroken(t *testing.T) {
	c := sending(t, "[send]\nurl = \"https://carrier.example/\"\nheaders = { X-Text = \"{{.Text}}\" }\n")
	r, _ := called(t, c, session.Outgoing{To: "+33639980001", Text: "a\r\nX-Evil: 1"})
	if got := r.Header.Get("X-Text"); got != "a X-Evil: 1" || r.Header.Get("X-Evil") != "" {
		t.Errorf("headers %v", r.Header)
	}
}

// What we sign, the reference library takes. Source: [STANDARD-WEBHOOKS].
func TestACallIsSignedAsTheReferenceLibraryWants(t *testing.T) {
	library, err := webhooks.NewWebhook("whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw")
	if err != nil {
		t.Fatal(err)
	}
	c := sending(t, "[send]\nurl = \"https://carrier.example/\"\nbody = \"{{.Text}}\"\n[send.signature]\nform = \"standard-webhooks\"\nsecret = [\"env:KEY\"]\n")
	r, body := called(t, c, outgoing)
	if err := library.VerifyIgnoringTimestamp([]byte(body), r.Header); err != nil {
		t.Error(err)
	}
	if err := library.VerifyIgnoringTimestamp([]byte(body+" "), r.Header); err == nil {
		t.Error("another body is taken as well")
	}
}

func TestACallIsSignedInTheCarriersForm(t *testing.T) {
	c := sending(t, `
[send]
url = "https://carrier.example/out"
body = "{{.Text}}"
user = "us"
password = "env:PASSWORD"
[send.signature]
secret = ["env:KEY2"]
at = "header:X-Sign"
prefix = "v="
encoding = "hex"
timestamp_at = "header:X-At"
over = "{{.Method}} {{.Path}} {{.Timestamp}} {{.Body}}"
`)
	r, body := called(t, c, outgoing)
	want := fmt.Sprintf("v=%x", hmacSHA256("not-a-real-key-0123456789", fmt.Sprintf("POST /out %d %s", noon.Unix(), body)))
	if got := r.Header.Get("X-Sign"); got != want {
		t.Errorf("signature %s, want %s", got, want)
	}
	if user, password, ok := r.BasicAuth(); !ok || user != "us" || password != "password-0123456789" {
		t.Errorf("basic authentication %q %v", user, ok)
	}
}

func TestNothingIsSentOutsideTheRanges(t *testing.T) {
	c := sending(t, "[send]\nurl = \"https://carrier.example/\"\n")
	for _, to := range []session.Phone{"+447700900001", "32811", "PRIZES", "", "+3363998000100000"} {
		if _, err := c.Call(t.Context(), session.Outgoing{To: to, Text: "x"}, noon); !errors.Is(err, carrier.ErrNumberRange) {
			t.Errorf("%q: got %v", string(to), err)
		}
	}
	if _, err := newChannel(t, wholeChannel).Call(t.Context(), outgoing, noon); !errors.Is(err, carrier.ErrNoSend) {
		t.Errorf("a channel without send: got %v", err)
	}
}

func TestACarriersAnswerIsUnderstood(t *testing.T) {
	plain := sending(t, "[send]\nurl = \"https://carrier.example/\"\nid = \"json:/ref\"\n")
	said := sending(t, `
[send]
url = "https://carrier.example/"
ok = "json:/outcome"
ok_values = ["taken", "queued"]
final = ["bad number"]
id = "json:/ref"
`)
	inXML := sending(t, "[send]\nurl = \"https://carrier.example/\"\nok = \"xml:/r/@ok\"\nok_values = [\"1\"]\nid = \"xml:/r/id\"\n")
	inHeader := sending(t, "[send]\nurl = \"https://carrier.example/\"\nid = \"header:X-Ref\"\nok_status = [202]\nfinal_status = [500]\n")
	for _, c := range []struct {
		name    string
		channel *carrier.Channel
		status  int
		header  http.Header
		body    string
		want    carrier.Result
	}{
		{"success by status", plain, 202, nil, `{"ref":"a1"}`, carrier.Result{OK: true, CarrierID: "a1"}},
		{"success without an id", plain, 200, nil, `fine`, carrier.Result{OK: true}},
		{"a number as id", plain, 200, nil, `{"ref":12345678901234567890}`, carrier.Result{OK: true, CarrierID: "12345678901234567890"}},
		{"a server's fault", plain, 500, nil, ``, carrier.Result{Problem: "the carrier answered status 500"}},
		{"busy", plain, 503, http.Header{"Retry-After": {"30"}}, ``, carrier.Result{Slow: true, RetryAfter: 30 * time.Second, Problem: "the carrier answered status 503"}},
		{"too often, with a date", plain, 429, http.Header{"Retry-After": {"Mon, 02 Mar 2026 12:01:00 GMT"}}, ``, carrier.Result{Slow: true, RetryAfter: time.Minute, Problem: "the carrier answered status 429"}},
		{"a date that is over", plain, 429, http.Header{"Retry-After": {"Mon, 02 Mar 2026 11:00:00 GMT"}}, ``, carrier.Result{Slow: true, Problem: "the carrier answered status 429"}},
		{"a wait beyond reason", plain, 429, http.Header{"Retry-After": {"99999999999"}}, ``, carrier.Result{Slow: true, RetryAfter: 24 * time.Hour, Problem: "the carrier answered status 429"}},
		{"a request it will never take", plain, 400, nil, ``, carrier.Result{Final: true, Problem: "the carrier answered status 400"}},
		{"a key that is being renewed", plain, 401, nil, ``, carrier.Result{Problem: "the carrier answered status 401"}},
		{"a redirection", plain, 302, nil, ``, carrier.Result{Problem: "the carrier answered status 302"}},
		{"success by a field", said, 200, nil, `{"outcome":"Queued","ref":"b"}`, carrier.Result{OK: true, CarrierID: "b"}},
		{"200 with an error inside", said, 200, nil, `{"outcome":"overloaded"}`, carrier.Result{Problem: `the carrier's answer says no success at "json:/outcome"`}},
		{"200 with a final error inside", said, 200, nil, `{"outcome":"bad number"}`, carrier.Result{Final: true, Problem: `the carrier's answer says no success at "json:/outcome"`}},
		{"200 without the field", said, 200, nil, `{}`, carrier.Result{Problem: `the carrier's answer has no "json:/outcome"`}},
		{"200 with something else", said, 200, nil, `<html>`, carrier.Result{Problem: `the carrier's answer has no readable "json:/outcome"`}},
		{"an attribute", inXML, 200, nil, `<r ok="1"><id>c</id></r>`, carrier.Result{OK: true, CarrierID: "c"}},
		{"an attribute that says no", inXML, 200, nil, `<r ok="0"/>`, carrier.Result{Problem: `the carrier's answer says no success at "xml:/r/@ok"`}},
		{"a header", inHeader, 202, http.Header{"X-Ref": {"d"}}, ``, carrier.Result{OK: true, CarrierID: "d"}},
		{"a status that is not success here", inHeader, 200, nil, ``, carrier.Result{Problem: "the carrier answered status 200"}},
		{"a status that is final here", inHeader, 500, nil, ``, carrier.Result{Final: true, Problem: "the carrier answered status 500"}},
	} {
		if c.header == nil {
			c.header = http.Header{}
		}
		if got := c.channel.Understand(c.status, c.header, []byte(c.body), noon); got != c.want {
			t.Errorf("%s: got %+v, want %+v", c.name, got, c.want)
		}
	}
}

func TestCostCountsSegmentsAsSent(t *testing.T) {
	folded := sending(t, "[send]\nurl = \"https://carrier.example/\"\nper_segment = 0.5\n")
	wide := newChannel(t, `
name = "line"
kind = "sms"
ucs2 = true
read = { from = "form:f", text = "form:t" }
reply = { body = "{{.Text}}" }
guard = { open = true }
send = { url = "https://carrier.example/", per_segment = 0.5 }
`)
	text := strings.Repeat("ẹ", 100)
	if money, n := folded.Cost(text); n != 1 || money != 0.5 {
		t.Errorf("folded: %v for %d segments", money, n)
	}
	if money, n := wide.Cost(text); n != 2 || money != 1 {
		t.Errorf("UCS-2: %v for %d segments", money, n)
	}
	// 70 letters fill one UCS-2 segment, as 160 septets one of the 7-bit alphabet.
	if n, ok := wide.Budget().Count(strings.Repeat("ẹ", 70)); n != 160 || !ok {
		t.Errorf("70 letters count %d, %v", n, ok)
	}
	if n, ok := wide.Budget().Count(strings.Repeat("ẹ", 71)); n <= 160 || !ok {
		t.Errorf("71 letters count %d, %v", n, ok)
	}
	if _, ok := folded.Budget().Count("ẹ"); ok {
		t.Error("without UCS-2 the letter counts as one that can be sent")
	}
}

func TestReceiptsAreRead(t *testing.T) {
	const one = "[send]\nurl = \"https://carrier.example/\"\n[receipt]\nid = \"json:/ref\"\nstate = \"json:/now\"\ndelivered = [\"there\"]\nfailed = [\"lost\", \"late\"]\n"
	c := sending(t, one)
	for word, want := range map[string]session.OutgoingState{
		"there": session.Delivered, "THERE": session.Delivered, "lost": session.Failed, "late": session.Failed, "on its way": session.HandedOn,
	} {
		got, err := c.ReadReceipt(post("application/json", `{"ref":7,"now":"`+word+`"}`))
		if err != nil || len(got) != 1 || got[0] != (carrier.Receipt{CarrierID: "7", State: want}) {
			t.Errorf("%q: got %+v, %v", word, got, err)
		}
	}
	for _, body := range []string{`{"now":"there"}`, `{"ref":"","now":"there"}`, `{"ref":"7"}`} {
		if _, err := c.ReadReceipt(post("application/json", body)); !errors.Is(err, carrier.ErrMissing) {
			t.Errorf("%s: got %v", body, err)
		}
	}
	many := sending(t, one+"each = \"json:/all\"\n")
	got, err := many.ReadReceipt(post("application/json", `{"all":[{"ref":"a","now":"there"},{"now":"lost"},{"ref":"b","now":"lost"}]}`))
	if len(got) != 2 || got[1].State != session.Failed || !errors.Is(err, carrier.ErrMissing) {
		t.Errorf("several: got %+v, %v", got, err)
	}
	if _, err := newChannel(t, wholeChannel).ReadReceipt(post("application/json", "{}")); !errors.Is(err, carrier.ErrNoReceipts) {
		t.Errorf("a channel without receipts: got %v", err)
	}
}
