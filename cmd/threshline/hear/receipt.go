package hear

import (
	"errors"

	"threshline/gateway/carrier"
	"threshline/session"
)

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
