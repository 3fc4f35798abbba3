package desk

import (
	"net/http"

	"threshline/gateway/desk/access"
	"threshline/gateway/desk/paper"
	"threshline/session"
)

type handsetDesk struct {
	*front
	phone Handset // nil: there is none
}

// handsetPage is a phone to practise with.
type handsetPage struct {
	Kind    session.Kind
	Screen  string
	Sent    string
	Open    bool // an answer is expected
	Dialled bool
	Silent  bool
	Length  int
}

func (d *handsetDesk) showHandset(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	if d.phone == nil {
		return session.ErrNotFound
	}
	return d.show(w, r, v, "handset", "Practice handset", handsetPage{Kind: session.USSD})
}

// key sends what was keyed in to the practice dialogue.
func (d *handsetDesk) key(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	if d.phone == nil {
		return session.ErrNotFound
	}
	page := handsetPage{Kind: session.USSD, Sent: r.PostFormValue("text"), Dialled: true}
	event := session.Continue
	switch r.PostFormValue("do") {
	case "dial":
		event, page.Sent = session.Start, ""
	case "hang-up":
		event, page.Sent = session.End, ""
	case "sms":
		page.Kind = session.SMS
	}
	if len(page.Sent) > 480 {
		return paper.Wrong("That is longer than three joined messages.")
	}
	reply, err := d.phone.Key(r.Context(), string(v.Account.ID), page.Kind, event, page.Sent)
	if err != nil {
		return err
	}
	page.Screen, page.Open, page.Silent = reply.Text, reply.More, reply.Silent || event == session.End
	page.Length = len([]rune(reply.Text))
	return d.show(w, r, v, "handset", "Practice handset", page)
}
