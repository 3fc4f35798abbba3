package talk

import (
	"strconv"
	"strings"
	"time"
	"unicode"

	"threshline/session"
)

// keyword answers a turn's words that mean the same on every screen.
type keyword struct{ *Talk }

// byWord answers what does not depend on the screen: STOP, START, HELP, a slip,
// a whole check in one message. It reports whether it did.
func (t keyword) byWord() bool {
	entry := strings.TrimSpace(t.In.Text)
	sms := t.In.Kind == session.SMS
	switch {
	case !t.idle && t.agreed() && t.hearsAny("accept.quit", entry):
		t.settle()
		t.Make(Home("")) // in the middle of a dialogue it means this dialogue
	case t.hearsAny("accept.stop", entry) && !t.answersQuestion(entry):
		t.stop()
	case t.hearsAny("accept.start", entry) && (sms || !t.Person.Stopped.IsZero()):
		return t.start()
	case sms && t.hearsAny("accept.help", entry) && t.agreed():
		t.settle()
		t.Make(Go(PatternScreen))
	case sms && t.hearsAny("accept.help", entry):
		t.answer(t.Say("help.stranger"))
	case sms && !t.Person.Stopped.IsZero():
		t.tellStopped()
	case t.agreed() && !t.free() && t.Hears("accept.forget", entry):
		t.settle()
		t.Make(Go(ForgetScreen))
	case t.agreed() && !t.free() && t.Person.Role == session.Coordinator && t.hearsAny("accept.week", entry):
		t.settle()
		t.Make(Go(WeekScreen))
	case t.agreed() && t.anywhere(entry):
	case t.free() && sms && t.agreed() && readingsIn(entry):
		t.settle()
		return t.machine.Shorthand != nil && t.machine.Shorthand.Take(t.Talk, entry)
	case t.free():
		return false
	case t.likeSlip(entry) && t.agreed():
		t.settle()
		t.enter(t.follow(GoWith(SlipScreen, entry)))
	case t.likeSlip(entry):
		t.answer(t.LookUp(entry))
	case t.slipNamed(entry) != "":
		t.settle()
		if t.agreed() {
			t.enter(t.follow(GoWith(SlipScreen, t.slipNamed(entry))))
		} else {
			t.answer(t.LookUp(t.slipNamed(entry)))
		}
	case sms && t.agreed() && t.machine.Shorthand != nil && !numbersOnly(entry):
		t.settle()
		return t.machine.Shorthand.Take(t.Talk, entry)
	default:
		return false
	}
	return true
}

// likeSlip reports whether an entry has the shape of a slip, and is not the word for
// a check by hand with a number behind it, such as "hand 200".
func (t *Talk) likeSlip(entry string) bool {
	word, _, _ := strings.Cut(entry, " ")
	_, well := session.ParseSlip(entry)
	return session.LooksLikeSlip(entry) && (well || !t.hearsAny("accept.hand", word))
}

// slipNamed is the slip of "find slip HWMMM3D"; "" where anything else is said.
func (t *Filing) slipNamed(entry string) string {
	entry = strings.TrimRight(entry, " .!?")
	i := strings.LastIndexByte(entry, ' ')
	if i < 0 || !session.LooksLikeSlip(entry[i+1:]) || !t.hearsAny("accept.find", entry[:i]) {
		return ""
	}
	return entry[i+1:]
}

// anywhere handles a text that means the same on every screen. On a screen that
// takes any words, the text must have a number in it, or be a list.
func (t keyword) anywhere(entry string) bool {
	words := strings.ContainsFunc(entry, unicode.IsLetter) && len(entry) <= 160
	if t.machine.Shorthand == nil || !words || t.free() && !strings.ContainsAny(entry, "0123456789,;") {
		return false
	}
	t.settle()
	return t.machine.Shorthand.Anywhere(t.Talk, entry)
}

// numbersOnly tells an answer to one step apart from a whole check: "O,24 g" is
// a number.
func numbersOnly(entry string) bool {
	_, why := ReadNumbers(entry)
	return why == ""
}

// readingsIn recognises a whole check on a screen that takes any words, where a
// name, a slip or a telephone number may come: a whole check has letters, and
// three numbers or more.
func readingsIn(entry string) bool {
	numbers := 0
	for _, word := range strings.Fields(entry) {
		if strings.ContainsAny(word, "0123456789") {
			numbers++
		}
	}
	return numbers >= 3 && !numbersOnly(entry) && strings.ContainsFunc(entry, unicode.IsLetter)
}

