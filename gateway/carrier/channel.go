package carrier

import (
	"cmp"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"github.com/nyaruka/phonenumbers"

	"threshline/gateway/gsm"
	"threshline/session"
)

// Setup is what a channel needs besides its own configuration.
type Setup struct {
	// Region is the programme's, for channels that name none.
	Region string
	// Secrets looks secrets up; nil is Secrets(".").
	Secrets Lookup
	// Unguarded leaves the secrets alone: the channel reads and writes, but
	// admits and sends nothing. For looking at a captured request.
	Unguarded bool
}

// Channel is one configured way in and out of a carrier. It is safe for use
// by several goroutines.
type Channel struct {
	cfg       Config
	region    string
	unguarded bool
	read      reader
	write     writer
	guard     guard
	send      *sender
	receipt   *receiver
}

// Words of the configuration.
const (
	dialogueLatest = "latest"
	dialogueWhole  = "whole"
	codingPlain    = "plain"
	codingHex      = "ucs2-hex"
	viaResponse    = "response"
	viaSend        = "send"
)

// DefaultBudget is a channel's budget, in septets, when it sets none: one SMS
// segment, and safe for USSD. Source: [TS-23.038].
const DefaultBudget = 160

// maxSMSBudget is ten segments, more than anybody should pay for. Our own choice.
const maxSMSBudget = 10 * gsm.PartSeptets

const defaultMaxBody = 64 << 10

// New makes a channel, or says in [*ConfigError]s, joined, what is wrong with
// its configuration.
func New(cfg Config, setup Setup) (*Channel, error) {
	c := &Channel{cfg: cfg, region: strings.ToUpper(cfg.Region), unguarded: setup.Unguarded}
	c.region = cmp.Or(c.region, strings.ToUpper(setup.Region))
	var problems []error
	note := func(key string, err error) {
		if err != nil {
			problems = append(problems, &ConfigError{cfg.Name, key, err})
		}
	}
	c.validate(note)
	c.read = newReader(cfg, note)
	var key string
	var err error
	c.write, key, err = newWriter(cfg.Reply)
	note(key, err)
	if !setup.Unguarded {
		c.guard, key, err = newGuard(cfg.Guard, setup.Secrets)
		note(key, err)
		if cfg.Guard.Signature != nil {
			c.guard.signature, key, err = newVerifier(*cfg.Guard.Signature, c.read, setup.Secrets)
			note("guard.signature."+key, err)
		}
	}
	if cfg.Send != nil {
		c.send, key, err = newSender(*cfg.Send, setup)
		note("send."+key, err)
	}
	if cfg.Receipt != nil {
		c.receipt, key, err = newReceiver(*cfg.Receipt)
		note("receipt."+key, err)
		if err == nil && c.guard.signature != nil {
			note("guard.signature.over", c.guard.signature.coversReceipts(c.receipt))
		}
	}
	if len(problems) > 0 {
		return nil, errors.Join(problems...)
	}
	return c, nil
}

func (c *Channel) validate(note func(key string, err error)) {
	cfg := c.cfg
	want := func(ok bool, key, format string, args ...any) {
		if !ok {
			note(key, fmt.Errorf(format, args...))
		}
	}
	want(pathName(cfg.Name), "name", "want letters, digits, - and _, since it is part of the address /in/NAME")
	want(cfg.Kind == session.USSD || cfg.Kind == session.SMS, "kind", "%q is not known: want \"ussd\" or \"sms\"", cfg.Kind)
	most := maxSMSBudget
	if cfg.Kind == session.USSD {
		most = gsm.MaxUSSDSeptets
	}
	want(cfg.Budget == 0 || cfg.Budget >= 40 && cfg.Budget <= most, "budget", "is %d: want septets, 40 to %d", cfg.Budget, most)
	want(c.region == "" || phonenumbers.GetCountryCodeForRegion(c.region) != 0, "region", "%q is not a country code such as \"FR\"", c.region)
	for _, prefix := range cfg.AllowPrefixes {
		digits, plus := strings.CutPrefix(prefix, "+")
		want(plus && allDigits(digits), "allow_prefixes", "%q: want a plus and digits, such as \"+3363998\"", prefix)
	}
	switch cfg.Reply.Via {
	case "", viaResponse:
		want(cfg.Reply.Body != "", "reply.body", "is missing: want a template such as \"{{.Text}}\"")
	case viaSend:
		want(cfg.Kind == session.SMS, "reply.via", "a USSD screen can only go out in the response")
		want(cfg.Send != nil, "reply.via", "\"send\" needs [channel.send]")
	default:
		want(false, "reply.via", "%q is not known: want \"response\" or \"send\"", cfg.Reply.Via)
	}
	for key, status := range map[string]int{"reply.status": cfg.Reply.Status, "reply.silent_status": cfg.Reply.SilentStatus} {
		want(status == 0 || status >= 200 && status <= 599, key, "is %d: want an HTTP status, 200 to 599", status)
	}
}

// pathName reports whether a channel's name can stand in an address as it is.
func pathName(s string) bool {
	for _, r := range s {
		if (r < 'a' || r > 'z') && (r < 'A' || r > 'Z') && (r < '0' || r > '9') && r != '-' && r != '_' {
			return false
		}
	}
	return s != ""
}

