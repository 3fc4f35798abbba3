package gateway

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"

	"github.com/gorilla/mux"

	"threshline/gateway/carrier"
	"threshline/session"
)

// receive handles one request: it checks the size and the sender, reads the
// messages, and runs one exchange for each, in order.
func (g *Gateway) receive(w http.ResponseWriter, r *http.Request) {
	c := g.inlets[mux.Vars(r)["channel"]]
	if c == nil {
		g.refuse(w, r, "", errChannel)
		return
	}
	buffer := g.bodies.Get().(*bytes.Buffer)
	defer g.bodies.Put(buffer)
	request, err := readRequest(w, r, buffer, c.MaxBody)
	if err != nil {
		g.refuse(w, r, c.Name, err)
		return
	}
	taken := false
	defer func() {
		if !taken { // a panic comes by here too
			request.NotTaken()
		}
	}()
	messages, err := g.understand(c, request)
	if len(messages) == 0 {
		g.refuse(w, r, c.Name, err)
		return
	}
	if err != nil {
		// Only part of a batch was understood. If we refused the whole batch, it
		// would come back for ever.
		g.note(w, c.Name, faultOf(err), err)
	}
	answers, err := g.answerAll(r.Context(), w, c, messages)
	if err != nil {
		// The accepted messages are stored; a redelivery finds their replies.
		g.turnAway(w, r, c, messages, err)
		return
	}
	taken = true
	g.write(w, r, c, answers...)
}

// readRequest reads a body of at most so many bytes into buffer, which holds it while
// the request is handled.
func readRequest(w http.ResponseWriter, r *http.Request, buffer *bytes.Buffer, most int) (*carrier.Request, error) {
	buffer.Reset()
	if r.ContentLength > int64(most) {
		return nil, &http.MaxBytesError{Limit: int64(most)}
	}
	if _, err := buffer.ReadFrom(http.MaxBytesReader(w, r.Body, int64(most))); err != nil {
		if _, ok := errors.AsType[*http.MaxBytesError](err); ok {
			return nil, err
		}
		return nil, fmt.Errorf("%w: %w", errBody, err)
	}
	return carrier.NewRequest(r, buffer.Bytes()), nil
}

// understand guards a request and reads its messages: at least one, or an error.
func (g *Gateway) understand(c *inlet, r *carrier.Request) ([]carrier.Inbound, error) {
	now := g.cfg.Now()
	if err := c.Carrier.Admit(r, now); err != nil {
		return nil, err
	}
	if !c.bucket.allow("", now) {
		return nil, errTooMuch
	}
	messages, err := c.Carrier.Read(r)
	if len(messages) == 0 && err == nil {
		err = errNothing
	}
	return messages, err
}

// answerAll lets the dialogues take the messages one after the other. A message
// that fails does not stop the messages after it, which are other people's. The
// error is the first one's, and the whole request has to come again. Only a
// fault that every following message would meet too stops at once.
func (g *Gateway) answerAll(ctx context.Context, w http.ResponseWriter, c *inlet, messages []carrier.Inbound) (answers []carrier.Answer, first error) {
	quiet := c.QuietLimit || len(messages) > 1 && slices.ContainsFunc(messages, func(in carrier.Inbound) bool { return in.MessageID == "" })
	for _, in := range messages {
		reply, err := g.answer(ctx, c, in)
		switch {
		case err == nil:
		case errors.Is(err, errTooMuch) && quiet:
			// Messages without an id look new at each redelivery. One phone over its
			// limit must not make the others' messages count again and again.
			g.note(w, c.Name, faultOf(err), err)
			reply = session.Reply{Silent: true}
		case faultOf(err).passing():
			return answers, err
		default:
			first = cmp.Or(first, err)
			continue
		}
		answers = append(answers, carrier.Answer{Reply: reply, To: in})
	}
	return answers, first
}

// turnAway answers a request whose messages were understood but not all taken,
// in the way that suits the channel's carrier.
func (g *Gateway) turnAway(w http.ResponseWriter, r *http.Request, c *inlet, messages []carrier.Inbound, err error) {
	if f := faultOf(err); f.passing() && c.Busy != "" && !c.ByCall && len(messages) == 1 {
		g.note(w, c.Name, f, err)
		g.write(w, r, c, carrier.Answer{Reply: session.Reply{Text: c.Busy}, To: messages[0]})
		return
	}
	g.refuse(w, r, c.Name, err)
}

// write sends the carrier's answer.
func (g *Gateway) write(w http.ResponseWriter, r *http.Request, c *inlet, answers ...carrier.Answer) {
	response, err := c.Carrier.Write(answers...)
	if err != nil {
		g.refuse(w, r, c.Name, fmt.Errorf("gateway: make the answer: %w", err))
		return
	}
	h := w.Header()
	for name, values := range response.Header {
		h[name] = values
	}
	if h.Get("Content-Type") == "" && len(response.Body) > 0 {
		h.Set("Content-Type", "text/plain; charset=utf-8") // never guessed from a person's text
	}
	w.WriteHeader(response.Status)
	// An error here means that the carrier is gone; the reply is stored and
	// will be there when it delivers again.
	_, _ = w.Write(response.Body)
}
