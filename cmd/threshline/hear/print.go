package hear

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode/utf8"

	"threshline/gateway/carrier"
	"threshline/gateway/gsm"
	"threshline/session"
)

// messages prints each message of the request and the answer to them all.
func (p *heard) messages() {
	explained, err := p.channel.Explain(p.request)
	if err != nil {
		p.bad = true
		p.line("", "NOT UNDERSTOOD: %v", err)
		p.elsewhere(err, 0)
		return
	}
	var answers []carrier.Answer
	for i, e := range explained {
		if len(explained) > 1 {
			p.line("message", "%d of %d", i+1, len(explained))
		}
		if !errors.Is(e.Err, carrier.ErrMalformed) {
			p.fields(e)
		}
		if e.Err != nil {
			p.bad = true
			p.line("", "NOT UNDERSTOOD: %v", e.Err)
			p.elsewhere(e.Err, i+1)
			continue
		}
		reply, err := p.Answer(e.Inbound)
		if err != nil {
			p.bad = true
			p.line("answer", "none: %v", err)
			continue
		}
		p.reply(e.Inbound, reply)
		answers = append(answers, carrier.Answer{Reply: reply, To: e.Inbound})
	}
	if len(answers) > 0 {
		p.response(answers)
	}
}

// fields prints where each field was looked for and what came of it.
func (p *heard) fields(e carrier.Explained) {
	for _, f := range e.Fields {
		switch {
		case f.Where == "" && f.Field == "coding":
		case f.Where == "":
			p.line(f.Field, "not configured%s", p.meaning(f.Field, e))
		case f.Err != nil:
			p.line(f.Field, "%s: %v", f.Where, f.Err)
		case !f.There:
			p.line(f.Field, "%s: not in the request%s", f.Where, p.meaning(f.Field, e))
		default:
			p.line(f.Field, "%s holds %q%s", f.Where, shorten(f.Value), p.meaning(f.Field, e))
		}
	}
}

// shorten keeps a long value from filling the screen.
func shorten(s string) string {
	const most = 200
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	return string([]rune(s)[:most]) + "..."
}

// meaning is how a field is understood, if that is more than its value.
func (p *heard) meaning(field string, e carrier.Explained) string {
	if e.Err != nil {
		return ""
	}
	in := e.Inbound
	switch field {
	case "from":
		switch number := string(in.From); {
		case !in.From.Answerable():
			return fmt.Sprintf(", kept as %q: a short code or word, never answered by SMS", number)
		case p.channel.CanSend() && !p.channel.CanAnswer(in.From):
			return fmt.Sprintf(", that is %s, to which this channel may not send (allow_prefixes, region)", number)
		default:
			return ", that is " + number
		}
	case "text":
		if in.Dialled != "" {
			return ", the code that was dialled: no text"
		}
		text, _ := p.channel.Latest("", in)
		if in.Whole != "" {
			return fmt.Sprintf(", the whole dialogue; what was heard before tells how much is new, here the last part is %q%s", in.Text, p.otherSeparator(in.Whole))
		}
		return fmt.Sprintf(", read as %q", shorten(text))
	case "message":
		switch f := p.channel.Config().Read; {
		case in.MessageID == "":
			return ": a redelivery is recognised only by resend_window"
		case strings.HasPrefix(in.MessageID, "whole-") && f.Dialogue == "whole":
			return ": a redelivery is recognised by the whole dialogue"
		case strings.HasPrefix(in.MessageID, "signed-") && f.Message == "":
			return ": a redelivery is recognised by its signature"
		}
	case "event":
		return fmt.Sprintf(", taken as %q", in.Event)
	}
	return ""
}

// otherSeparator says when a whole dialogue seems to be joined by another
// separator than the channel's.
func (p *heard) otherSeparator(whole string) string {
	ours := cmp.Or(p.channel.Config().Read.Separator, "*")
	if strings.Contains(whole, ours) {
		return ""
	}
	for _, other := range []string{"*", "#", "|", ";", "~", "/", ","} {
		if strings.Contains(whole, other) {
			return fmt.Sprintf("; read.separator is %q, which is not in it, but %q is", ours, other)
		}
	}
	return ""
}

