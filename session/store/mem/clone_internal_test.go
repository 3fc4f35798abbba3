package mem

import (
	"reflect"
	"testing"

	"threshline/session"
)

// TestClonesShareNothing fills every list and map of a record, also those that
// are added later, and finds the ones that a clone shares with its original.
func TestClonesShareNothing(t *testing.T) {
	sharesNothing(t, session.Dialogue.Clone)
	sharesNothing(t, clonePerson)
	sharesNothing(t, cloneCheck)
	sharesNothing(t, cloneAccount)
	// The rest is copied as it is.
	sharesNothing(t, func(o session.Outgoing) session.Outgoing { return o })
	sharesNothing(t, func(i session.Invite) session.Invite { return i })
	sharesNothing(t, func(n session.AuditNote) session.AuditNote { return n })
	sharesNothing(t, func(r session.Reminder) session.Reminder { return r })
	sharesNothing(t, func(r session.Reply) session.Reply { return r })
}

func sharesNothing[T any](t *testing.T, clone func(T) T) {
	t.Helper()
	var original T
	fill(reflect.ValueOf(&original).Elem())
	copied := clone(original)
	compare(t, reflect.TypeOf(original).Name(), reflect.ValueOf(&original).Elem(), reflect.ValueOf(&copied).Elem())
}

// fill gives every list and map two entries, all the way down.
func fill(v reflect.Value) {
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Field(i).CanSet() {
				fill(v.Field(i))
			}
		}
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		fill(v.Index(0))
		fill(v.Index(1))
	case reflect.Map:
		v.Set(reflect.MakeMap(v.Type()))
		e := reflect.New(v.Type().Elem()).Elem()
		fill(e)
		v.SetMapIndex(reflect.Zero(v.Type().Key()), e)
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		fill(v.Elem())
	}
}

func compare(t *testing.T, at string, a, b reflect.Value) {
	t.Helper()
	switch a.Kind() {
	case reflect.Struct:
		for i := range a.NumField() {
			if f := a.Type().Field(i); f.IsExported() && f.Type.String() != "time.Time" {
				compare(t, at+"."+f.Name, a.Field(i), b.Field(i))
			}
		}
	case reflect.Slice, reflect.Map, reflect.Pointer:
		if b.IsNil() || a.Pointer() == b.Pointer() {
			t.Errorf("%s is shared, or lost: copy it in clone.go", at)
			return
		}
		if a.Kind() == reflect.Slice {
			compare(t, at+"[0]", a.Index(0), b.Index(0))
		}
	}
}
