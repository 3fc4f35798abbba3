package gateway

import (
	"time"

	"threshline/gateway/carrier"
	"threshline/session"
)

// Carrier reads and answers the requests of one carrier; a *carrier.Channel
// is one.
type Carrier interface {
	// Admit checks who sends, before anything is parsed.
	Admit(r *carrier.Request, now time.Time) error
	// Read understands a request. With a batch it may return both the messages
	// it understood and an error about the others.
	Read(r *carrier.Request) ([]carrier.Inbound, error)
	// Latest returns the new part of a message that repeats the whole dialogue,
	// given the message before it.
	Latest(heard string, in carrier.Inbound) (text string, agrees bool)
	// Write makes the answer to a request.
	Write(answers ...carrier.Answer) (carrier.Response, error)
}

// Inlet is a channel as the gateway takes messages from it.
type Inlet struct {
	Name    string
	Kind    session.Kind
	Carrier Carrier
	// Receipts reads the carrier's delivery receipts; nil when it sends none.
	Receipts ReceiptReader
	// Budget is how much a reply may hold.
	Budget session.Budget
	// ByCall says that a reply goes out as a separate message and not in the
	// answer to the request.
	ByCall bool
	// Star: see session.Input.
	Star bool
	// Reaches reports whether a reply by call may go to a number: a fraudster
	// could earn money by making us text an expensive number. Nil means any
	// number.
	Reaches func(session.Phone) bool
	// Busy is the text to show instead of an error when the gateway is too busy.
	// It must say that nothing is lost. Empty answers 503 with Retry-After.
	Busy string
	// QuietLimit says that a phone over the limit gets an empty answer instead of
	// 429. It is for carriers that deliver again after any status other than 200.
	QuietLimit bool
	// MaxBody is the most bytes of a request's body; 0 is 65,536.
	MaxBody int
	// Segments counts what a reply by call costs, in segments. PhoneShare is how many
	// of them one phone may use in a day, of the money for people we know; 0 is no
	// limit.
	Segments   func(text string) int
	PhoneShare int
	// Window is how long the same text of the same phone counts as a redelivery
	// when messages have no id; 0 means never.
	Window time.Duration
}

// InletOf is a configured channel as the gateway takes messages from it.
func InletOf(c *carrier.Channel) Inlet {
	cfg := c.Config()
	in := Inlet{
		Name: c.Name(), Kind: c.Kind(), Carrier: c, Budget: c.Budget(), ByCall: c.ByCall(), Reaches: c.CanAnswer, Star: c.Star(),
		Busy: cfg.Busy, QuietLimit: cfg.QuietLimit, MaxBody: cfg.Read.MaxBody, Window: time.Duration(cfg.ResendWindow),
	}
	if cfg.Receipt != nil {
		in.Receipts = c
	}
	in.Segments = func(text string) int { _, n := c.Cost(text); return n }
	if s := cfg.Send; s != nil && s.PerSegment > 0 && s.DailyLimit > 0 {
		share := s.DailyLimit * session.ForKnown.Share() * session.OfOnePhone / s.PerSegment
		in.PhoneShare = max(session.LeastOfOnePhone, int(share))
	}
	return in
}

// How long a redelivery is recognised. Our own choice: longer than carriers are known
// to try again. A USSD session is over in minutes, and nobody waits for what it showed.
// Carriers start counting messages and sessions again from the beginning.
const (
	keepDuplicates = 7 * 24 * time.Hour
	keepScreens    = 5 * time.Minute
)

// inlet is an Inlet at work.
type inlet struct {
	Inlet
	bucket  *bucketSet
	metrics channelMetrics
}

func newInlet(c Inlet, limit Limit, m *Metrics) *inlet {
	if c.MaxBody <= 0 {
		c.MaxBody = maxBody
	}
	return &inlet{Inlet: c, bucket: newBucketSet(1, limit), metrics: m.of(c)}
}

// answers reports whether a reply by call may go to the number.
func (c *inlet) answers(p session.Phone) bool {
	return p.Answerable() && (c.Reaches == nil || c.Reaches(p))
}