// newReader makes a ReadConfig ready to use.
func newReader(cfg Config, note func(key string, err error)) reader {
	read := cfg.Read
	r := reader{cfg: read, events: map[string]session.Event{}}
	for _, p := range []struct {
		key, text string
		into      *place
	}{
		{"from", read.From, &r.from}, {"text", read.Text, &r.text}, {"session", read.Session, &r.session},
		{"message", read.Message, &r.message}, {"event", read.Event, &r.event}, {"coding", read.Coding, &r.coding},
		{"each", read.Each, &r.each},
	} {
		var err error
		*p.into, err = parsePlace(p.text)
		note("read."+p.key, err)
	}
	want := func(ok bool, key, format string, args ...any) {
		if !ok {
			note("read."+key, fmt.Errorf(format, args...))
		}
	}
	odd, ok := oneForm(r.from, r.text, r.session, r.message, r.event, r.coding, r.each)
	want(ok, "from", "and the other places need the body to be two things at once: %q is the odd one", odd.text)
	want(read.From != "", "from", "is missing: where does the sender's number stand?")
	want(read.Text != "", "text", "is missing: where does the text stand?")
	want(read.Dialogue == "" || read.Dialogue == dialogueLatest || read.Dialogue == dialogueWhole,
		"dialogue", "%q is not known: want \"latest\" or \"whole\"", read.Dialogue)
	want(read.Dialogue != dialogueWhole || cfg.Kind == session.USSD && read.Session != "",
		"dialogue", "\"whole\" needs kind = \"ussd\" and read.session")
	want(cfg.Kind != session.USSD || read.Session != "", "session", "is missing: where does the id of the network session stand?")
	want(read.Each == "" || r.each.kind == "json" || r.each.kind == "xml", "each", "want json:/POINTER to an array, or xml:XPATH")
	want(read.TextCoding == "" || read.TextCoding == codingPlain || read.TextCoding == codingHex,
		"text_coding", "%q is not known: want \"plain\" or \"ucs2-hex\"", read.TextCoding)
	want((read.Coding == "") == (len(read.UCS2) == 0), "coding", "goes together with ucs2, its values for hex")
	want(slices.Contains([]string{"", numbersAuto, numbersInternational, numbersLocal}, read.Numbers),
		"numbers", "%q is not known: want \"auto\", \"international\" or \"local\"", read.Numbers)
	want(read.MaxBody >= 0 && read.MaxBody <= 1<<20, "max_body", "is %d: want bytes, at most 1048576", read.MaxBody)
	for _, m := range read.Methods {
		want(m == http.MethodGet || m == http.MethodPost || m == http.MethodPut, "methods", "%q: want \"GET\", \"POST\" or \"PUT\"", m)
	}
	for _, f := range read.Optional {
		want(slices.Contains([]string{fieldText, fieldSession, fieldMessage, fieldEvent}, f), "optional", "%q: want \"text\", \"session\", \"message\" or \"event\"", f)
	}
	if read.Charset != "" {
		if _, err := charsetOf(read.Charset); err != nil {
			note("read.charset", fmt.Errorf("%w: want %s", err, Charsets))
		}
	}
	r.readEvents(want)
	return r
}

func (r *reader) readEvents(want func(ok bool, key, format string, args ...any)) {
	lists := []struct {
		key   string
		words []string
		event session.Event
	}{
		{"start", r.cfg.Start, session.Start}, {"continue", r.cfg.Continue, session.Continue},
		{"end", r.cfg.End, session.End}, {"timeout", r.cfg.Timeout, session.Timeout},
	}
	for _, l := range lists {
		want(len(l.words) == 0 || r.event.set(), l.key, "needs read.event, where its words stand")
		if len(l.words) == 0 {
			l.words = []string{string(l.event)}
		}
		for _, word := range l.words {
			word = strings.ToLower(word)
			_, twice := r.events[word]
			want(!twice, l.key, "%q means two events", word)
			r.events[word] = l.event
		}
	}
}

// Config is the channel's configuration.
func (c *Channel) Config() Config { return c.cfg }

// Name is the channel's name.
func (c *Channel) Name() string { return c.cfg.Name }

// Kind is the channel's kind.
func (c *Channel) Kind() session.Kind { return c.cfg.Kind }

// ByCall reports whether replies go out as messages of their own.
func (c *Channel) ByCall() bool { return c.cfg.Reply.Via == viaSend }

// CanSend reports whether the channel can hand over outgoing messages.
func (c *Channel) CanSend() bool { return c.send != nil }

// Budget is how much a reply of the channel may hold. If UCS-2 is let through, a text
// that needs it counts as many septets as its share of a segment: 70 units are 160.
func (c *Channel) Budget() session.Budget {
	b := session.Budget{Septets: or(c.cfg.Budget, DefaultBudget), Count: gsm.Count}
	if c.cfg.UCS2 {
		b.Count = countBoth
	}
	return b
}

func countBoth(s string) (septets int, ok bool) {
	if septets, ok = gsm.Count(s); ok {
		return septets, true
	}
	return (gsm.Units(s)*gsm.SingleSeptets + gsm.SingleUnits - 1) / gsm.SingleUnits, true
}

// CanAnswer reports whether a message may be sent to a phone: not to a short code or a
// word, and only within the number ranges that the channel sends to, since other ranges
// can earn money for somebody. A USSD screen goes to whoever dialled.
func (c *Channel) CanAnswer(p session.Phone) bool {
	return mayReach(p, c.cfg.AllowPrefixes, c.region)
}

// Star reports whether "*" may be typed for a decimal point, and alone for "?": by
// USSD, unless the carrier parts a dialogue's entries with it.
func (c *Channel) Star() bool {
	return c.Kind() == session.USSD && (c.read.cfg.Dialogue != dialogueWhole || c.separator() != "*")
}

func (c *Channel) methods() []string {
	if len(c.read.cfg.Methods) > 0 {
		return c.read.cfg.Methods
	}
	return []string{http.MethodGet, http.MethodPost}
}

func (c *Channel) maxBody() int { return or(c.read.cfg.MaxBody, defaultMaxBody) }

func (c *Channel) separator() string {
	if c.read.cfg.Separator != "" {
		return c.read.cfg.Separator
	}
	return "*"
}
