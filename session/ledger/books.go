package ledger

import (
	"encoding/binary"
	"strings"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
)

// names numbers words from 0 up. The list only grows, so that a view may go on reading
// the part that it knows.
type names[T comparable] struct {
	list  []T
	known map[T]uint32
}

func (n *names[T]) id(word T) uint32 {
	if id, ok := n.known[word]; ok {
		return id
	}
	if n.known == nil {
		n.known = map[T]uint32{}
	}
	id := uint32(len(n.list))
	n.list = append(n.list, word)
	n.known[word] = id
	return id
}

// wordOf is id for a text. A text that a store reads is part of its record's text: it
// is copied, or the name would keep the whole record in memory.
func wordOf[T ~string](n *names[T], word T) uint32 {
	if id, ok := n.known[word]; ok {
		return id
	}
	return n.id(T(strings.Clone(string(word))))
}

// place is a village of a district.
type place struct{ district, village string }

// edition names a table by which checks were graded, from readings that were made by
// one edition of the procedure. Only checks of one such edition are alike.
type edition struct {
	standard, edition string
	procedure         int
}

// verdict is what was decided about a check, as far as many checks share it.
type verdict struct {
	table    uint32
	standing uint32 // place in shelf.standings
	complete bool
	deciding []grading.ParameterID
	decides  []uint32 // the same, as places in shelf.parameters
	missing  []grading.ParameterID
	gates    []string
	remedy   advice.RemedyID
}

// standing is one grade of one table.
type standing struct {
	table    uint32
	rank, of int
	label    grading.GradeLabel
}

// parameter is one parameter of one table, with its values in whole steps of its last
// decimal.
type parameter struct {
	table uint32
	id    grading.ParameterID
	step  grading.Decimal
	of    *grading.Parameter // nil when the table is not known
}

// paramKey finds a parameter.
type paramKey struct {
	table uint32
	id    grading.ParameterID
}

// shelf is what the columns' numbers stand for.
type shelf struct {
	verdicts   []verdict
	standings  []standing
	tables     []edition
	standards  []*grading.Standard // parallel to tables; nil unknown
	parameters []parameter
	places     []place
	people     []session.PersonID // reporters and growers
	agents     []session.PersonID // few, so that a summary counts by them in little room
	varieties  []string
	channels   []string
	words      []string // slips that are not of the usual length
}

// books are the writer's side of the shelf.
type books struct {
	shelf
	given      []*grading.Standard
	byVerdict  map[string]uint32
	standing   names[standing]
	table      names[edition]
	parameter  map[paramKey]uint32
	place      names[place]
	person     names[session.PersonID]
	agent      names[session.PersonID]
	variety    names[string]
	channel    names[string]
	word       names[string]
	verdictKey []byte
}

func newBooks(given []*grading.Standard) books {
	return books{given: given, byVerdict: map[string]uint32{}, parameter: map[paramKey]uint32{}}
}

// share brings the shelf up to date.
func (b *books) share() {
	b.standings, b.tables, b.places, b.people = b.standing.list, b.table.list, b.place.list, b.person.list
	b.agents, b.varieties, b.channels, b.words = b.agent.list, b.variety.list, b.channel.list, b.word.list
}

// tableOf finds or begins a table.
func (b *books) tableOf(id, ed string, procedure int) uint32 {
	t := b.table.id(edition{id, ed, max(procedure, firstProcedure)})
	if int(t) == len(b.standards) {
		var found *grading.Standard
		for _, s := range b.given {
			if s.ID == id && s.Edition == ed {
				found = s
			}
		}
		b.standards = append(b.standards, found)
	}
	return t
}

// verdictOf finds or begins the verdict of a check.
func (b *books) verdictOf(c *session.Check) uint32 {
	table := b.tableOf(c.StandardID, c.Edition, c.Procedure)
	rank := b.standing.id(standing{table, c.Rank, c.Of, c.Grade})
	k := binary.AppendUvarint(b.verdictKey[:0], uint64(rank))
	if c.Complete {
		k = append(k, 1)
	} else {
		k = append(k, 0)
	}
	k = appendWords(k, c.Deciding)
	k = appendWords(k, c.Missing)
	k = appendWords(k, c.Gates)
	k = append(k, c.Remedy...)
	b.verdictKey = k
	if id, ok := b.byVerdict[string(k)]; ok {
		return id
	}
	id := uint32(len(b.verdicts))
	var decides []uint32
	for _, p := range c.Deciding {
		decides = append(decides, b.parameterOf(table, p))
	}
	b.verdicts = append(b.verdicts, verdict{
		decides: decides,
		table:   table, standing: rank, complete: c.Complete, remedy: c.Remedy,
		deciding: append([]grading.ParameterID(nil), c.Deciding...),
		missing:  append([]grading.ParameterID(nil), c.Missing...),
		gates:    append([]string(nil), c.Gates...),
	})
	b.byVerdict[string(k)] = id
	return id
}

// appendWords appends a list in a form that no other list has.
func appendWords[T ~string](k []byte, words []T) []byte {
	k = binary.AppendUvarint(k, uint64(len(words)))
	for _, w := range words {
		k = binary.AppendUvarint(k, uint64(len(w)))
		k = append(k, w...)
	}
	return k
}

// usualDecimals is how many decimals are kept for a parameter of an unknown table.
const usualDecimals = 2

// parameterOf finds or begins a parameter of a table.
func (b *books) parameterOf(table uint32, id grading.ParameterID) uint32 {
	key := paramKey{table, id}
	if n, ok := b.parameter[key]; ok {
		return n
	}
	p, decimals := parameter{table: table, id: id, step: grading.One}, usualDecimals
	if s := b.standards[table]; s != nil {
		if p.of = s.Parameter(id); p.of != nil {
			decimals = p.of.Decimals
		}
	}
	for range decimals {
		p.step /= 10
	}
	n := uint32(len(b.parameters))
	b.parameters = append(b.parameters, p)
	b.parameter[key] = n
	return n
}
