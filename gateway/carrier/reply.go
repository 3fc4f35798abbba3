package carrier

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"text/template"

	"golang.org/x/text/encoding"

	"threshline/gateway/gsm"
	"threshline/session"
)

// Response is the answer to a carrier's request.
type Response struct {
	Status int
	Header http.Header
	Body   []byte
}

// Answer is a reply and the message that it answers.
type Answer struct {
	Reply session.Reply
	To    Inbound
}

// replyData is what a reply's templates see.
type replyData struct {
	Text    string
	More    bool
	Silent  bool
	To      string
	Session string
	Message string
	Channel string
	// Replies are all answers of a batch; the fields above are the first's.
	Replies []replyData
}

// Segments is how many messages the text is sent as.
func (d replyData) Segments() int { return len(gsm.Segments(d.Text)) }

// phrase is one template of an answer.
type phrase struct {
	source   string
	template *template.Template
}

// say fills the phrase in. The plainest ones, which most channels use, are
// filled in without running a template.
func (p phrase) say(d *replyData) (string, error) {
	switch {
	case p.source == "{{.Text}}":
		return d.Text, nil
	case p.source == "{{.More}}":
		return strconv.FormatBool(d.More), nil
	case !strings.Contains(p.source, "{{"):
		return p.source, nil
	}
	return render(p.template, *d)
}

// writer is a ReplyConfig ready to use.
type writer struct {
	cfg         ReplyConfig
	body        phrase
	silent      phrase
	headers     map[string]phrase // by canonical name
	contentType []string          // shared by all answers, never changed; nil for none
	charset     encoding.Encoding // nil is UTF-8
}

func newWriter(cfg ReplyConfig) (w writer, key string, err error) {
	w.cfg = cfg
	sample := replyData{Text: "text", To: "+33639980000", Session: "s", Message: "m"}
	sample.Replies = []replyData{sample}
	w.body.source, w.silent.source = cfg.Body, cfg.SilentBody
	if w.body.template, err = compile("reply.body", cfg.Body, sample); err != nil {
		return w, "reply.body", err
	}
	if w.silent.template, err = compile("reply.silent_body", cfg.SilentBody, sample); err != nil {
		return w, "reply.silent_body", err
	}
	headers, err := compileAll("reply.headers", cfg.Headers, sample)
	if err != nil {
		return w, "reply.headers", err
	}
	w.headers = make(map[string]phrase, len(headers))
	for name, t := range headers {
		w.headers[http.CanonicalHeaderKey(name)] = phrase{cfg.Headers[name], t}
	}
	if cfg.ContentType != "" {
		w.contentType = []string{cfg.ContentType}
	}
	if w.charset, err = charsetOfType(cfg.ContentType); err != nil {
		return w, "reply.content_type", err
	}
	return w, "", nil
}

// Shown is the text that a reply shows on the phone: folded to what a basic
// phone can show, unless the channel lets UCS-2 through.
func (c *Channel) Shown(text string) string {
	if c.cfg.UCS2 {
		return text
	}
	return gsm.Fold(text)
}

// Write makes the answer to a request from the replies to its messages, in
// their order. A reply that goes out as a message of its own, or is silent,
// leaves its text empty here.
func (c *Channel) Write(answers ...Answer) (Response, error) {
	var data replyData
	silent := true
	for i, a := range answers {
		one := c.replyData(a)
		silent = silent && one.Silent
		if i == 0 {
			data = one
		}
		data.Replies = append(data.Replies, one)
	}
	body, status := c.write.body, or(c.write.cfg.Status, http.StatusOK)
	if silent && !c.ByCall() {
		body, status = c.write.silent, or(c.write.cfg.SilentStatus, status)
	}
	text, err := body.say(&data)
	if err != nil {
		return Response{}, fmt.Errorf("carrier: channel %q: reply.body: %w", c.cfg.Name, err)
	}
	response := Response{Status: status, Header: make(http.Header, 1+len(c.write.headers))}
	if response.Body, err = encode(text, c.write.charset); err != nil {
		return Response{}, fmt.Errorf("carrier: channel %q: reply.body: %w", c.cfg.Name, err)
	}
	if c.write.contentType != nil {
		response.Header["Content-Type"] = c.write.contentType
	}
	for name, p := range c.write.headers {
		value, err := p.say(&data)
		if err != nil {
			return Response{}, fmt.Errorf("carrier: channel %q: reply.headers.%s: %w", c.cfg.Name, name, err)
		}
		response.Header[name] = []string{oneLine.Replace(value)}
	}
	return response, nil
}

func (c *Channel) replyData(a Answer) replyData {
	d := replyData{
		Silent: a.Reply.Silent, More: a.Reply.More, To: string(a.To.From),
		Session: a.To.NetworkSession, Message: a.To.MessageID, Channel: c.cfg.Name,
	}
	if a.To.Event == session.End || a.To.Event == session.Timeout {
		d.Silent = true // nobody is there to read it
	}
	if !d.Silent && !c.ByCall() {
		d.Text = c.Shown(a.Reply.Text)
	}
	return d
}

// or is the first of two numbers that is not 0.
func or(a, b int) int {
	if a != 0 {
		return a
	}
	return b
}
