package session_test

import (
	"reflect"
	"testing"

	"threshline/session"
)

// A text that is added to the memo is looked through too when somebody is forgotten.
func TestNoTextOfTheMemoKeepsAName(t *testing.T) {
	var d session.Dialogue
	texts := 0
	memo := reflect.ValueOf(&d.Memo).Elem()
	for i := range memo.NumField() {
		if f := memo.Field(i); f.Type() == reflect.TypeFor[string]() {
			f.SetString("for Asha")
			texts++
		}
	}
	if !d.Redact(session.Trace{Name: "Asha"}) || texts == 0 {
		t.Fatal("nothing was found")
	}
	for i := range memo.NumField() {
		if f := memo.Field(i); f.Type() == reflect.TypeFor[string]() && f.String() != "for "+session.Removed {
			t.Errorf("%s is still %q", memo.Type().Field(i).Name, f.String())
		}
	}
}
