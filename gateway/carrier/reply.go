package carrier

import (
	"fmt"
	"net/http"
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
	Text     string
	More     bool
	Silent   bool
	To       string
	Session  string
	Message  string
	Channel  string
	Segments int
	// Replies are all answers of a batch; the fields above are the first's.
	Replies []replyData
}

// writer is a ReplyConfig ready to use.
type writer struct {
	cfg     ReplyConfig
	body    *template.Template
	silent  *template.Template
	headers map[string]*template.Template
	charset encoding.Encoding // nil is UTF-8
}

func newWriter(cfg ReplyConfig) (w writer, key string, err error) {
	w.cfg = cfg
	sample := replyData{Text: "text", To: "+33639980000", Session: "s", Message: "m"}
	sample.Replies = []replyData{sample}
	if w.body, err = compile("reply.body", cfg.Body, sample); err != nil {
		return w, "reply.body", err
	}
	if w.silent, err = compile("reply.silent_body", cfg.SilentBody, sample); err != nil {
		return w, "reply.silent_body", err
	}
	if w.headers, err = compileAll("reply.headers", cfg.Headers, sample); err != nil {
		return w, "reply.headers", err
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
	text, err := render(body, data)
	if err != nil {
		return Response{}, fmt.Errorf("carrier: channel %q: reply.body: %w", c.cfg.Name, err)
	}
	response := Response{Status: status, Header: http.Header{}}
	if response.Body, err = encode(text, c.write.charset); err != nil {
		return Response{}, fmt.Errorf("carrier: channel %q: reply.body: %w", c.cfg.Name, err)
	}
	if c.write.cfg.ContentType != "" {
		response.Header.Set("Content-Type", c.write.cfg.ContentType)
	}
	for name, t := range c.write.headers {
		value, err := render(t, data)
		if err != nil {
			return Response{}, fmt.Errorf("carrier: channel %q: reply.headers.%s: %w", c.cfg.Name, name, err)
		}
		response.Header.Set(name, oneLine.Replace(value))
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
		d.Segments = len(gsm.Segments(d.Text))
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
