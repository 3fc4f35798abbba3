package desk_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"threshline/session"
)

// TestCostIsHeldAgainstTheBudget: a carrier is paid for what it took, by segment:
// 0.9 each of a budget of 100 a day; what waits, was refused or given up costs
// nothing, and yesterday's is not today's.
func TestCostIsHeldAgainstTheBudget(t *testing.T) {
	h := newHouse(t)
	admin := h.administrator()
	now := h.clock()
	var sent []session.Outgoing
	for i, m := range []struct {
		state    session.OutgoingState
		segments int
		ago      time.Duration
		purpose  session.Purpose
	}{
		{session.Delivered, 2, 0, session.Answer}, {session.HandedOn, 1, 0, session.Greeting}, {session.Failed, 4, 0, session.Alert}, // 7 segments, 6.30
		{session.Queued, 5, 0, session.Answer}, {session.Refused, 3, 0, session.Alert}, {session.Dead, 3, 0, session.Safety}, {session.Expired, 1, 0, session.Digest},
		{session.Delivered, 10, 24 * time.Hour, session.Answer}, {session.Delivered, 100, 20 * 24 * time.Hour, session.Answer},
	} {
		sent = append(sent, session.Outgoing{
			ID: session.OutgoingID(fmt.Sprintf("m%d", i)), To: "+33639984999", Text: "x", Created: now.Add(-m.ago),
			State: m.state, Purpose: m.purpose, Channel: "valley-sms", Segments: m.segments,
		})
	}
	h.put(session.Writes{Outgoing: sent})
	body := admin.get("/desk/messages").Body
	holds(t, body,
		`<th scope="row">valley-sms</th><td>all</td><td class="n">0.90</td><td class="n">6.30</td><td class="n">100</td><td class="n">6.3%</td>`,
		`<td>answers to people you know</td><td class="n">0.90</td><td class="n">1.80</td><td class="n">50.00</td><td class="n">3.6%</td>`,
		`<td>alerts, and answers that carry a stop</td><td class="n">0.90</td><td class="n">3.60</td><td class="n">20.00</td><td class="n">18%</td>`,
		`<td>reminders and weeks</td><td class="n">0.90</td><td class="n">0.00</td><td class="n">20.00</td><td class="n">0%</td>`,
		`<td>answers to strangers</td><td class="n">0.90</td><td class="n">0.90</td><td class="n">10.00</td><td class="n">9.0%</td>`,
		`<td>valley-sms</td><td class="n">7</td><td class="n">1</td><td class="n">2</td><td class="n">7</td><td class="n">6.30</td>`,
		`<td>valley-sms</td><td class="n">1</td><td class="n">1</td><td class="n">0</td><td class="n">10</td><td class="n">9.00</td>`)
	if strings.Count(body, "<td>valley-sms</td><td class=\"n\">") != 2 {
		t.Error("a day before the last fourteen is added up as well")
	}
}
