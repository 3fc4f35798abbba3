package talk

import (
	"cmp"
	"slices"
	"strings"

	"threshline/session"
)

// Move is where an entry leads.
type Move struct {
	kind    moveKind
	to      session.ScreenID
	rest    string
	problem string
	twice   bool
}

type moveKind uint8

const (
	stay moveKind = iota
	forward
	backward
	homeward
	refused
	finished
	leap
	instead
)

// Go leads to a screen; "back" returns from it to this one.
func Go(to session.ScreenID) Move { return Move{kind: forward, to: to} }

// GoWith leads to a screen and gives it what is left of the entry.
func GoWith(to session.ScreenID, rest string) Move {
	return Move{kind: forward, to: to, rest: strings.TrimSpace(rest)}
}

// To is the screen that Go and GoWith lead to; "" for every other move.
func (m Move) To() session.ScreenID { return m.to }

// Saying is the move with a line said before the screen it leads to.
func (m Move) Saying(line string) Move {
	m.problem = line
	return m
}

// Stay says the same screen again, with a line before it; empty for none.
func Stay(line string) Move { return Move{kind: stay, problem: line} }

// Refuse says the same screen again with what was wrong with the entry.
func Refuse(problem string) Move { return Move{kind: refused, problem: problem} }

// Refused reports whether the move says what was wrong with the entry.
func (m Move) Refused() bool { return m.kind == refused }

// Home leads to the main menu, saying a line first; empty for none.
func Home(line string) Move { return Move{kind: homeward, problem: line} }

// BackWith leads back and gives an entry to the screen that is found there.
func BackWith(entry string) Move { return Move{kind: backward, rest: entry} }

// BackTwice leads back past the screen before.
func BackTwice() Move { return Move{kind: backward, twice: true} }

// Leap leads to a screen from which "back" returns to the main menu: what lay
// before is done.
func Leap(to session.ScreenID) Move { return Move{kind: leap, to: to} }

// Instead leads to a screen in place of this one. "Back" does not return to
// this one: it was a question, and it is answered.
func Instead(to session.ScreenID, rest string) Move {
	return Move{kind: instead, to: to, rest: strings.TrimSpace(rest)}
}

// Finish ends the dialogue with a text.
func Finish(text string) Move { return Move{kind: finished, problem: text} }

// Make makes a move outside a screen's own Take, as a whole check in one
// message does.
func (t *Talk) Make(m Move) {
	t.Memo().Lead, t.Memo().Refused, t.Memo().Asked = "", false, false
	if rest := t.follow(m); rest != "" {
		t.enter(rest)
	}
}

// follow makes a move and returns what is left of the entry.
func (t *Talk) follow(m Move) string {
	d := t.Dialogue
	t.understood = t.understood || m.kind != refused
	switch m.kind {
	case refused:
		t.Lead(m.problem)
		t.Memo().Refused = true
	case stay:
		t.Lead(m.problem)
	case forward:
		t.Lead(m.problem)
		if m.to != d.Screen {
			d.Trail = push(d.Trail, d.Screen)
		}
		d.Screen = m.to
	case leap:
		d.Screen, d.Trail = m.to, []session.ScreenID{MenuScreen}
	case instead:
		t.Lead(m.problem)
		d.Trail, d.Screen = cutAt(d.Trail, m.to), m.to
	case backward:
		to, trail := pop(d.Trail)
		if m.twice {
			to, trail = pop(trail)
		}
		if to = cmp.Or(to, t.homeScreen()); to == MenuScreen { // what is begun there is another check
			t.park()
		}
		d.Screen, d.Trail = to, trail
	case homeward:
		t.park()
		d.Screen, d.Trail = t.homeScreen(), nil
		t.Lead(m.problem)
	}
	if m.kind == finished {
		t.park()
		d.Screen, d.Trail = "", nil
		t.reply = &session.Reply{Text: t.showable(m.problem)}
		return ""
	}
	d.Page = 0
	if t.machine.Screens[d.Screen] == nil {
		d.Screen = t.homeScreen()
	}
	return m.rest
}

func (t *Talk) homeScreen() session.ScreenID {
	if t.agreed() {
		return MenuScreen
	}
	return t.firstScreen()
}

// longestTrail is how many screens "back" can go.
const longestTrail = 24

func push(trail []session.ScreenID, id session.ScreenID) []session.ScreenID {
	trail = cutAt(trail, id)
	trail = append(trail[:len(trail):len(trail)], id)
	return trail[max(len(trail)-longestTrail, 0):]
}

// cutAt shortens the way back when it leads through the screen, so that it
// never runs in a circle.
func cutAt(trail []session.ScreenID, id session.ScreenID) []session.ScreenID {
	if i := slices.Index(trail, id); i >= 0 {
		return trail[:i]
	}
	return trail
}

func pop(trail []session.ScreenID) (session.ScreenID, []session.ScreenID) {
	if len(trail) == 0 {
		return "", nil
	}
	return trail[len(trail)-1], trail[:len(trail)-1]
}
