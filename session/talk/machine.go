package talk

import (
	"fmt"
	"strings"
	"sync"
	"sync/atomic"

	"threshline/session"
	"threshline/session/programme"
	"threshline/session/wording"
)

// Screens that the machine itself leads to; package screen has them all.
const (
	LanguageScreen session.ScreenID = "language"
	ConsentScreen  session.ScreenID = "consent"
	MenuScreen     session.ScreenID = "menu"
	ZeroScreen     session.ScreenID = "zero"
	HowScreen      session.ScreenID = "how"
	SlipScreen     session.ScreenID = "slip"
	PatternScreen  session.ScreenID = "pattern"
	ForgetScreen   session.ScreenID = "forget"
)

// Screen is one thing the dialogue can say, and what it accepts.
type Screen struct {
	ID session.ScreenID
	// Show says the screen. It changes nothing, so that the same screen can be
	// said again after a drop.
	Show func(*Talk) Shown
	// Take does what an entry asks for and says where that leads.
	Take func(*Talk, string) Move
	// Open screens are for people who have not agreed to be recorded.
	Open bool
	// Free screens take words: an entry is not looked through for slips or
	// whole checks.
	Free bool
	// Times screens take "8*75" for "8 times 75".
	Times bool
	// Zero says that a lone 0 may be a reading here instead of "back": the person
	// is asked which.
	Zero func(*Talk) bool
	// Waits reports whether an SMS still answers here when the dialogue has rested
	// for longer than a dropped one is kept; nil is never.
	Waits func(*Talk, string) bool
	// Reads is what an entry here has read.
	Reads Reads
	// Help is the wording key of what "?" says here; nil or "" is general help.
	Help func(*Talk) string
}

// Shown is what a screen says.
type Shown struct {
	Text string
	// Options stand under the text, one a line, and are kept together with it.
	Options []string
	// End says that no answer is expected.
	End bool
	// Safety says that no limit may hold this back.
	Safety bool
	// Long says that an SMS may be as long as FitsLong allows, without a line of
	// keys.
	Long bool
}

// Machine turns messages into writes by the screens of a programme. It is
// never changed while in use and may be shared.
type Machine struct {
	Programme *programme.Programme
	Words     *wording.Catalogue
	Screens   map[session.ScreenID]*Screen
	// Shorthand reads a whole check in one message; nil does not.
	Shorthand Shorthand
	// Weeks returns the week's figures for coordinators, which are reckoned
	// elsewhere. It answers at once, with nil while nothing is reckoned yet, and
	// may be nil itself.
	Weeks func() *programme.Weeks

	// Number reads a telephone number written as in the programme's region; nil reads
	// none.
	Number func(digits string) (session.Phone, bool)

	judges sync.Pool                  // of *Judge, which remember lots like those before
	hand   atomic.Pointer[judgedHand] // the lot counted by hand that was judged last
}

// Shorthand reads a whole check in one message.
type Shorthand interface {
	// Take files what the text says, or asks for what is missing; false when
	// the text is not meant as a check.
	Take(t *Talk, text string) bool
	// Caution is what must be said at once of a danger in a text that is kept for
	// later; "" if there is none.
	Caution(t *Talk, text string) string
	// Anywhere handles a text that means the same on every screen; false when the
	// text is none of those.
	Anywhere(t *Talk, text string) bool
}

// mostHops bounds how many screens one entry can run through.
const mostHops = 12

// Step is the turn of one inbound message. Errors are faults of the store; a
// wrong entry is answered.
func (m *Machine) Step(v session.View, in session.Input) (session.Writes, error) {
	if !in.Phone.Answerable() {
		return session.Writes{Reply: session.Reply{Silent: true}}, nil
	}
	in.Text = shorten(in.Text)
	if in.Event == session.End || in.Event == session.Timeout {
		return m.hangUp(v, in)
	}
	t, err := m.open(v, in)
	if err != nil {
		return session.Writes{}, err
	}
	switch {
	case in.Kind == session.SMS && t.isAlert(in.Text):
		t.reply = &session.Reply{Silent: true}
	case !keyword{t}.byWord():
		t.converse()
	}
	w, err := t.close()
	t.dismiss()
	return w, err
}

// longestText is more than we read of any entry, in bytes: ten joined messages
// of four-byte letters. A longer text is cut, and the person still hears that
// not all was read.
const longestText = 6120

func shorten(text string) string {
	if len(text) <= longestText {
		return text
	}
	return strings.ToValidUTF8(text[:longestText], "")
}

