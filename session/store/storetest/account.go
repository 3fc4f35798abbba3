package storetest

import (
	"fmt"
	"testing"

	"github.com/google/go-cmp/cmp"

	"threshline/session"
)

var accountCases = []testCase{
	{"an account comes back as it was given, and is changed only by who has read it", accountChanges},
	{"an account that is removed is gone, and its key is free again", accountRemoved},
	{"accounts come by id, in pages", accountPages},
	{"a meter comes back as it was checked, and is listed among its kind", accountMeters},
}

// Account is the i-th sample account.
func Account(i int) session.Account {
	return session.Account{
		ID: session.AccountID(fmt.Sprintf("person/%03d", i)), Kind: session.DeskPerson, Name: fmt.Sprintf("person %d", i),
		Role: session.DeskCoordinator, Districts: []string{"Kisima"}, Scopes: []string{"export"}, Secret: "a hash",
		Of: "link/x", Made: Begin, Expires: Begin.AddDate(1, 0, 0), Ended: Begin.AddDate(0, 6, 0),
	}
}

func accountChanges(t *testing.T, e Engine) {
	put(t, e, session.Writes{Accounts: []session.Account{Account(1)}})
	want := Account(1)
	want.Version = 1
	got, err := e.Account(ctx, want.ID)
	if diff := cmp.Diff(want, got); err != nil || diff != "" {
		t.Fatalf("%v (-want +got):\n%s", err, diff)
	}
	got.Role = session.DeskViewer
	put(t, e, session.Writes{Accounts: []session.Account{got}})
	_, err = e.Exchange(ctx, session.Key{}, always(session.Writes{Accounts: []session.Account{got}, Notes: []session.AuditNote{{Did: "changed"}}}))
	wantErr(t, "an account that was changed meanwhile", err, session.ErrConflict)
	_, err = e.Exchange(ctx, session.Key{}, always(session.Writes{Accounts: []session.Account{Account(1)}}))
	wantErr(t, "a new account whose key is taken", err, session.ErrConflict)
	if notes, _, err := e.Notes(ctx, 0, 9); err != nil || len(notes) != 0 {
		t.Errorf("the refused exchange left %d notes, %v", len(notes), err)
	}
	now, err := e.Account(ctx, got.ID)
	if err != nil || now.Role != session.DeskViewer || now.Version != 2 {
		t.Errorf("after the change: %+v, %v", now, err)
	}
	_, err = e.Account(ctx, "person/none")
	wantErr(t, "an account that is not there", err, session.ErrNotFound)
}

func accountMeters(t *testing.T, e Engine) {
	meter := session.Account{
		ID: "meter/m7", Kind: session.DeskMeter, Name: "M7", Made: Begin,
		Meter: session.MeterCheck{Bias: -9000, Doubt: 1500, CheckedOn: "2026-11-01", GoodUntil: "2027-02-28"},
	}
	put(t, e, session.Writes{Accounts: []session.Account{Account(1), meter}})
	meter.Version = 1
	meter.Meter.Bias, meter.Ended = 4000, Begin.AddDate(0, 3, 0)
	put(t, e, session.Writes{Accounts: []session.Account{meter}})
	list, err := e.Accounts(ctx, "meter/", 9)
	if err != nil || len(list) != 2 || list[1].Kind != session.DeskPerson {
		t.Fatalf("%d accounts from the meters on, %v", len(list), err)
	}
	meter.Version = 2
	if diff := cmp.Diff(meter, list[0]); diff != "" {
		t.Errorf("the meter (-want +got):\n%s", diff)
	}
}

func accountRemoved(t *testing.T, e Engine) {
	put(t, e, session.Writes{Accounts: []session.Account{Account(1)}})
	a := must(e.Account(ctx, Account(1).ID))(t)
	a.Remove = true
	put(t, e, session.Writes{Accounts: []session.Account{a}})
	_, err := e.Account(ctx, a.ID)
	wantErr(t, "a removed account", err, session.ErrNotFound)
	put(t, e, session.Writes{Accounts: []session.Account{Account(1)}})
}

func accountPages(t *testing.T, e Engine) {
	for _, i := range []int{4, 1, 3, 0, 2} {
		put(t, e, session.Writes{Accounts: []session.Account{Account(i)}})
	}
	for _, page := range []int{1, 2, 5, 9} {
		after, n := session.AccountID(""), 0
		for a := range paged(t, page, func() ([]session.Account, error) { return e.Accounts(ctx, after, page) }) {
			if want := Account(n).ID; a.ID != want {
				t.Errorf("by %d: %q is number %d, want %q", page, a.ID, n, want)
			}
			after = a.ID
			n++
		}
		if n != 5 {
			t.Errorf("by %d: %d accounts in all, want 5", page, n)
		}
	}
}
