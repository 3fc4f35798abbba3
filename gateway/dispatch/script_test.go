package dispatch_test

import (
	"context"
	"fmt"
	"slices"
	"sort"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/cockroachdb/datadriven"

	"threshline/gateway/dispatch"
	"threshline/session"
)

// script plays one file of testdata/dispatch: a worker, a queue, a carrier and
// a clock, all told what to do line by line.
type script struct {
	t       *testing.T
	shelf   *shelf
	carrier *scripted
	clock   *clock
	worker  *dispatch.Worker
	stopped map[session.Phone]bool

	mu    sync.Mutex
	spent []string
}

// zone is the programme's; every script starts on a Monday at ten there.
var zone = time.FixedZone("EAT", 3*60*60)

func newScript(t *testing.T) *script {
	return &script{
		t: t, shelf: newShelf(), carrier: &scripted{}, stopped: map[session.Phone]bool{},
		clock: &clock{now: time.Date(2026, 3, 2, 10, 0, 0, 0, zone)},
	}
}

func (s *script) Settled(session.Outgoing) {}
func (s *script) Failed(string, error)     {}
func (s *script) Spent(channel string, part session.Part, spent, limit float64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.spent = append(s.spent, fmt.Sprintf("warned: %s has spent %.2f of %.2f for %s today", channel, spent, limit, part))
}

// joined notes an alert that is told with others.
func (s *script) joined(o session.Outgoing) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.spent = append(s.spent, "to be told with others: "+string(o.Slip))
}

func (s *script) run(_ *testing.T, d *datadriven.TestData) string {
	switch d.Cmd {
	case "worker":
		return s.newWorker(d)
	case "message":
		return s.message(d)
	case "carrier":
		return s.answers(d)
	case "stop":
		s.stopped[session.Phone(d.CmdArgs[0].Key)] = true
	case "clock":
		return s.setClock(d)
	case "round":
		return s.round()
	default:
		d.Fatalf(s.t, "no command %q", d.Cmd)
	}
	return ""
}

func (s *script) newWorker(d *datadriven.TestData) string {
	channel := dispatch.Outlet{Name: "valley", Carrier: s.carrier, Parallel: 1,
		Segments: func(text string) int { return (len(text) + 159) / 160 }}
	cfg := dispatch.Config{
		Queue: s.shelf, Now: s.clock.Now, Zone: zone, Watcher: s,
		Stopped: func(_ context.Context, p session.Phone) (bool, error) { return s.stopped[p], nil },
		Join:    func(_ context.Context, o session.Outgoing) error { s.joined(o); return nil },
	}
	for _, arg := range d.CmdArgs {
		value, err := strconv.ParseFloat(arg.Vals[0], 64)
		switch arg.Key {
		case "per-second":
			channel.PerSecond = value
		case "parallel":
			channel.Parallel = int(value)
		case "per-segment":
			channel.PerSegment = value
		case "daily":
			channel.DailyLimit = value
		case "attempts":
			cfg.Retry.Attempts = int(value)
		case "prefixes":
			prefixes := strings.Split(arg.Vals[0], "/")
			channel.Reaches, err = func(p session.Phone) bool {
				return slices.ContainsFunc(prefixes, func(prefix string) bool { return strings.HasPrefix(string(p), prefix) })
			}, nil
		case "quiet":
			cfg.Quiet, err = dispatch.ParseQuiet(arg.Vals[0])
		case "spent":
			cfg.SpentToday, err = func(context.Context, string, time.Time) (map[session.Part]int, error) {
				return map[session.Part]int{session.ForKnown: int(value)}, nil
			}, nil
		default:
			d.Fatalf(s.t, "no setting %q", arg.Key)
		}
		if err != nil {
			d.Fatalf(s.t, "%s: %v", arg.Key, err)
		}
	}
	cfg.Outlets = []dispatch.Outlet{channel}
	worker, err := dispatch.New(cfg)
	if err != nil {
		d.Fatalf(s.t, "%v", err)
	}
	s.worker = worker
	return ""
}

