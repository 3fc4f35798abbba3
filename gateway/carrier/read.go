package carrier

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/antchfx/xmlquery"

	"threshline/gateway/gsm"
	"threshline/session"
)

// Inbound is one message as a channel understands it.
type Inbound struct {
	Channel string
	Kind    session.Kind
	From    session.Phone
	// Text is what the person sent, cleaned by [gsm.Plain]. On a channel that
	// repeats the whole dialogue it is the last part of Whole, and
	// [Channel.Latest] knows better.
	Text           string
	Whole          string // the dialogue as the carrier gave it; empty on other channels
	MessageID      string // by which a redelivery is recognised; may be empty
	NetworkSession string
	Event          session.Event
	Dialled        string // the service code that opened the session, if it came as the text
}

// names of the fields, as the configuration calls them.
const (
	fieldFrom    = "from"
	fieldText    = "text"
	fieldSession = "session"
	fieldMessage = "message"
	fieldEvent   = "event"
	fieldCoding  = "coding"
)

// reader is a ReadConfig ready to use.
type reader struct {
	cfg                                         ReadConfig
	from, text, session, message, event, coding place
	each                                        place
	events                                      map[string]session.Event
}

// Read understands a request: at least one message, or an error. Of a batch
// it returns the messages it could read and, with them, an error that joins
// what is wrong with the others. Errors are ErrMethod, ErrTooLarge,
// ErrMalformed, and a [*FieldError] for a field.
func (c *Channel) Read(r *Request) ([]Inbound, error) {
	return allOf(c, r, c.read.each, c.readOne)
}

// allOf reads what a request holds: the one thing in it or, where a place for each is
// configured, one after the other, and with them what is wrong with the others.
func allOf[T any](c *Channel, r *Request, each place, one func(s *source, index int) (T, error)) ([]T, error) {
	if err := c.takes(r); err != nil {
		return nil, err
	}
	s, err := newSource(r, c.cfg.Name, c.read.cfg.Charset)
	if err != nil {
		return nil, err
	}
	var all []T
	var problems []error
	read := func(index int) {
		if v, err := one(s, index); err != nil {
			problems = append(problems, err)
		} else {
			all = append(all, v)
		}
	}
	if !each.set() {
		read(0)
	} else if err := s.eachOf(each, read); err != nil {
		return nil, err
	}
	return all, joined(problems)
}

// mostProblems bounds what is said about one request.
const mostProblems = 5

// joined joins what is wrong with the messages of a batch.
func joined(problems []error) error {
	if more := len(problems) - mostProblems; more > 0 {
		problems = append(problems[:mostProblems:mostProblems], fmt.Errorf("carrier: and %d more", more))
	}
	return errors.Join(problems...)
}

func (c *Channel) takes(r *Request) error {
	if !slices.Contains(c.methods(), r.Method) {
		return fmt.Errorf("%w: %q, want %s", ErrMethod, r.Method, strings.Join(c.methods(), " or "))
	}
	if len(r.Body) > c.maxBody() {
		return fmt.Errorf("%w: %d bytes, at most %d", ErrTooLarge, len(r.Body), c.maxBody())
	}
	return nil
}

// eachOf calls read with the source set to one message of a batch after the
// other. No message at all is an error.
func (s *source) eachOf(each place, read func(index int)) error {
	missing := func(err error) error { return &FieldError{Field: "each", Where: each.text, Err: err} }
	if each.kind == "xml" {
		if err := s.parseTree(); err != nil {
			return err
		}
		nodes := xmlquery.QuerySelectorAll(s.tree, each.xpath)
		if len(nodes) == 0 {
			return missing(ErrMissing)
		}
		for i, node := range nodes {
			s.node = node
			read(i + 1)
		}
		s.node = nil
		return nil
	}
	if err := s.parseTop(); err != nil {
		return err
	}
	v, ok := point(s.top, each.pointer)
	list, isList := v.([]any)
	if !ok || isList && len(list) == 0 {
		return missing(ErrMissing)
	}
	if !isList {
		return missing(errors.New("not an array"))
	}
	s.inItem = true
	for i, item := range list {
		s.item = item
		read(i + 1)
	}
	s.inItem = false
	return nil
}

// get looks one field up.
func (c *Channel) get(s *source, field string, p place, index int, needed bool) (string, error) {
	if !p.set() {
		return "", nil
	}
	return s.get(field, p, index, func(_ string, found bool) bool {
		return !found && needed && !slices.Contains(c.read.cfg.Optional, field)
	})
}

// get looks up what stands at a place; missing says whether that is too little.
func (s *source) get(field string, p place, index int, missing func(text string, found bool) bool) (string, error) {
	text, found, err := s.find(p)
	if err == nil && missing(text, found) {
		err = ErrMissing
	}
	if errors.Is(err, ErrMalformed) {
		return "", err // it is the body's fault, not the field's
	}
	if err != nil {
		return "", &FieldError{Field: field, Where: p.text, Index: index, Err: err}
	}
	return text, nil
}

