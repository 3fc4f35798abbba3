// Package screen has every screen of the dialogue: what it says, what it accepts
// and where it leads.
//
// A screen decides nothing about grades or remedies and has no words of its own:
// those are in package wording.
package screen

import (
	"slices"

	"threshline/session"
	"threshline/session/programme"
	"threshline/session/screen/answer"
	"threshline/session/screen/ask"
	"threshline/session/screen/dry"
	"threshline/session/screen/people"
	"threshline/session/screen/signs"
	"threshline/session/talk"
	"threshline/session/wording"
)

// All lists every screen, by room.
func All() []talk.Screen {
	return slices.Concat(people.Screens(beginFor), steps(), screens(), answer.Screens(), dry.Screens())
}

// screens are those of a check, from its begin until it is filed, and what leads to
// them. The readings have one for each group: see steps.
func screens() []talk.Screen {
	return []talk.Screen{
		{ID: talk.MenuScreen, Show: showMenu, Take: takeMenu, Help: ask.Helpful("help.general")},
		// Before the first reading.
		{ID: whoseScreen, Show: ask.Saying("whose.ask", "growers.add"), Take: takeWhose, Help: ask.Helpful("help.growers"), Free: true},
		{ID: bagsScreen, Show: showBags, Take: ofDraft(takeBags), Help: ask.Helpful("help.bags"), Times: true},
		{ID: spearScreen, Show: showSpear, Take: ofDraft(takeSpear), Help: ask.Helpful(spearHelp)},
		// Whether the tool is always missing, or only for this lot; what a lone 0 meant
		// where it may be a reading; whether another entry was meant.
		{ID: lackScreen, Show: showLack, Take: ofDraft(takeLack), Help: ask.Helpful("help.kit")},
		{ID: talk.ZeroScreen, Show: ask.Saying("zero.ask", "zero.none", "zero.back"), Take: takeZero},
		{ID: ask.MeantScreen, Show: showMeant, Take: takeMeant},
		// A check by hand, in the order of the work. The signs, whose screens it shares
		// with the full check, come before all of it.
		{ID: handOfferScreen, Show: ask.Saying("hand.offer", "hand.yes", "hand.no"), Take: ofDraft(takeHandOffer), Help: ask.Helpful("help.hand_offer")},
		{ID: handBiteScreen, Show: showHandBite, Take: ofDraft(takeHandBite), Help: ask.Helpful("help.bite")},
		{ID: handSaltScreen, Show: showSigns("test.salt_ask", salts), Take: ofDraft(takeHandSalt), Help: ask.Helpful("help.salt")},
		{ID: handCountScreen, Show: showHandCount, Take: ofDraft(takeHandCount), Help: ask.Helpful("help.hand_count")},
		{ID: handHuskScreen, Show: showHandHusk, Take: ofDraft(takeHandHusk), Help: ask.Helpful("help.hand_husk")},
		{ID: handAllScreen, Show: showHandAll, Take: ofDraft(takeHandAll), Help: ask.Helpful("help.hand_count")},
		// What no tool measures.
		{ID: seenScreen, Show: showSeen, Take: ofDraft(takeSeen), Help: ask.Helpful("help.seen")},
		{ID: smellScreen, Show: ask.Saying("smell.ask", "smell.musty", "smell.off_odour"), Take: ofDraft(takeSmell), Help: ask.Helpful("help.seen")},
		{ID: insectsScreen, Show: showInsects, Take: ofDraft(takeInsects), Help: ask.Helpful("help.insects"),
			Zero: func(*talk.Talk) bool { return true }},
		// Before it is filed.
		{ID: sumScreen, Show: showSum, Take: ofDraft(takeSum), Help: ask.Helpful("help.sum")},
		{ID: doubtScreen, Show: showDoubt, Take: ofDraft(takeDoubt)},
		{ID: classScreen, Show: showClasses, Take: ofDraft(takeClass)},
		{ID: agreeScreen, Show: showAgree, Take: takeAgree, Help: ask.Helpful("help.general")},
		{ID: sameScreen, Show: showSame, Take: takeSame, Help: ask.Helpful("help.same")},
		{ID: twiceScreen, Show: showTwice, Take: takeTwice, Help: ask.Helpful("help.slip")},
		// Changing a filed check, or checking its lot again.
		{ID: answer.ChangeScreen, Show: showChange, Take: takeChange, Help: ask.Helpful("help.grade")},
		{ID: withdrawScreen, Show: showWithdraw, Take: takeWithdraw},
		// What became of several lots in one message, and checks that were put aside.
		{ID: lotsScreen, Show: showLots, Take: takeLots, Help: ask.Helpful("help.general")},
		{ID: unfinishedScreen, Show: showUnfinished, Take: takeUnfinished, Help: ask.Helpful("help.general")},
		{ID: letGoScreen, Show: showLetGo, Take: takeLetGo},
		// Tests for a person without a meter. They can show that a lot is too wet, but
		// never that it is dry enough.
		{ID: dry.TestScreen, Show: showTest, Take: takeTest, Help: ask.Helpful("help.test")},
		{ID: biteScreen, Show: showSigns("test.bite_ask", bites), Take: takeSign(bites), Help: ask.Helpful("help.bite")},
		{ID: saltScreen, Show: showSigns("test.salt_ask", salts), Take: takeSign(salts), Help: ask.Helpful("help.salt")},
		{ID: signScreen, Show: showSign, Take: takeFound, Help: ask.Helpful("help.test")},
		// "?": how to do by hand what the screen before asks.
		{ID: talk.HowScreen, Open: true, Show: showHow, Take: takeHow},
		{ID: talk.PatternScreen, Show: showPattern, Take: ask.Nothing},
	}
}

