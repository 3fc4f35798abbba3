package gateway

import (
	"bytes"
	"io"
	"net/http"

	"github.com/gorilla/mux"

	"threshline/gateway/carrier"
	"threshline/session"
)

// ReceiptReader reads a carrier's delivery receipts; a *carrier.Channel is one.
type ReceiptReader interface {
	// ReadReceipt may return both receipts and an error about others.
	ReadReceipt(r *carrier.Request) ([]carrier.Receipt, error)
	// ReceiptReply is what acknowledges receipts.
	ReceiptReply() string
}

// receipt takes delivery receipts. They are not messages: they never get a
// reply, so that no loop can start here.
func (g *Gateway) receipt(w http.ResponseWriter, r *http.Request) {
	c := g.inlets[mux.Vars(r)["channel"]]
	switch {
	case c == nil:
		g.refuse(w, r, "", errChannel)
		return
	case c.Receipts == nil || g.cfg.Receipts == nil:
		g.refuse(w, r, c.Name, errReceipts)
		return
	}
	buffer := g.bodies.Get().(*bytes.Buffer)
	defer g.bodies.Put(buffer)
	request, err := readRequest(w, r, buffer, c.MaxBody)
	if err == nil {
		err = g.takeReceipts(w, r, c, request)
	}
	if err != nil {
		if request != nil {
			request.NotTaken()
		}
		g.refuse(w, r, c.Name, err)
		return
	}
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	_, _ = io.WriteString(w, c.Receipts.ReceiptReply())
}

func (g *Gateway) takeReceipts(w http.ResponseWriter, r *http.Request, c *inlet, request *carrier.Request) error {
	now := g.cfg.Now()
	if err := c.Carrier.Admit(request, now); err != nil {
		return err
	}
	receipts, err := c.Receipts.ReadReceipt(request)
	if len(receipts) == 0 {
		return err
	}
	if err != nil {
		g.note(w, c.Name, faultOf(err), err)
	}
	for _, one := range receipts {
		if one.State == session.HandedOn {
			continue // on its way, as we knew
		}
		if err := g.cfg.Receipts.Receipt(r.Context(), c.Name, one.CarrierID, one.State, now); err != nil {
			return err
		}
	}
	return nil
}
