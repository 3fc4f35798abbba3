package storetest

import (
	"context"
	"errors"
	"iter"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"threshline/grading"
	"threshline/session"
)

var ctx = context.Background()

// put commits what a turn would write, without reading.
func put(t *testing.T, e Engine, w session.Writes) {
	t.Helper()
	if _, err := e.Exchange(ctx, session.Key{}, always(w)); err != nil {
		t.Fatalf("put: %v", err)
	}
}

// must fails the test on an error, and gives what came without one.
func must[T any](v T, err error) func(*testing.T) T {
	return func(t *testing.T) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// paged goes through what an engine lists in pages of so many, until one is empty; next
// lists what comes after the last that it gave.
func paged[T any](t *testing.T, page int, next func() ([]T, error)) iter.Seq[T] {
	return func(yield func(T) bool) {
		for list := must(next())(t); len(list) > 0; list = must(next())(t) {
			if len(list) > page {
				t.Fatalf("%d on a page of %d", len(list), page)
			}
			for _, one := range list {
				if !yield(one) {
					return
				}
			}
		}
	}
}

// always is a turn that reads nothing and writes w.
func always(w session.Writes) session.Turn {
	return func(session.View) (session.Writes, error) { return w, nil }
}

// says is a turn that only answers.
func says(text string) session.Turn { return always(session.Writes{Reply: session.Reply{Text: text}}) }

// count is a turn that counts the dialogue's page up, shows a screen and
// answers with text.
func count(phone session.Phone, text string) session.Turn {
	return func(v session.View) (session.Writes, error) {
		d, err := v.Dialogue(phone)
		if err != nil {
			return session.Writes{}, err
		}
		d.Page++
		d.Screen = "main"
		return session.Writes{Dialogue: &d, Reply: session.Reply{Text: text, More: true}}, nil
	}
}

// read runs fn on a snapshot and fails the test on an error.
func read(t *testing.T, e Engine, fn func(session.View) error) {
	t.Helper()
	if err := e.Read(ctx, fn); err != nil {
		t.Fatalf("read: %v", err)
	}
}

func dialogue(t *testing.T, e Engine, phone session.Phone) (d session.Dialogue) {
	t.Helper()
	read(t, e, func(v session.View) (err error) { d, err = v.Dialogue(phone); return err })
	return d
}

func person(t *testing.T, e Engine, id session.PersonID) (p session.Person) {
	t.Helper()
	read(t, e, func(v session.View) (err error) { p, err = v.Person(id); return err })
	return p
}

func check(t *testing.T, e Engine, slip session.Slip) (k session.Check) {
	t.Helper()
	read(t, e, func(v session.View) (err error) { k, err = v.Check(slip); return err })
	return k
}

func wantErr(t *testing.T, what string, got, want error) {
	t.Helper()
	if !errors.Is(got, want) {
		t.Errorf("%s: error is %v, want one that is %v", what, got, want)
	}
}

func claim(t *testing.T, e Engine, now time.Time, n int, lease time.Duration) []session.Outgoing {
	t.Helper()
	return must(e.Claim(ctx, now, n, lease))(t)
}

func settle(t *testing.T, e Engine, o session.Outgoing) {
	t.Helper()
	if err := e.Settle(ctx, o); err != nil {
		t.Fatalf("settle %q: %v", o.ID, err)
	}
}

func ids(list []session.Outgoing) []string {
	names := []string{}
	for _, o := range list {
		names = append(names, string(o.ID))
	}
	return names
}

func slips(list []session.Check) []session.Slip {
	names := []session.Slip{}
	for _, k := range list {
		names = append(names, k.Slip)
	}
	return names
}

// compareReadings sees readings as a list of what was measured.
var compareReadings = cmp.Transformer("measured", func(r grading.Readings) map[string]any {
	seen := map[string]any{"repeats": r.Repeats, "meter": r.Meter, "values": r.Values, "words": r.Words, "flags": r.Flags, "looked": r.Looked, "class": r.Class}
	for _, f := range grading.Fields() {
		if d, ok := r.Get(f); ok {
			seen[f.String()] = d
		}
	}
	return seen
})
