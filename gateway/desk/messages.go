package desk

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"time"

	"threshline/gateway/desk/access"
	"threshline/gateway/desk/paper"
	"threshline/session"
)

// messageDesk shows what went out.
type messageDesk struct {
	*front
	records  Records
	shelf    Shelf
	channels []ChannelFacts
	currency string
}

// messagesPage is what went out, whether it arrived, and what it cost.
type messagesPage struct {
	Days    paper.Table
	States  paper.Table
	Budgets paper.Table
	Rows    paper.Table
	Texts   bool // the visitor may see texts
	Older   string
	Cut     bool // older messages than these were not counted
}

const (
	// costDays is how many days are added up.
	costDays = 14
	// mostMessages is the most messages read for a page.
	mostMessages = 50_000
)

func (d *messageDesk) messages(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	now := d.now()
	since := session.Midnight(now, d.zone).AddDate(0, 0, 1-costDays)
	sums, cut, err := d.spent(r.Context(), since)
	if err != nil {
		return err
	}
	page := messagesPage{Cut: cut, Texts: v.May(session.DeskCoordinator)}
	page.Days, page.Budgets = d.dayTable(sums, now), d.budgetTable(sums, now)
	page.States = paper.Table{Caption: "Messages of the last 14 days by what became of them", Head: paper.Heads("State", "What it means", "#Messages")}
	for _, s := range messageStates {
		n := 0
		for _, sum := range sums {
			n += sum.states[s.state]
		}
		if n > 0 {
			page.States.Add(string(s.state), s.said, paper.Count(n))
		}
	}
	if page.Rows, page.Older, err = d.messageList(r, v); err != nil {
		return err
	}
	return d.show(w, r, v, "messages", "Messages", page)
}

// messageStates are the states in words.
var messageStates = []struct {
	state session.OutgoingState
	said  string
}{
	{session.Queued, "waits to go out"},
	{session.HandedOn, "the carrier took it; no receipt yet"},
	{session.Delivered, "the carrier says that it arrived"},
	{session.Failed, "the carrier says that it did not arrive"},
	{session.Dead, "given up after all attempts"},
	{session.Expired, "would have come too late, so it was dropped"},
	{session.Refused, "the person wants no messages, the day’s budget was used up, or an alert was told with others"},
}

// daySum is what one channel sent on one day.
type daySum struct {
	day      string
	channel  string
	messages int
	segments int
	parts    map[session.Part]int // segments, by what pays for them
	states   map[session.OutgoingState]int
}

// spent adds up the messages since a time by day and channel, newest first.
func (d *messageDesk) spent(ctx context.Context, since time.Time) (sums []*daySum, cut bool, err error) {
	var last session.Outgoing
	for read := 0; ; {
		batch, err := d.shelf.Sent(ctx, last, atOnce)
		if err != nil {
			return nil, false, err
		}
		for i := range batch {
			o := &batch[i]
			if o.Created.Before(since) {
				return sums, false, nil
			}
			day := o.Created.In(d.zone).Format(time.DateOnly)
			at := slices.IndexFunc(sums, func(s *daySum) bool { return s.day == day && s.channel == o.Channel })
			if at < 0 {
				at = len(sums)
				sums = append(sums, &daySum{day: day, channel: o.Channel, states: map[session.OutgoingState]int{}, parts: map[session.Part]int{}})
			}
			s := sums[at]
			s.messages++
			s.states[o.State]++
			if o.State == session.HandedOn || o.State == session.Delivered || o.State == session.Failed {
				s.segments += o.Segments
				s.parts[o.Purpose.Part()] += o.Segments
			}
		}
		if read += len(batch); len(batch) < atOnce || read >= mostMessages {
			return sums, read >= mostMessages, nil
		}
		last = batch[len(batch)-1]
	}
}

// channel finds a channel's settings.
func (d *messageDesk) channel(name string) ChannelFacts {
	for _, c := range d.channels {
		if c.Name == name || name == "" && c.Sends {
			return c
		}
	}
	return ChannelFacts{Name: name}
}

func (d *messageDesk) dayTable(sums []*daySum, now time.Time) paper.Table {
	t := paper.Table{Caption: "By day and channel, the last 14 days", Head: paper.Heads("Day", "Channel", "#Messages", "#Arrived", "#Did not arrive", "#Paid segments", "#Cost, "+d.currency)}
	for _, s := range sums {
		t.Add(paper.Day(s.day), paper.Or(s.channel, "the first that can send"), paper.Count(s.messages), paper.Count(s.states[session.Delivered]),
			paper.Count(s.states[session.Failed]+s.states[session.Dead]), paper.Count(s.segments), paper.Money(float64(s.segments)*d.channel(s.channel).PerSegment))
	}
	return t
}

