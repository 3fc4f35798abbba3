package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"threshline/session"
)

// What a phone sends: it agrees once, then checks lot after lot.
var (
	welcome = []string{"", "1", "1", "1"}
	oneLot  = []string{"1", "8", "1", "13.8 14.1 13.9", "200", "2.4 0.6", "155.2 1.1", "0 1 2 0", "1", "1", "00"}
)

// phone is one phone and its carrier, which delivers each message again until
// it is answered.
type phone struct {
	number session.Phone
	kind   session.Kind
	town   *town
	post   *http.Client
	random *rand.Rand
	carry  *carrierStub // takes what goes out by a call; only for SMS
	busy   bool         // the gateway says that it is busy in a text of its own

	sent    []string // entries that were answered, in their order
	replies []string // and what each was answered
	said    []time.Time
	pending bool // an entry was sent and not answered yet
	checks  int  // lots that were filed, and answered
}

// slipShown finds the slip on a grade's screen.
var slipShown = regexp.MustCompile(`Slip ([2-9A-Z]{7})`)

// live is the phone's life until the town closes.
func (p *phone) live(t *testing.T) {
	defer p.town.update(func() { p.town.left++ })
	if err := p.talk(); err != nil {
		t.Errorf("%v, entry %d: %v", p.number, len(p.sent), err)
		p.town.update(func() { p.town.broken = true })
	}
}

func (p *phone) talk() error {
	for _, entry := range welcome {
		if p.kind == session.SMS && entry == "" {
			entry = "HELLO"
		}
		if err := p.say(entry); err != nil {
			return err
		}
	}
	for lot := 0; !p.town.closing(); lot++ {
		entries := oneLot
		if p.kind == session.SMS {
			entries = []string{shorthandLot(lot)}
		}
		for _, entry := range entries {
			if err := p.say(entry); err != nil {
				return err
			}
		}
		if p.kind == session.SMS {
			if err := p.confirmDelivery(); err != nil {
				return err
			}
		}
	}
	return nil
}

// shorthandLot is a whole check in one message, a little different each time:
// the same text again and again is taken for two machines that answer each other.
func shorthandLot(n int) string {
	return fmt.Sprintf("M 13.%d 13.%d 13.9 S 200 O 2.4 I 0.6 B 155.2 T 1.1 C 100 P 0 Y 1 R 2 V 1 BAG %dx75", n%10, n/10%10, 2+n/100)
}

// say sends one entry until it is answered, now and then once more although
// it was, and holds what an answer must be.
func (p *phone) say(entry string) error {
	id := p.messageID(len(p.sent))
	p.pending = true
	reply, err := p.deliver(entry, id)
	if err != nil {
		return err
	}
	if p.random.IntN(8) == 0 {
		again, err := p.deliver(entry, id)
		if err != nil {
			return err
		}
		if again != reply {
			return fmt.Errorf("delivered again, %q is answered %q, before %q", entry, again, reply)
		}
	}
	p.pending = false
	p.sent, p.replies, p.said = append(p.sent, entry), append(p.replies, reply), append(p.said, time.Now())
	if slipShown.MatchString(reply) || strings.HasPrefix(entry, "M ") {
		p.checks++
	}
	p.town.update(func() { p.town.acks++ })
	// A late copy of an older message changes nothing, whatever came since; one of a
	// dial is another dial.
	if old := p.random.IntN(len(p.sent)); p.random.IntN(16) == 0 && p.sent[old] != "" && time.Since(p.said[old]) < keptAtLeast {
		again, err := p.deliver(p.sent[old], p.messageID(old))
		if err != nil || again != p.replies[old] {
			return fmt.Errorf("a late copy of %q is answered %q (%v), before %q", p.sent[old], again, err, p.replies[old])
		}
	}
	return nil
}

// keptAtLeast is less than the five minutes for which the answer to a screen is
// kept: after them a late copy is another message.
const keptAtLeast = 4 * time.Minute

// messageID is the carrier's id of the phone's n-th message.
func (p *phone) messageID(n int) string { return fmt.Sprintf("%s-%d", string(p.number[1:]), n) }

// deliver sends a message as a carrier does: over and over until it is taken.
func (p *phone) deliver(text, id string) (reply string, err error) {
	channel, kind, body := "valley-ussd", "application/x-www-form-urlencoded", url.Values{
		"msisdn": {string(p.number)}, "input": {text}, "sid": {"s" + string(p.number[1:])}, "mid": {id},
	}.Encode()
	if p.kind == session.SMS {
		channel, kind = "valley-sms", "application/json"
		b, err := json.Marshal(map[string]string{"from": string(p.number), "text": text, "id": id})
		if err != nil {
			return "", err
		}
		body = string(b)
	}
	return p.request("/in/"+channel, kind, body)
}

// request posts until the answer is 200. An answer that breaks off is the
// kill's doing, or a fault. Being told to come again is met by coming again.
func (p *phone) request(path, contentType, body string) (string, error) {
	for wait := time.Millisecond; ; wait = min(2*wait, 500*time.Millisecond) {
		address, move := p.town.find()
		req, err := http.NewRequest(http.MethodPost, "http://"+address+path, strings.NewReader(body))
		if err != nil {
			return "", err
		}
		req.Header.Set("Content-Type", contentType)
		req.Header.Set("X-Token", valleyToken)
		status, text, err := exchangeOnce(p.post, req)
		switch {
		case err == nil && p.busy && strings.HasPrefix(text, "Busy."):
			<-time.After(wait)
		case err == nil && status == http.StatusOK:
			return text, nil
		case err == nil && status == http.StatusServiceUnavailable:
			<-time.After(wait) // a carrier's own patience
		case err == nil:
			return "", fmt.Errorf("%s: %d %s", path, status, text)
		case !p.town.moved(move):
			return "", fmt.Errorf("nobody killed the program, but: %w", err)
		}
	}
}

func exchangeOnce(client *http.Client, req *http.Request) (status int, text string, err error) {
	resp, err := client.Do(req)
	if err != nil {
		return 0, "", err
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	return resp.StatusCode, string(body), err
}

// confirmDelivery has the carrier say that a text has arrived: some of those
// it took since, in any order.
func (p *phone) confirmDelivery() error {
	for _, id := range p.carry.delivered(p.number) {
		receipt := fmt.Sprintf(`{"id":%q,"state":"there"}`, id)
		if _, err := p.request("/receipt/valley-sms", "application/json", receipt); err != nil {
			return err
		}
	}
	return nil
}