// hangUp notes that the network session is over. Every answer was stored when
// it came, so there is nothing to save.
func (m *Machine) hangUp(v session.View, in session.Input) (session.Writes, error) {
	d, err := v.Dialogue(in.Phone)
	if err != nil {
		return session.Writes{}, fmt.Errorf("talk: read the dialogue: %w", err)
	}
	w := session.Writes{Reply: session.Reply{Silent: true}}
	if d.Version != 0 && d.NetworkSession == in.NetworkSession && d.NetworkSession != "" {
		d.NetworkSession = ""
		w.Dialogue = &d
	}
	return w, nil
}

// converse finds the screen, gives it the entry and says what comes of it.
func (t *Talk) converse() {
	entry := strings.TrimSpace(t.In.Text)
	fresh := t.startsAnew(entry)
	stood := t.Dialogue.Screen
	t.settle()
	if fresh {
		t.Memo().Lead, t.Memo().Refused = "", false
		t.Dialogue.Page = 0
		if t.Dialogue.Screen == stood && stood != MenuScreen && !t.idle {
			t.Lead(t.Say("resume.line"))
		}
		return
	}
	if t.idle && t.In.Kind == session.SMS {
		t.firstText(entry)
		return
	}
	if t.keepFirst(entry) {
		return
	}
	if t.crossed() && !t.fits(entry) && !t.Hears("accept.menu", entry) {
		t.Lead(t.Say("resume.line"))
		return
	}
	t.enter(entry)
}

// startsAnew reports whether the message opens a network session. It is then
// not an answer, and the current screen is shown again.
func (t *Talk) startsAnew(entry string) bool {
	if t.In.Kind != session.USSD {
		return false
	}
	dialled := entry == "" || strings.HasPrefix(entry, "*") || strings.HasSuffix(entry, "#")
	begun := t.In.Event == session.Start || t.In.NetworkSession != t.Dialogue.NetworkSession && dialled
	t.wasUSSD = t.Dialogue.NetworkSession != ""
	t.Dialogue.NetworkSession = t.In.NetworkSession
	return begun || t.idle
}

// settle makes sure that the dialogue stands on a screen the person may see.
func (t *Talk) settle() {
	d := t.Dialogue
	if t.idle {
		t.park()
		d.Screen, d.Trail, d.Page, d.Memo, d.Told = "", nil, 0, t.keep(), nil
	}
	screen := t.machine.Screens[d.Screen]
	switch {
	case t.agreed():
		if screen == nil || d.Screen == LanguageScreen || d.Screen == ConsentScreen {
			d.Screen = MenuScreen
		}
	case screen == nil || !screen.Open:
		d.Screen, d.Trail = t.firstScreen(), nil
	}
}

func (t *Talk) firstScreen() session.ScreenID {
	if t.Language == "" || !t.chosen() {
		return LanguageScreen
	}
	return ConsentScreen
}

// enter gives an entry to the screen that was shown, and the rest of it to the
// screens that follow.
func (t *Talk) enter(entry string) {
	entry = t.starred(plainKey(entry))
	if t.turnPage(entry) {
		return
	}
	t.Memo().Lead, t.Memo().Refused, t.Memo().Asked = "", false, false
	for hop := 0; hop < mostHops; hop++ {
		move, done := t.key(entry)
		if !done {
			move = t.screen().Take(t, entry)
		}
		entry = t.follow(move)
		if entry == "" {
			return
		}
	}
}

// starred reads "*" for two characters that a phone with twelve keys lacks:
// alone it is "?", between digits it is the decimal point. It does neither
// where "*" means "times", or where the carrier separates entries with it.
func (t *Talk) starred(entry string) string {
	screen := t.screen()
	switch {
	case !t.In.Star:
		return entry
	case entry == "*":
		return "?"
	case screen.Free || screen.Times:
		return entry
	}
	return strings.ReplaceAll(entry, "*", ".")
}

// plainKey writes a short entry's digits as plain ones, so that a key is known
// in whatever script it was typed.
func plainKey(entry string) string {
	if len(entry) > 12 {
		return entry
	}
	if plain := session.PlainDigits(entry); strings.Trim(plain, "0123456789") == "" {
		return plain
	}
	return entry
}

// key handles what is the same on every screen.
func (t *Talk) key(entry string) (Move, bool) {
	screen, words := t.screen(), t.Words
	lang := string(t.Language)
	switch {
	case entry == "0" && screen.Zero != nil && screen.Zero(t):
		return Go(ZeroScreen), true
	case entry == "00", !screen.Free && len(entry) > 2 && words.Match(lang, "accept.menu", entry):
		return Home(""), true
	case entry == "0", !screen.Free && len(entry) > 2 && words.Match(lang, "accept.back", entry):
		return Move{kind: backward}, true
	case entry == "?", len(entry) > 2 && (words.Match(lang, "accept.how", entry) || !screen.Free && words.Match(lang, "accept.help", entry)):
		if screen.ID == HowScreen {
			return Stay(""), true
		}
		return Go(HowScreen), true
	}
	return Move{}, false
}