// moneyFor says what the parts of a day's budget are for.
var moneyFor = map[session.Part]string{
	session.ForKnown: "answers to people you know", session.ForDangers: "alerts, and answers that carry a stop",
	session.ForUnasked: "reminders and weeks", session.ForStrangers: "answers to strangers",
}

// budgetTable compares today's cost with the day's budget, part by part if
// there is a budget.
func (d *messageDesk) budgetTable(sums []*daySum, now time.Time) paper.Table {
	t := paper.Table{Caption: "Today’s cost against the day’s budget, " + d.currency, Head: paper.Heads("Channel", "For", "#Per segment", "#Today", "#Budget of a day", "#Used")}
	today := now.In(d.zone).Format(time.DateOnly)
	for _, c := range d.channels {
		if !c.Sends {
			continue
		}
		sum := &daySum{}
		if at := slices.IndexFunc(sums, func(s *daySum) bool { return s.day == today && s.channel == c.Name }); at >= 0 {
			sum = sums[at]
		}
		cost := func(segments int) float64 { return float64(segments) * c.PerSegment }
		if c.DailyLimit <= 0 {
			t.Add(c.Name, "all", paper.Money(c.PerSegment), paper.Money(cost(sum.segments)), "none set", "–")
			continue
		}
		t.Add(c.Name, "all", paper.Money(c.PerSegment), paper.Money(cost(sum.segments)), paper.Money(c.DailyLimit), paper.Percent(cost(sum.segments)/c.DailyLimit))
		for _, part := range session.Parts() {
			most := c.DailyLimit * part.Share()
			t.Add(c.Name, moneyFor[part], paper.Money(c.PerSegment), paper.Money(cost(sum.parts[part])), paper.Money(most), paper.Percent(cost(sum.parts[part])/most))
		}
	}
	return t
}

// messageList is a page of single messages. Without the right to see personal
// data, a visitor sees neither text nor number; with it, they see the text and
// a masked number.
func (d *messageDesk) messageList(r *http.Request, v *access.Visitor) (t paper.Table, older string, err error) {
	t = paper.Table{Caption: "Messages, the newest first", Head: paper.Heads("Made", "To", "Purpose", "Channel", "State", "#Attempts", "Problem")}
	texts := v.May(session.DeskCoordinator)
	if texts {
		t.Head = append(t.Head, paper.Column{Label: "Text"})
	}
	after := session.Outgoing{ID: session.OutgoingID(r.URL.Query().Get("id"))}
	if made := r.URL.Query().Get("made"); made != "" {
		if after.Created, err = time.Parse(time.RFC3339Nano, made); err != nil {
			return t, "", paper.Wrong("The place in the list cannot be read.")
		}
	}
	list, err := d.shelf.Sent(r.Context(), after, perPage)
	if err != nil {
		return t, "", err
	}
	shown := 0
	err = d.records.Read(r.Context(), func(view session.View) error {
		for i := range list {
			o := &list[i]
			p, err := view.PersonByPhone(o.To)
			if err != nil && !errors.Is(err, session.ErrNotFound) {
				return err
			}
			to, text := "somebody", ""
			if v.Knows(p.District) && p.ID != "" {
				to, text = personName(v, &p)+", "+o.To.String(), o.Text
				shown++
			} else if texts && len(v.Account.Districts) == 0 {
				to, text = o.To.String(), o.Text
				shown++
			} else if p.ID != "" && v.Sees(p.District) {
				to = string(p.ID)
			}
			row := paper.Cells(o.Created.In(d.zone).Format("2 Jan, 15:04"), to, string(o.Purpose), paper.Or(o.Channel, "any"), string(o.State), paper.Count(o.Attempts), o.Problem)
			if texts {
				row = append(row, paper.Cell{Text: text})
			}
			t.Rows = append(t.Rows, row)
		}
		return nil
	})
	if err == nil && shown > 0 {
		err = d.seen(r.Context(), v, "names and texts in a list of messages", "")
	}
	if len(list) == perPage {
		c := chosen{}
		last := list[len(list)-1]
		c.query = map[string][]string{"made": {last.Created.Format(time.RFC3339Nano)}}
		older = c.with(r.URL.Path, "id", string(last.ID))
	}
	return t, older, err
}