// ofDraft takes an entry for the check under way; where there is none, any leads home.
func ofDraft(take func(*talk.Talk, *session.Draft, string) talk.Move) func(*talk.Talk, string) talk.Move {
	return func(t *talk.Talk, entry string) talk.Move {
		if draft := t.Draft(); draft != nil {
			return take(t, draft, entry)
		}
		return talk.Home("")
	}
}

// NewMachine is the dialogue of a programme with all screens.
func NewMachine(p *programme.Programme, words *wording.Catalogue) *talk.Machine {
	m := &talk.Machine{Programme: p, Words: words, Screens: map[session.ScreenID]*talk.Screen{}, Shorthand: short{ask.NewReaders(p.Languages, words)}}
	for _, s := range All() {
		if !s.Free {
			s.Take = hearing(s.Take)
		}
		s.Reads = reads[s.ID]
		m.Screens[s.ID] = &s
	}
	return m
}

// hearing takes a word for a sign, or a sentence of signs, when the screen does
// not understand the entry: a danger is heard at every question.
func hearing(take func(*talk.Talk, string) talk.Move) func(*talk.Talk, string) talk.Move {
	return func(t *talk.Talk, entry string) talk.Move {
		move, draft := take(t, entry), t.Draft()
		if !move.Refused() {
			return move
		}
		f, ok := signs.Heard(t, entry)
		if !ok {
			return move
		}
		if draft == nil {
			return answer.Afterwards(t, &f, move)
		}
		f.Tell(&draft.Readings)
		return talk.Go(nextStep(t)).Saying(t.Say("seen.noted", "what", signs.Text(t, &draft.Readings)))
	}
}

// Screens that do alike read alike.
const (
	readsResult = talk.ReadsShown | talk.ReadsAlarm | talk.ReadsKit
	readsFiling = talk.ReadsLot | talk.ReadsAlarm | talk.ReadsKit
)

// reads is what the entries on each screen have read; on others nothing, but for
// what the message itself names. A question that is not foreseen is answered
// too, only later: the transcripts find it.
var reads = map[session.ScreenID]talk.Reads{
	"menu": readsResult | talk.ReadsDrafts | talk.ReadsOwn | talk.ReadsRoster,
	"mine": readsResult | talk.ReadsOwn | talk.ReadsListed, "grade": readsResult | talk.ReadsRoster, "todo": readsResult, "why": readsResult, "ways": readsResult,
	"change": readsResult, "withdraw": readsResult, "look": readsResult, "look-smell": readsResult,
	"sum": readsFiling, "agree": readsFiling, "same": readsFiling, "twice": readsFiling | readsResult, "meant": readsFiling, "step": readsFiling,
	"seen": readsFiling, "smell": readsFiling, "insects": readsFiling, "hand-bite": readsFiling, "hand-salt": readsFiling, "hand-all": readsFiling, "hand-husk": readsFiling, "hand-count": readsFiling,
	"unfinished": talk.ReadsDrafts | talk.ReadsAlarm, "lots": talk.ReadsDrafts | readsFiling | talk.ReadsRoster,
	"whose": talk.ReadsRoster, "growers": talk.ReadsRoster, "pick": talk.ReadsRoster, "add-name": talk.ReadsRoster, "add-short": talk.ReadsRoster,
	"add-agree": talk.ReadsRoster, "leave": talk.ReadsRoster,
	"grower": talk.ReadsGrower | talk.ReadsRoster, "phone": talk.ReadsGrower, "hand-over": talk.ReadsGrower, "rename": talk.ReadsGrower, "renumber": talk.ReadsGrower | talk.ReadsRoster,
}
