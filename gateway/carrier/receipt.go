package carrier

import (
	"errors"
	"fmt"

	"threshline/session"
)

// Receipt is a carrier's news of a message that it took.
type Receipt struct {
	CarrierID string // the id that the carrier gave the message
	// State is Delivered, Failed, or HandedOn for news on the way that the
	// channel does not list.
	State session.OutgoingState
}

// receiver is a ReceiptConfig ready to use.
type receiver struct {
	cfg             ReceiptConfig
	id, state, each place
}

func newReceiver(cfg ReceiptConfig) (*receiver, string, error) {
	r := &receiver{cfg: cfg}
	for _, p := range []struct {
		key, text string
		into      *place
	}{{"id", cfg.ID, &r.id}, {"state", cfg.State, &r.state}, {"each", cfg.Each, &r.each}} {
		var err error
		if *p.into, err = parsePlace(p.text); err != nil {
			return nil, p.key, err
		}
		if p.text == "" && p.key != "each" {
			return nil, p.key, fmt.Errorf("is missing: where does the %s stand?", p.key)
		}
	}
	if cfg.Each != "" && r.each.kind != "json" && r.each.kind != "xml" {
		return nil, "each", errors.New("want json:/POINTER to an array, or xml:XPATH")
	}
	if len(cfg.Delivered) == 0 {
		return nil, "delivered", errors.New("is empty: want the carrier's words for it, such as [\"delivered\"]")
	}
	for _, word := range cfg.Delivered {
		if containsFold(cfg.Failed, word) {
			return nil, "failed", fmt.Errorf("%q stands in delivered as well", word)
		}
	}
	return r, "", nil
}

// ReadReceipt understands a delivery receipt, or several in one request; see
// [Channel.Read] for the errors, and ErrNoReceipts.
func (c *Channel) ReadReceipt(r *Request) ([]Receipt, error) {
	if c.receipt == nil {
		return nil, ErrNoReceipts
	}
	return allOf(c, r, c.receipt.each, c.receipt.readOne)
}

func (r *receiver) readOne(s *source, index int) (one Receipt, err error) {
	get := func(field string, p place) (string, error) {
		return s.get(field, p, index, func(text string, found bool) bool { return !found || text == "" })
	}
	if one.CarrierID, err = get("id", r.id); err != nil {
		return one, err
	}
	word, err := get("state", r.state)
	if err != nil {
		return one, err
	}
	switch {
	case containsFold(r.cfg.Delivered, word):
		one.State = session.Delivered
	case containsFold(r.cfg.Failed, word):
		one.State = session.Failed
	default:
		one.State = session.HandedOn
	}
	return one, nil
}

// ReceiptReply acknowledges receipts.
func (c *Channel) ReceiptReply() string {
	if c.receipt == nil || c.receipt.cfg.Reply == "" {
		return "ok"
	}
	return c.receipt.cfg.Reply
}
