package carrier_test

import (
	"strings"
	"testing"

	"threshline/gateway/carrier"
	"threshline/session"
)

func replying(t *testing.T, reply string) *carrier.Channel {
	return newChannel(t, `
name = "line"
kind = "ussd"
read = { from = "form:f", text = "form:t", session = "form:s" }
guard = { open = true }
[reply]
`+reply)
}

func TestAReplyCannotBreakOutOfItsPlace(t *testing.T) {
	c := replying(t, `
body = '{"t":{{json .Text}},"x":"{{xml .Text}}","q":"{{query .Text}}"}'
headers = { X-Text = "{{.Text}}" }
`)
	response, err := c.Write(carrier.Answer{Reply: session.Reply{Text: "a\"<b>\r\nX-Evil: 1&"}})
	if err != nil {
		t.Fatal(err)
	}
	want := `{"t":"a\"<b>\r\nX-Evil: 1&","x":"a&#34;&lt;b&gt;&#xD;&#xA;X-Evil: 1&amp;","q":"a%22%3Cb%3E%0D%0AX-Evil%3A+1%26"}`
	if got := string(response.Body); got != want {
		t.Errorf("body %s, want %s", got, want)
	}
	if got := response.Header.Get("X-Text"); got != `a"<b> X-Evil: 1&` {
		t.Errorf("header %q", got)
	}
}

func TestAReplyIsInTheCharsetItSays(t *testing.T) {
	c := replying(t, "body = \"{{.Text}}\"\ncontent_type = \"text/plain; charset=iso-8859-1\"\n")
	response, err := c.Write(carrier.Answer{Reply: session.Reply{Text: "séchez: 5 €"}})
	if err != nil || string(response.Body) != "s\xe9chez: 5 ?" {
		t.Errorf("got %q, %v", response.Body, err)
	}
}

func TestAReplyIsFoldedUnlessUCS2IsLetThrough(t *testing.T) {
	const text = "ọ̀pọ̀ ç’"
	folded := replying(t, "body = \"{{.Text}}\"\n")
	response, err := folded.Write(carrier.Answer{Reply: session.Reply{Text: text}})
	if err != nil || string(response.Body) != "opo c'" {
		t.Errorf("got %q, %v", response.Body, err)
	}
	cfg := folded.Config()
	cfg.UCS2 = true
	wide, err := carrier.New(cfg, setup())
	if err != nil {
		t.Fatal(err)
	}
	response, err = wide.Write(carrier.Answer{Reply: session.Reply{Text: text}})
	if err != nil || string(response.Body) != text {
		t.Errorf("with UCS-2: got %q, %v", response.Body, err)
	}
}

func TestNothingIsShownWhereNobodyReads(t *testing.T) {
	c := replying(t, "body = \"show {{.Text}}\"\nsilent_body = \"over\"\nsilent_status = 204\n")
	for name, a := range map[string]carrier.Answer{
		"a silent reply":           {Reply: session.Reply{Text: "x", Silent: true}},
		"the session ended":        {Reply: session.Reply{Text: "x"}, To: carrier.Inbound{Event: session.End}},
		"the session ran too long": {Reply: session.Reply{Text: "x"}, To: carrier.Inbound{Event: session.Timeout}},
	} {
		response, err := c.Write(a)
		if err != nil || response.Status != 204 || string(response.Body) != "over" {
			t.Errorf("%s: got %d %q, %v", name, response.Status, response.Body, err)
		}
	}
}

func TestAnAcknowledgementHoldsNoReply(t *testing.T) {
	c := sending(t, "[send]\nurl = \"https://carrier.example/\"\n")
	cfg := c.Config()
	cfg.Reply.Body = "taken {{.Text}}|{{.Message}}"
	c, err := carrier.New(cfg, setup())
	if err != nil {
		t.Fatal(err)
	}
	response, err := c.Write(carrier.Answer{Reply: session.Reply{Text: "secret grade"}, To: carrier.Inbound{MessageID: "7"}})
	if err != nil || strings.Contains(string(response.Body), "grade") || !c.ByCall() || string(response.Body) != "taken |7" {
		t.Errorf("got %q, %v", response.Body, err)
	}
}
