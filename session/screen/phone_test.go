package screen_test

import (
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"threshline/gateway/carrier"
	"threshline/gateway/gsm"
	"threshline/grading"
	"threshline/grading/standard/standardtest"
	"threshline/session"
	"threshline/session/programme"
	"threshline/session/screen"
	"threshline/session/talk"
	"threshline/session/wording"
)

// world is a programme with its store and clock: what the phones of a
// transcript talk to.
type world struct {
	machine *talk.Machine
	store   *store
	now     time.Time
	turns   uint64
	pace    time.Duration
	septets int  // of the channel; 0 is the usual budget
	once    bool // run no turn twice: for many of them
	// foresees fails a turn with a question that a database would get late.
	foresees bool
}

func newWorld(t testing.TB, standardID string, languages ...session.Language) *world {
	t.Helper()
	words, err := catalogues()
	if err != nil {
		t.Fatal(err)
	}
	table, err := standardtest.ByID(standardID)
	if err != nil {
		t.Fatal(err)
	}
	programme := &programme.Programme{
		Name: "Mbuyu Valley rice scheme", Region: "FR", Languages: languages, Currency: "MVS", Zone: time.UTC,
		BagKG: 75 * grading.One, Standard: table,
		OneMeter:       grading.Meter{Checked: true},
		Districts:      []string{"Upper Mbuyu", "Lower Mbuyu", "Kisima", "Korongo"},
		ConsentVersion: 1, ResumeFor: 2 * time.Hour, DraftFor: 72 * time.Hour, CorrectFor: 24 * time.Hour,
	}
	machine := screen.NewMachine(programme, words)
	machine.Number = func(digits string) (session.Phone, bool) { return carrier.Local(digits, programme.Region) }
	return &world{
		machine: machine, store: newStore(),
		now: time.Date(2026, 11, 25, 8, 0, 0, 0, time.UTC), pace: 20 * time.Second,
	}
}

// catalogues are read once: they are never changed.
var catalogues = sync.OnceValues(wording.Embedded)

// budget counts as the network does: 3GPP TS 23.038, by the gateway's codec.
var budget = session.Budget{Septets: 160, Count: count}

func count(text string) (int, bool) { return gsm.Count(text) }

// handset is one phone.
type handset struct {
	world   *world
	number  session.Phone
	network int
	open    bool
	last    session.Input
}

// step sends one input and gives the reply; the turn is run twice on the same
// view, which must not change what it gives, unless the world says otherwise.
func (w *world) step(in session.Input) (session.Reply, error) {
	w.turns++
	in.At, in.Entropy, in.Budget = w.now, [2]uint64{20261125, w.turns}, budget
	in.Star = in.Kind == session.USSD
	if w.septets > 0 {
		in.Budget.Septets = w.septets
	}
	once, err := w.asked(in)
	for err == nil && w.store.taken(once) { // as an engine does
		in.Entropy[0]++
		once, err = w.asked(in)
	}
	if err != nil {
		return session.Reply{}, err
	}
	if !w.once {
		twice, err := w.machine.Step(w.store, in)
		if err != nil || twice.Reply != once.Reply {
			return session.Reply{}, fmt.Errorf("run again, the turn says %q for %q (%v)", twice.Reply.Text, once.Reply.Text, err)
		}
		once = twice
	}
	w.now = w.now.Add(w.pace)
	return once.Reply, w.store.apply(in.Phone, once)
}

func (h *handset) dial() (session.Reply, error) {
	h.network++
	h.open = true
	return h.send(session.Input{Channel: "valley-ussd", Kind: session.USSD, Event: session.Start})
}

func (h *handset) key(text string) (session.Reply, error) {
	return h.send(session.Input{Channel: "valley-ussd", Kind: session.USSD, Event: session.Continue, Text: text})
}

func (h *handset) sms(text string) (session.Reply, error) {
	return h.send(session.Input{Channel: "valley-sms", Kind: session.SMS, Event: session.Continue, Text: text})
}

func (h *handset) send(in session.Input) (session.Reply, error) {
	in.Phone = h.number
	if in.Kind == session.USSD {
		in.NetworkSession = fmt.Sprintf("%s/%d", string(h.number), h.network)
	}
	h.last = in
	r, err := h.world.step(in)
	if in.Kind == session.USSD && !r.More {
		h.open = false
	}
	return r, err
}

// shown is a reply as a transcript shows it.
func shown(r session.Reply) string {
	if r.Silent {
		return "(no reply)\n"
	}
	n, ok := count(r.Text)
	end := "answer"
	if !r.More {
		end = "end"
	}
	line := fmt.Sprintf("[%d septets, %s]", n, end)
	if !ok {
		line += " NOT GSM-7"
	}
	return strings.TrimRight(r.Text, "\n") + "\n" + line + "\n"
}
