package session

// Ask is a question that a turn may put to its View. An engine for which each
// question is a way to another machine reads the answers along with the
// dialogue. Whatever else a turn asks is answered too, only later.
type Ask struct {
	Kind AskKind
	// ID is a slip, a person, a district, a code or a phone, by the kind.
	ID string
	// N is how many checks are listed, newest first, unless its kind says otherwise.
	N int
	// Anew asks only where the phone has no dialogue, or one that rests: see
	// Writes.Rests.
	Anew bool
}

// MostTallied is more checks than an agent with one meter makes in a week.
const MostTallied = 500

// MostOfMember is how many checks AskMember lists, of one grower.
const MostOfMember = 20

// AskKind is the kind of a question.
type AskKind byte

// The kinds. "Own" is of the person of the exchange's phone.
const (
	AskCheck        AskKind = 'k' // a check by its slip, its grower and reporter, and the grower's newest checks
	AskGrower       AskKind = 'g' // a person by ID, and their newest checks; without an ID those of nobody
	AskOwn          AskKind = 'm' // the newest checks of the person, and by them, and of the grower of the newest one by them
	AskRoster       AskKind = 'r' // the person's growers
	AskMember       AskKind = 'h' // the newest checks of those of the growers whose short number is N, or one of whose names begins with ID
	AskCoordinators AskKind = 'c' // all of them
	AskNamed        AskKind = 'n' // the agents who are named in a district; without an ID in the person's
	AskInvite       AskKind = 'i' // a code, who made it, whom it is for, that person's growers, and the dialogue of their phone
	AskPhone        AskKind = 't' // the person of another phone, their growers, and the phone's dialogue
)