func (s *script) message(d *datadriven.TestData) string {
	now := s.clock.Now()
	o := session.Outgoing{
		ID: session.OutgoingID(d.CmdArgs[0].Key), To: "+33639980001", Text: d.Input,
		Purpose: session.Answer, Created: now, Due: now, State: session.Queued,
	}
	for _, arg := range d.CmdArgs[1:] {
		value := arg.Vals[0]
		switch arg.Key {
		case "to":
			o.To = session.Phone(value)
		case "purpose":
			o.Purpose = session.Purpose(value)
		case "channel":
			o.Channel = value
		case "slip":
			o.Slip = session.Slip(value)
		case "expires":
			o.Expires = now.Add(s.duration(d, value))
		case "segments":
			n, _ := strconv.Atoi(value)
			o.Text = strings.Repeat("a", 160*n)
		default:
			d.Fatalf(s.t, "no property %q", arg.Key)
		}
	}
	s.shelf.put(o)
	return ""
}

func (s *script) answers(d *datadriven.TestData) string {
	for _, arg := range d.CmdArgs {
		after := time.Duration(0)
		if len(arg.Vals) > 0 {
			after = s.duration(d, arg.Vals[0])
		}
		s.carrier.answers = append(s.carrier.answers, answerOf(arg.Key, after))
	}
	return ""
}

func (s *script) duration(d *datadriven.TestData, text string) time.Duration {
	dur, err := time.ParseDuration(text)
	if err != nil {
		d.Fatalf(s.t, "%v", err)
	}
	return dur
}

// setClock moves the clock on by a duration ("+5s") or to a time of the day
// it stands at, or of a later one ("1d 08:00").
func (s *script) setClock(d *datadriven.TestData) string {
	now := s.clock.Now()
	word := d.CmdArgs[0].Key
	if text, ok := strings.CutPrefix(word, "+"); ok {
		s.clock.set(now.Add(s.duration(d, text)))
		return ""
	}
	days := 0
	if text, ok := strings.CutSuffix(word, "d"); ok {
		days, _ = strconv.Atoi(text)
		word = d.CmdArgs[1].Key
	}
	at, err := time.Parse("15:04:05", word+":00")
	if err != nil {
		d.Fatalf(s.t, "%v", err)
	}
	y, m, day := now.Date()
	s.clock.set(time.Date(y, m, day+days, at.Hour(), at.Minute(), 0, 0, zone))
	return ""
}

// round works one round and tells what was handed on and what became of it.
func (s *script) round() string {
	s.carrier.calls, s.shelf.settled, s.spent = nil, nil, nil
	claimed, err := s.worker.Round(context.Background())
	if err != nil {
		return "fault: " + err.Error() + "\n"
	}
	var out []string
	// Those of one phone stay in their order; between phones there is none.
	sort.SliceStable(s.carrier.calls, func(i, j int) bool { return s.carrier.calls[i].To < s.carrier.calls[j].To })
	for _, o := range s.carrier.calls {
		out = append(out, fmt.Sprintf("handed: %s try %d", o.ID, o.Attempts+1))
	}
	settled := slices.Clone(s.shelf.settled)
	sort.SliceStable(settled, func(i, j int) bool { return settled[i].ID < settled[j].ID })
	for _, o := range settled {
		line := fmt.Sprintf("%s is %s", o.ID, o.State)
		if o.State == session.Queued {
			line += " until " + o.Due.In(zone).Format("Mon 15:04:05.0")
		}
		if o.Problem != "" {
			line += ": " + o.Problem
		}
		out = append(out, line)
	}
	out = append(out, s.spent...)
	if len(out) == 0 {
		return fmt.Sprintf("nothing, %d claimed\n", claimed)
	}
	return strings.Join(out, "\n") + "\n"
}

func TestScriptsPlayAsWritten(t *testing.T) {
	files := 0
	datadriven.Walk(t, "../../testdata/dispatch", func(t *testing.T, path string) {
		files++
		s := newScript(t)
		datadriven.RunTest(t, path, s.run)
	})
	if files == 0 {
		t.Fatal("found no script to play")
	}
}