// answersQuestion prevents a word that also means "no" from stopping all
// messages while a question is open.
func (t keyword) answersQuestion(entry string) bool {
	return !t.idle && t.Hears("accept.no", entry)
}

// free reports whether the screen that was shown takes words of any kind.
func (t keyword) free() bool {
	s := t.screen()
	return !t.idle && s != nil && s.Free
}

// answer replies without moving the dialogue, and so without pages. Use it only
// for texts that fit in every language.
func (t keyword) answer(text string) {
	text = t.showable(text)
	t.reply = &session.Reply{Text: text, More: t.In.Kind == session.USSD && !t.idle && t.agreed()}
}

// stop ends all messages to the person and says so once. An unknown number is
// stored too, alone: otherwise we would not know to leave it in peace.
func (t keyword) stop() {
	if !t.Person.Stopped.IsZero() {
		t.reply = &session.Reply{Silent: true}
		return
	}
	p := t.Person
	if p.ID == "" {
		p = session.Person{Phone: t.In.Phone, Role: session.Grower}
	}
	p.Stopped = t.In.At
	t.Save(p)
	t.park()
	t.Dialogue.Screen, t.Dialogue.Trail = "", nil
	t.reply = &session.Reply{Text: t.Say("stop.done")}
}

// start lets the person get messages again and shows the current screen.
func (t keyword) start() bool {
	if p := t.Person; !p.Stopped.IsZero() {
		p.Stopped = time.Time{}
		t.Save(p)
		t.Memo().StopTold = false
	}
	t.settle()
	if t.agreed() {
		t.follow(Home(""))
	}
	t.understood = true
	return true
}

// tellStopped says once how to start again; after that a stopped person is
// left in peace.
func (t keyword) tellStopped() {
	if t.Memo().StopTold {
		t.reply = &session.Reply{Silent: true}
		return
	}
	t.Memo().StopTold = true
	t.reply = &session.Reply{Text: t.Say("stop.told")}
}

// firstText is an SMS after a pause: an invitation, a greeting or what the
// person knows the menu takes.
func (t *Talk) firstText(entry string) {
	if !t.agreed() {
		if code, ok := inviteIn(entry); ok {
			t.Memo().Invitation = code
		}
		t.keepFirst(entry)
		return
	}
	t.enter(entry)
	if !t.understood {
		t.Memo().Lead = ""
	}
}

// keepFirst keeps a whole check from a person who has not agreed to anything
// yet. It is filed when they agree, and deleted if they decline.
func (t *Talk) keepFirst(entry string) bool {
	if t.agreed() || t.In.Kind != session.SMS || t.machine.Shorthand == nil || !readingsIn(entry) {
		return false
	}
	t.Memo().First = entry
	lead := t.machine.Shorthand.Caution(t, entry) // they may never agree
	if lead == "" {
		lead = t.Say("resume.kept")
	}
	t.Lead(lead)
	return true
}

// TakeFirst answers the whole check that came before the person agreed; false
// when none came, or the text is no whole check.
func (t *Talk) TakeFirst() bool {
	text := t.Memo().First
	t.Memo().First = ""
	return text != "" && t.machine.Shorthand != nil && t.machine.Shorthand.Take(t, text)
}

// inviteIn finds an invitation code in a first message: alone or as its last word.
func inviteIn(entry string) (string, bool) {
	words := strings.Fields(entry)
	if len(words) == 0 || len(words) > 3 {
		return "", false
	}
	return session.ParseCode(words[len(words)-1])
}

// fits reports whether an entry could answer the open screen, when it comes by
// another channel than the one that showed the screen.
func (t *Talk) fits(entry string) bool {
	switch {
	case t.screen().ID == SlipScreen:
		_, well := session.ParseSlip(entry)
		return well
	case t.screen().Free:
		return false
	}
	_, why := ReadNumbers(entry)
	return why == ""
}

// crossed reports whether the screen was shown in a network session and the
// answer comes by SMS.
func (t *Talk) crossed() bool { return t.In.Kind == session.SMS && t.wasUSSD && !t.idle }

// minutes returns a wait in whole minutes, rounded up: "1" to "60".
func minutes(d time.Duration) string {
	return strconv.Itoa(int((d + time.Minute - 1) / time.Minute))
}