// elsewhere lists the fields that the request does have, when one was not
// found.
func (p *heard) elsewhere(err error, message int) {
	if errors.Is(err, carrier.ErrEvent) {
		p.line("", "the events are %s", p.events())
	}
	if read := p.channel.Config().Read; errors.Is(err, carrier.ErrCharset) && len(read.UCS2) == 0 {
		p.line("", "read.charset says it where the request does not, or says it wrongly: %s", carrier.Charsets)
	}
	if !errors.Is(err, carrier.ErrMissing) {
		return
	}
	if places := p.channel.Places(p.request, message); len(places) > 0 {
		p.line("", "the request has %s", strings.Join(places, ", "))
	} else {
		p.line("", "the request has no field at all")
	}
}

// events lists the words of the channel's events.
func (p *heard) events() string {
	read := p.channel.Config().Read
	var all []string
	for _, e := range []struct {
		name  string
		words []string
	}{{"start", read.Start}, {"continue", read.Continue}, {"end", read.End}, {"timeout", read.Timeout}} {
		if len(e.words) == 0 {
			e.words = []string{e.name} // our own word
		}
		all = append(all, fmt.Sprintf("%s = \"%s\"", e.name, strings.Join(e.words, `", "`)))
	}
	return strings.Join(all, ", ")
}

// reply prints what a new person would be answered, and what that costs.
func (p *heard) reply(in carrier.Inbound, reply session.Reply) {
	if reply.Silent || reply.Text == "" {
		p.line("reply", "none")
		return
	}
	shown := p.channel.Shown(reply.Text)
	p.line("reply", "%s", shown)
	if p.channel.ByCall() && !p.channel.CanAnswer(in.From) {
		p.line("cost", "none: it would not be sent to this sender")
		return
	}
	septets, plain := gsm.Count(shown)
	money, segments := p.channel.Cost(reply.Text)
	budget := p.channel.Budget().Septets
	size := fmt.Sprintf("%d of %d septets", septets, budget)
	if !plain {
		size = fmt.Sprintf("%d units of UCS-2", gsm.Units(shown))
	}
	switch {
	case in.Kind == session.USSD:
		p.line("cost", "%s, one screen", size)
	case money > 0:
		p.line("cost", "%s, %s, %.2f %s", size, counted(segments, "segment"), money, p.Currency)
	default:
		p.line("cost", "%s, %s; no per_segment is configured", size, counted(segments, "segment"))
	}
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// response prints the answer as the carrier would get it.
func (p *heard) response(answers []carrier.Answer) {
	response, err := p.channel.Write(answers...)
	if err != nil {
		p.bad = true
		p.line("response", "NONE: %v", err)
		return
	}
	if p.channel.ByCall() {
		p.line("response", "status %d; a reply goes out as a message of its own, where it may", response.Status)
	} else {
		p.line("response", "status %d", response.Status)
	}
	for _, name := range slices.Sorted(maps.Keys(response.Header)) {
		p.line("", "%s: %s", name, response.Header.Get(name))
	}
	p.line("", "%q", response.Body)
}

// receipts prints what a captured delivery receipt says.
func (p *heard) receipts() {
	cfg := p.channel.Config().Receipt
	receipts, err := p.channel.ReadReceipt(p.request)
	for i, r := range receipts {
		if len(receipts) > 1 {
			p.line("receipt", "%d of %d", i+1, len(receipts))
		}
		p.line("id", "%s holds %q, the carrier's id of the message", cfg.ID, r.CarrierID)
		switch r.State {
		case session.HandedOn:
			p.line("state", "%s holds a word that is neither in delivered nor in failed: nothing changes", cfg.State)
		default:
			p.line("state", "%s says %q", cfg.State, r.State)
		}
	}
	if err != nil {
		p.bad = true
		p.line("", "NOT UNDERSTOOD: %v", err)
		if errors.Is(err, carrier.ErrNoReceipts) {
			p.line("", "receipts need [channel.receipt]")
			return
		}
		p.elsewhere(err, 1)
		return
	}
	p.line("response", "status 200\n%q", p.channel.ReceiptReply())
}
