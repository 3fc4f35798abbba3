package talk

import (
	"strconv"
	"strings"
	"time"
	"unicode"

	"threshline/session"
)

// byWord answers what does not depend on the screen: STOP, START, HELP, a
// slip, a whole check in one message. It tells whether it did.
func (t *Talk) byWord() bool {
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
		return t.machine.Shorthand != nil && t.machine.Shorthand.Take(t, entry)
	case t.free():
		return false
	case session.LooksLikeSlip(entry) && t.agreed():
		t.settle()
		t.enter(t.follow(GoWith(SlipScreen, entry)))
	case session.LooksLikeSlip(entry):
		t.answer(t.LookUp(entry))
	case sms && t.agreed() && t.machine.Shorthand != nil && !numbersOnly(entry):
		t.settle()
		return t.machine.Shorthand.Take(t, entry)
	default:
		return false
	}
	return true
}

// anywhere does what a text asks for whatever the screen; where any words are
// taken, it has to have a number, or be a list.
func (t *Talk) anywhere(entry string) bool {
	words := strings.ContainsFunc(entry, unicode.IsLetter) && len(entry) <= 160
	if t.machine.Shorthand == nil || !words || t.free() && !strings.ContainsAny(entry, "0123456789,;") {
		return false
	}
	t.settle()
	return t.machine.Shorthand.Anywhere(t, entry)
}

// numbersOnly tells an answer to a step from a whole check: "O,24 g" is a number.
func numbersOnly(entry string) bool {
	_, why := ReadNumbers(entry)
	return why == ""
}

// readingsIn tells a whole check from a name, a slip or a telephone number
// where any words are taken: it has letters, and three numbers or more.
func readingsIn(entry string) bool {
	numbers := 0
	for _, word := range strings.Fields(entry) {
		if strings.ContainsAny(word, "0123456789") {
			numbers++
		}
	}
	return numbers >= 3 && !numbersOnly(entry) && strings.ContainsFunc(entry, unicode.IsLetter)
}

// answersQuestion keeps a word that also means "no" from opting out while a
// question is open.
func (t *Talk) answersQuestion(entry string) bool {
	return !t.idle && t.Hears("accept.no", entry)
}

// free tells whether the screen that was shown takes words of any kind.
func (t *Talk) free() bool {
	s := t.screen()
	return !t.idle && s != nil && s.Free
}

// answer replies without moving the dialogue, and so without pages: only texts
// that fit in every language are said this way.
func (t *Talk) answer(text string) {
	text = t.showable(text)
	t.reply = &session.Reply{Text: text, More: t.In.Kind == session.USSD && !t.idle && t.agreed()}
}

// stop opts the person out and says so once. An unknown number is noted too,
// with nothing but the number: otherwise it could not be left in peace.
func (t *Talk) stop() {
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

// start opts the person in again and shows where they are.
func (t *Talk) start() bool {
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
func (t *Talk) tellStopped() {
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

// keepFirst keeps a whole check of somebody who has not agreed to anything yet, until
// they have; it goes with them if they decline.
func (t *Talk) keepFirst(entry string) bool {
	if t.agreed() || t.In.Kind != session.SMS || t.machine.Shorthand == nil || !readingsIn(entry) {
		return false
	}
	t.Memo().First = entry
	t.Lead(t.Say("resume.kept"))
	return true
}

// TakeFirst answers the whole check that came before anything was agreed to; false
// when none did, or it is none.
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

// fits tells whether an entry could answer the screen that stands open, when
// it comes by another way than the screen was shown.
func (t *Talk) fits(entry string) bool {
	if t.screen().Free {
		return false
	}
	_, why := ReadNumbers(entry)
	return why == ""
}

// crossed says that the screen was shown in a network session and the answer
// comes by SMS.
func (t *Talk) crossed() bool { return t.In.Kind == session.SMS && t.wasUSSD && !t.idle }

// minutes rounds up: "1" to "60".
func minutes(d time.Duration) string {
	return strconv.Itoa(int((d + time.Minute - 1) / time.Minute))
}
