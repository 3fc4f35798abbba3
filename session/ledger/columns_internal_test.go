package ledger

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"
	"unsafe"

	"threshline/session"
)

// The collector looks at every pointer there is, so that a million checks must
// not have any: a chunk's columns hold numbers alone.
func TestTheColumnsHoldNoPointers(t *testing.T) {
	columns, of := 0, reflect.TypeFor[chunk]()
	for i := range of.NumField() {
		column := of.Field(i).Type
		for column.Kind() == reflect.Slice {
			column = column.Elem()
		}
		if column == of.Field(i).Type { // a figure of the whole chunk
			continue
		}
		columns++
		if holdsPointers(column) {
			t.Errorf("column %s holds pointers", of.Field(i).Name)
		}
	}
	if columns < 15 {
		t.Errorf("only %d columns were looked at", columns)
	}
	for _, column := range []reflect.Type{reflect.TypeFor[wideKey](), reflect.TypeFor[filed]()} {
		if holdsPointers(column) {
			t.Errorf("%v holds pointers", column)
		}
	}
}

func holdsPointers(t reflect.Type) bool {
	switch t.Kind() {
	case reflect.Struct:
		return slices.ContainsFunc(reflect.VisibleFields(t), func(f reflect.StructField) bool { return holdsPointers(f.Type) })
	case reflect.Array:
		return holdsPointers(t.Elem())
	}
	return t.Kind() < reflect.Bool || t.Kind() > reflect.Complex128
}

// A store gives texts that are parts of a record's text. Kept as they are, each
// name would keep the record in memory that it came with.
func TestNamesAreKeptAsCopies(t *testing.T) {
	record := strings.Repeat("reading", 1000) + "GROWER1AGENT1REPORTER1IR64ussdAnna"
	part := func(text string) string { i := strings.Index(record, text); return record[i : i+len(text)] }
	l := New(Settings{})
	l.Apply(session.Check{
		Slip: "ABCDEFG", State: session.Filed, At: time.Unix(1, 0), Position: 1, Channel: part("ussd"),
		Agent: session.PersonID(part("AGENT1")), Reporter: session.PersonID(part("REPORTER1")),
		Lot: session.Lot{Grower: session.PersonID(part("GROWER1")), Variety: part("IR64")},
	})
	l.People(session.Person{ID: session.PersonID(part("GROWER1")), Name: part("Anna"), Role: session.Grower})
	v := l.View()
	kept := slices.Concat(v.shelf.varieties, v.shelf.channels)
	for _, id := range slices.Concat(v.shelf.people, v.shelf.agents) {
		kept = append(kept, string(id))
	}
	for id, p := range l.roll.people {
		kept = append(kept, string(id), p.Name)
	}
	if len(kept) != 7 {
		t.Fatalf("%d texts are kept: %q", len(kept), kept)
	}
	begin := uintptr(unsafe.Pointer(unsafe.StringData(record)))
	for _, text := range kept {
		if at := uintptr(unsafe.Pointer(unsafe.StringData(text))); at >= begin && at < begin+uintptr(len(record)) {
			t.Errorf("%q is a part of the record", text)
		}
	}
}

// A summary counts by agent, not by whoever is in the programme: hundreds of
// thousands of growers would take it longer than all else.
func TestASummaryHasRoomForAgentsAlone(t *testing.T) {
	l := New(Settings{Workers: 1})
	for i := range 500 {
		grower := session.PersonID(fmt.Sprintf("grower-%03d", i))
		l.Apply(session.Check{
			Slip: session.Slip(fmt.Sprintf("A%03d", i)), State: session.Filed, At: time.Unix(1, 0), Position: uint64(i + 1),
			Agent: session.PersonID(fmt.Sprintf("agent-%d", i%7)), Reporter: grower, Lot: session.Lot{Grower: grower},
		})
	}
	v := l.View()
	if n := v.tally(&Filter{}, (*tally).chunk).agents.groups(); n > 16 {
		t.Errorf("room for %d agents, of 7", n)
	}
	if s := v.Summary(Filter{Agent: "agent-3"}); s.Checks != 71 || len(s.Agents) != 1 || s.Agents[0].Key != "agent-3" {
		t.Errorf("%d checks of %+v", s.Checks, s.Agents)
	}
}
