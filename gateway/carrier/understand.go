package carrier

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Result is what a carrier's answer to a call says.
type Result struct {
	OK        bool
	CarrierID string // the carrier's own id of the message; may be empty
	// Final says that trying again is of no use.
	Final bool
	// Slow says that the carrier asks to be called less often.
	Slow bool
	// RetryAfter is how long the carrier asks to wait; 0 when it does not say.
	RetryAfter time.Duration
	// Problem says what went wrong, without a number, text or secret in it.
	Problem string
}

// Understand reads a carrier's answer to a call: success by its status, and by a field
// if the channel says so. An answer that cannot be understood is not a success and may
// be tried again.
func (c *Channel) Understand(status int, header http.Header, body []byte, now time.Time) Result {
	if c.send == nil {
		return Result{Final: true, Problem: ErrNoSend.Error()}
	}
	s := c.send
	result := Result{RetryAfter: retryAfter(header.Get("Retry-After"), now)}
	if !s.okStatus(status) {
		result.Final = s.finalStatus(status)
		// Source: [STANDARD-WEBHOOKS]: 429, 502 and 504 ask to slow down.
		result.Slow = status == 429 || status == 502 || status == 503 || status == 504
		result.Problem = fmt.Sprintf("the carrier answered status %d", status)
		return result
	}
	answer, err := newSource(&Request{Method: http.MethodPost, URL: &url.URL{}, Header: header, Body: body}, "", "")
	if err != nil {
		answer = &source{r: &Request{URL: &url.URL{}, Header: header, Body: body}}
	}
	if s.ok.set() {
		word, found, err := answer.find(s.ok)
		switch {
		case err != nil:
			result.Problem = fmt.Sprintf("the carrier's answer has no readable %q", s.ok.text)
			return result
		case !found:
			result.Problem = fmt.Sprintf("the carrier's answer has no %q", s.ok.text)
			return result
		case !containsFold(s.cfg.OKValues, word):
			result.Final = containsFold(s.cfg.Final, word)
			result.Problem = fmt.Sprintf("the carrier's answer says no success at %q", s.ok.text)
			return result
		}
	}
	result.OK = true
	if s.id.set() {
		// A success without an id is still one: sending again would be worse.
		result.CarrierID, _, _ = answer.find(s.id)
	}
	return result
}

func containsFold(words []string, word string) bool {
	return slices.ContainsFunc(words, func(w string) bool { return strings.EqualFold(w, strings.TrimSpace(word)) })
}

func (s *sender) okStatus(status int) bool {
	if len(s.cfg.OKStatus) > 0 {
		return slices.Contains(s.cfg.OKStatus, status)
	}
	return status/100 == 2
}

// passing are statuses of 400 to 499 that may change at another try: a key being
// renewed, a clash, too early, too often.
var passing = []int{401, 403, 408, 409, 423, 425, 429}

func (s *sender) finalStatus(status int) bool {
	if len(s.cfg.FinalStatus) > 0 {
		return slices.Contains(s.cfg.FinalStatus, status)
	}
	return status/100 == 4 && !slices.Contains(passing, status)
}

// maxRetryAfter bounds what a carrier may ask for. Our own choice.
const maxRetryAfter = 24 * time.Hour

// retryAfter reads seconds or a date. Source: [RFC-9110 §10.2.3].
func retryAfter(text string, now time.Time) time.Duration {
	text = strings.TrimSpace(text)
	if seconds, err := strconv.Atoi(text); err == nil {
		return min(max(0, time.Duration(min(seconds, 1<<20))*time.Second), maxRetryAfter)
	}
	at, err := http.ParseTime(text)
	if err != nil {
		return 0
	}
	return min(max(0, at.Sub(now)), maxRetryAfter)
}
