package main

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"time"

	"threshline/session"
)

// simMessage is one message as the carrier delivers it, and what it was answered.
type simMessage struct {
	from          *simPerson
	kind          session.Kind
	text, sid, id string
	answer        string
	more          bool
	at            time.Time
	duplicate     bool // it had come before, says the store
	filed, queued int  // checks and messages, by it
	redialled     bool // with the ids of the dial before, after which nothing was said
}

// post delivers a request to the station.
func (s *simulation) post(path, kind, body string) (status int, text string) {
	w := s.ask(func() *http.Request {
		r := httptest.NewRequest(http.MethodPost, path, strings.NewReader(body))
		r.Header.Set("Content-Type", kind)
		r.Header.Set("X-Token", valleyToken)
		return r
	})
	s.more = w.Header().Get("X-More") == "true"
	return w.Code, w.Body.String()
}

// send delivers a new message, and counts what came of it.
func (p *simPerson) send(kind session.Kind, text, sid string) *simMessage {
	p.messages++
	m := &simMessage{from: p, kind: kind, text: text, sid: sid, id: fmt.Sprintf("%s-%d", string(p.number[1:]), p.messages)}
	if p.s.reusesIDs() && kind == session.USSD {
		p.inSession++
		m.id = fmt.Sprint(p.inSession)
	}
	before := p.last
	if !m.deliver() {
		return nil
	}
	switch text {
	case "STOP":
		p.stopped = time.Now()
	case "START":
		p.stopped = time.Time{}
	}
	if m.filed > 0 {
		p.s.happened.add("check by " + string(kind))
	}
	if p.last = m; p.s.left {
		p.gone()
	}
	m.redialled = before != nil && before.kind == session.USSD && before.text+m.text == "" && before.id == m.id && before.sid == m.sid
	p.s.truth.heard(p.s, m)
	return m
}

// deliver has the carrier deliver it; false when it was turned away.
func (m *simMessage) deliver() bool {
	s, path, kind := m.from.s, "/in/valley-sms", "application/json"
	b, _ := json.Marshal(map[string]string{"from": string(m.from.number), "text": m.text, "id": m.id})
	body := string(b)
	if m.kind == session.USSD {
		path, kind = "/in/valley-ussd", "application/x-www-form-urlencoded"
		body = url.Values{"msisdn": {string(m.from.number)}, "input": {m.text}, "sid": {m.sid}, "mid": {m.id}}.Encode()
	}
	filed, queued := len(s.truth.slips), len(s.truth.order)
	s.duplicate, s.talking, s.left = false, true, false
	status, text := s.post(path, kind, body)
	s.talking = false
	m.filed, m.queued, m.duplicate = len(s.truth.slips)-filed, len(s.truth.order)-queued, s.duplicate && !s.redelivered
	if m.from.role != "" {
		s.note("%s%s %s %q: %d %q", s.askedOf(), string(m.from.number), m.kind, m.text, status, text)
	}
	switch status {
	case http.StatusOK:
		m.answer, m.more, m.at = text, s.more, time.Now()
		return true
	case http.StatusTooManyRequests, http.StatusServiceUnavailable:
		return false
	}
	s.wrong(ruleAnswers, "a message was answered %d %s", status, text)
	return false
}

// reusesIDs reports whether the carrier gives a phone the same session id each time,
// and counts the messages of each session anew: in every other run.
func (s *simulation) reusesIDs() bool { return s.seed%4 > 1 }

// again delivers the last message of somebody once more.
func (s *simulation) again() {
	p := s.anybody()
	if p.last == nil || time.Since(p.last.at) > 4*time.Minute || s.jumped {
		return
	}
	first := *p.last
	repeat := first
	if !repeat.deliver() {
		return
	}
	if repeat.answer != first.answer {
		s.wrong(ruleAlike, "delivered again, %q is answered %q, before %q", first.text, repeat.answer, first.answer)
	}
	if repeat.filed+repeat.queued > 0 {
		s.wrong(ruleAlike, "delivered again, %q filed %d checks and queued %d messages", first.text, repeat.filed, repeat.queued)
	}
}