func (c *Channel) readOne(s *source, index int) (in Inbound, err error) {
	in = Inbound{Channel: c.cfg.Name, Kind: c.cfg.Kind, Event: session.Continue}
	from, err := c.get(s, fieldFrom, c.read.from, index, true)
	if err != nil {
		return in, err
	}
	if in.From, err = readNumber(from, c.read.cfg.Numbers, c.region); err != nil {
		return in, &FieldError{Field: fieldFrom, Where: c.read.from.text, Index: index, Err: err}
	}
	if in.NetworkSession, err = c.get(s, fieldSession, c.read.session, index, true); err != nil {
		return in, err
	}
	if in.MessageID, err = c.get(s, fieldMessage, c.read.message, index, true); err != nil {
		return in, err
	}
	event, known, err := c.readEvent(s, index)
	if err != nil {
		return in, err
	}
	in.Event = event
	// When a session starts or is over there may be no text to speak of.
	text, err := c.readText(s, index, !known || event == session.Continue)
	if err != nil {
		return in, err
	}
	c.settle(&in, text, known)
	if in.MessageID == "" && s.r.signed != [32]byte{} {
		// No two requests have the same dated signature.
		in.MessageID = fmt.Sprintf("signed-%x-%d", s.r.signed[:16], index)
	}
	return in, nil
}

// readEvent tells what the network says about the session, and whether it
// says so at all.
func (c *Channel) readEvent(s *source, index int) (e session.Event, known bool, err error) {
	if !c.read.event.set() {
		return session.Continue, false, nil
	}
	word, err := c.get(s, fieldEvent, c.read.event, index, true)
	if err != nil || word == "" {
		return session.Continue, false, err
	}
	e, ok := c.read.events[strings.ToLower(word)]
	if !ok {
		return "", false, &FieldError{Field: fieldEvent, Where: c.read.event.text, Index: index, Err: ErrEvent}
	}
	return e, true, nil
}

func (c *Channel) readText(s *source, index int, needed bool) (string, error) {
	text, err := c.get(s, fieldText, c.read.text, index, needed)
	if err != nil {
		return "", err
	}
	inHex := c.read.cfg.TextCoding == codingHex
	if c.read.coding.set() {
		value, err := c.get(s, fieldCoding, c.read.coding, index, false)
		if err != nil {
			return "", err
		}
		inHex = slices.Contains(c.read.cfg.UCS2, value)
	}
	if inHex {
		if text, err = fromHex(text); err != nil {
			return "", &FieldError{Field: fieldText, Where: c.read.text.text, Index: index, Err: err}
		}
	}
	return text, nil
}

// settle cleans the text and works out what the carrier does not say.
func (c *Channel) settle(in *Inbound, text string, known bool) {
	in.Text = gsm.Plain(text)
	if in.Kind != session.USSD {
		return
	}
	if dialled(in.Text) {
		in.Dialled, in.Text, text = in.Text, "", ""
	}
	if !known && in.Text == "" {
		in.Event = session.Start
	}
	if c.read.cfg.Dialogue != dialogueWhole {
		return
	}
	in.Whole = text
	if i := strings.LastIndex(text, c.separator()); i >= 0 {
		in.Text = gsm.Plain(text[i+len(c.separator()):])
	}
	if in.MessageID == "" && in.NetworkSession != "" {
		// The dialogue grows by every input, so it tells one from the other.
		sum := sha256.Sum256([]byte(string(in.Event) + "\x00" + in.NetworkSession + "\x00" + text))
		in.MessageID = "whole-" + hex.EncodeToString(sum[:16])
	}
}

// dialled reports whether a text is a service code, such as *000*1#.
func dialled(text string) bool {
	inner, ok := strings.CutPrefix(text, "*")
	if !ok {
		return false
	}
	inner, ok = strings.CutSuffix(inner, "#")
	return ok && allDigits(strings.ReplaceAll(inner, "*", "0")) && !strings.HasPrefix(inner, "*")
}

// Latest returns the newest input on a channel that repeats the whole dialogue, given
// what was heard of the same network session before (Whole of its last message; empty
// for a new session). It may hold the separator itself. If the two do not fit together,
// it is the part after the last separator, and agrees is false. On other channels it is
// in.Text.
func (c *Channel) Latest(heard string, in Inbound) (text string, agrees bool) {
	switch {
	case c.read.cfg.Dialogue != dialogueWhole:
		return in.Text, true
	case heard == "":
		return gsm.Plain(in.Whole), true
	case in.Whole == heard:
		return "", true // nothing new: an empty input, or the same one again
	}
	if rest, ok := strings.CutPrefix(in.Whole, heard+c.separator()); ok {
		return gsm.Plain(rest), true
	}
	return in.Text, false
}
