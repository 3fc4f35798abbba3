package screen

import (
	"threshline/session"
	"threshline/session/talk"
)

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
	"seen": readsFiling, "smell": readsFiling, "insects": readsFiling, "hand-all": readsFiling, "hand-husk": readsFiling, "hand-count": readsFiling,
	"unfinished": talk.ReadsDrafts | talk.ReadsAlarm, "lots": talk.ReadsDrafts | readsFiling | talk.ReadsRoster,
	"whose": talk.ReadsRoster, "growers": talk.ReadsRoster, "pick": talk.ReadsRoster, "add-name": talk.ReadsRoster, "add-short": talk.ReadsRoster,
	"add-agree": talk.ReadsRoster, "leave": talk.ReadsRoster,
	"grower": talk.ReadsGrower | talk.ReadsRoster, "phone": talk.ReadsGrower, "hand-over": talk.ReadsGrower, "rename": talk.ReadsGrower, "renumber": talk.ReadsGrower | talk.ReadsRoster,
}
