package main

import (
	"fmt"
	"strings"

	"threshline/grading"
	"threshline/session"
	"threshline/session/talk"
)

// keyedByHand are entries of a check by hand, by screen.
var keyedByHand = map[session.ScreenID][]string{
	talk.MenuScreen: {"1", "11", "1", "3", "11"},
	"hand-offer":    {"1", "2"},
	"hand-bite":     {"1", "3", "4", "4", "5", "99"},
	"hand-salt":     {"1", "2"},
	"hand-count":    {"200 2 0 1", "200 44 0 3", "20 10 0 2"},
	"hand-husk":     {"50 4 0 1", "50 0 0 0", "99"},
}

// newerWays are the entries that a screen takes, with those of checks by hand, and
// each one's own name.
func (p *simPerson) newerWays(screen session.ScreenID) []string {
	if screen == "name" && p.own != "" {
		return []string{p.own}
	}
	if ways := keyedByHand[screen]; ways != nil {
		return ways
	}
	return keyed[screen]
}

// byHand texts what hands counted of a lot; often the same lot is checked with tools
// after that, and is said to be the same or another.
func (p *simPerson) byHand() {
	r := p.s.random
	bags := fmt.Sprintf("BAG %dx75", 2+r.IntN(40))
	of := ""
	if p.role == session.Agent {
		of = fmt.Sprintf("%d ", 1+r.IntN(3))
	}
	sign := signWords[r.IntN(len(signWords))]
	text := fmt.Sprintf("%sHAND 200 %d 1 6 50 %d 0 1 BITE %d %s %s", of, r.IntN(50), r.IntN(9), 2+r.IntN(3), bags, sign.word)
	m := p.send(session.SMS, strings.TrimSpace(text), "")
	p.s.truth.checkSigns(p.s, m, sign.flag)
	if m == nil || p.s.chance(3) {
		return
	}
	p.send(session.SMS, fmt.Sprintf("%sM 13.%d 13.8 13.9 S 200 O 2.4 I 0.6 B 155.2 T 1.1 C 100 P 0 Y 1 R 2 V 1 %s OK", of, r.IntN(10), bags), "")
	p.send(session.SMS, []string{"1", "1", "2"}[r.IntN(3)], "")
}

// counted looks at a check that is stored: hands find no grade.
func (t *truth) counted(s *simulation, c *session.Check, known bool) {
	switch {
	case byHands(c) && !known:
		s.happened.add("by hand")
	case c.AfterHand && !known:
		s.happened.add("tools after hands")
	}
	if byHands(c) && c.Grade != "" && len(c.Gates) == 0 {
		s.wrong(ruleApart, "%s was counted by hand, and has the grade %s", c.Slip, c.Grade)
	}
	if before := t.checks[c.Recheck]; c.AfterHand && !byHands(&before) {
		s.wrong(ruleApart, "%s stands as the first after hands, and %s before it is none by hand", c.Slip, before.Slip)
	}
}

// byHands reports whether a check is of counts without tools.
func byHands(c *session.Check) bool {
	return c.Readings.Hand.Grains > 0 && !c.Readings.Has(grading.SampleWeight) && !c.Readings.Has(grading.Counted)
}

// apart holds that the season's figures count no other checks than those with tools.
func (t *truth) apart(s *simulation, figures int) {
	n := 0
	for _, c := range t.checks {
		if c.State == session.Filed && !byHands(&c) {
			n++
		}
	}
	if figures > n {
		s.wrong(ruleApart, "the season counts %d checks, of %d with tools", figures, n)
	}
}
