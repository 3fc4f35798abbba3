package desk_test

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"threshline/gateway/desk"
	"threshline/gateway/desk/access"
	"threshline/session"

	"github.com/rs/zerolog"
)

// TestWithAnAccountEndsAllThatItMade ends or lowers an administrator who made
// tokens, one of which made another, an invitation, a link for somebody else's
// password and a code for an agent's new number.
func TestWithAnAccountEndsAllThatItMade(t *testing.T) {
	for what, form := range map[string]url.Values{
		"ended":                 {"do": {"end"}},
		"made a coordinator":    {"do": {"role"}, "role": {"coordinator"}, "all": {"yes"}},
		"made one of districts": {"do": {"role"}, "role": {"coordinator"}, "district": {"Kisima"}},
	} {
		t.Run(what, func(t *testing.T) {
			h := newHouse(t)
			h.season(2)
			admin := h.administrator()
			second := h.member(admin, "field.two", session.DeskAdministrator)
			h.member(admin, "looks.on", session.DeskViewer)
			token, _ := h.token(second, nil, "export", "backup", "tokens")
			child := h.child(token, `{"name":"child","scopes":["export","tokens"],"all_districts":true,"days":30}`)
			grandchild := h.child(child, `{"name":"grandchild","scopes":["export"],"all_districts":true,"days":30}`)
			invitation := linkIn(t, second.post("/desk/people/invite", url.Values{"role": {"administrator"}}))
			password := linkIn(t, second.post("/desk/people/change", url.Values{"id": {"person/looks.on"}, "do": {"password"}}))
			kept, _ := h.token(admin, nil, "export")
			code := codeIn(t, second.post("/desk/growers/a-kisima/code", nil))
			keptCode := codeIn(t, admin.post("/desk/growers/a-kisima/code", nil))

			form.Set("id", "person/field.two")
			if a := admin.post("/desk/people/change", form); a.Status != http.StatusSeeOther {
				t.Fatalf("the change: status %d\n%s", a.Status, a.Body)
			}
			for name, c := range map[string]*caller{"its token": token, "the token of its token": child, "a further one": grandchild} {
				if a := c.get("/admin/v1/export?format=csv"); a.Status != http.StatusUnauthorized {
					t.Errorf("%s exports: status %d, want 401", name, a.Status)
				}
			}
			for name, path := range map[string]string{"its invitation": invitation, "its link for a password": password} {
				if a := h.caller().get(path); a.Status != http.StatusGone {
					t.Errorf("%s: status %d, want 410", name, a.Status)
				}
			}
			if a := kept.get("/admin/v1/export?format=csv"); a.Status != http.StatusOK {
				t.Errorf("a token of somebody else: status %d", a.Status)
			}
			if !h.used(code) || h.used(keptCode) {
				t.Errorf("its code is of no use: %v; that of somebody else: %v", h.used(code), h.used(keptCode))
			}
			if notes := strings.Join(h.notes(), "\n"); strings.Contains(notes, code) {
				t.Errorf("the log holds the code:\n%s", notes)
			} else if !strings.Contains(notes, "and with it what it made: ") || !strings.Contains(notes, " child") {
				t.Errorf("the log does not say what ended with it:\n%s", notes)
			}
		})
	}
}

// TestATokenOutlivesItsMakerByNoDay makes one that is to be good for longer.
func TestATokenOutlivesItsMakerByNoDay(t *testing.T) {
	h := newHouse(t)
	h.season(2)
	maker, _ := h.token(h.administrator(), nil, "export", "tokens") // for 30 days
	child := h.child(maker, `{"name":"longer","scopes":["export"],"all_districts":true,"days":300}`)
	h.later(29 * 24 * time.Hour)
	if a := child.get("/admin/v1/export?format=csv"); a.Status != http.StatusOK {
		t.Errorf("while its maker is good: status %d", a.Status)
	}
	h.later(2 * 24 * time.Hour)
	if a := child.get("/admin/v1/export?format=csv"); a.Status != http.StatusUnauthorized {
		t.Errorf("after its maker: status %d, want 401", a.Status)
	}
}

func TestRevokingATokenRevokesItsChildren(t *testing.T) {
	h := newHouse(t)
	h.season(2)
	admin := h.administrator()
	maker, text := h.token(admin, nil, "export", "tokens")
	child := h.child(maker, `{"name":"child","scopes":["export"],"all_districts":true,"days":7}`)
	if a := admin.post("/desk/people/change", url.Values{"id": {"token/" + strings.Split(text, "-")[1]}, "do": {"end"}}); a.Status != http.StatusSeeOther {
		t.Fatalf("revoke: status %d", a.Status)
	}
	if a := child.get("/admin/v1/export?format=csv"); a.Status != http.StatusUnauthorized {
		t.Errorf("the child: status %d, want 401", a.Status)
	}
}

// TestWhatAStoreLeftBehindLetsNobodyIn: a build before ended accounts alone.
func TestWhatAStoreLeftBehindLetsNobodyIn(t *testing.T) {
	h := newHouse(t)
	h.season(2)
	admin := h.administrator()
	second := h.member(admin, "field.two", session.DeskAdministrator)
	token, _ := h.token(second, nil, "export")
	invitation := linkIn(t, second.post("/desk/people/invite", url.Values{"role": {"administrator"}}))
	ended, err := h.store.Account(t.Context(), "person/field.two")
	if err != nil {
		t.Fatal(err)
	}
	ended.Ended = h.clock()
	h.put(session.Writes{Accounts: []session.Account{ended}})
	if a := token.get("/admin/v1/export?format=csv"); a.Status != http.StatusUnauthorized {
		t.Errorf("its token: status %d, want 401", a.Status)
	}
	if a := h.caller().get(invitation); a.Status != http.StatusGone {
		t.Errorf("its invitation: status %d, want 410", a.Status)
	}
}

// child has a token make another.
func (h *house) child(maker *caller, wish string) *caller {
	h.t.Helper()
	a := maker.ask("POST", "/admin/v1/tokens", "application/json", strings.NewReader(wish))
	var made struct{ Token string }
	if err := json.Unmarshal([]byte(a.Body), &made); err != nil || a.Status != http.StatusCreated {
		h.t.Fatalf("make: %d %s %v", a.Status, a.Body, err)
	}
	c := h.caller()
	c.header.Set("Authorization", "Bearer "+made.Token)
	return c
}

// used reports whether a code is of no use any more.
func (h *house) used(code string) (used bool) {
	h.t.Helper()
	err := h.store.Read(h.t.Context(), func(v session.View) error {
		i, err := v.Invite(code)
		used = i.Used
		return err
	})
	if err != nil {
		h.t.Fatal(err)
	}
	return used
}

// codeIn finds the code for a new number that a page shows once.
func codeIn(t *testing.T, a answer) string {
	t.Helper()
	_, code, found := strings.Cut(a.Body, "<code>JOIN ")
	code, _, _ = strings.Cut(code, "<")
	if a.Status != http.StatusOK || !found {
		t.Fatalf("status %d, no code:\n%s", a.Status, a.Body)
	}
	return code
}

// linkIn finds the one-time link that a page shows once.
func linkIn(t *testing.T, a answer) string {
	t.Helper()
	_, link, found := strings.Cut(a.Body, "http://example.com")
	link, _, _ = strings.Cut(link, "<")
	if a.Status != http.StatusOK || !strings.HasPrefix(link, "/desk/link/") || !found {
		t.Fatalf("status %d, no link:\n%s", a.Status, a.Body)
	}
	return link
}

// TestNoLogHoldsTheSecretOfALink has another site post to a link, and the store
// fail while somebody looks at one.
func TestNoLogHoldsTheSecretOfALink(t *testing.T) {
	var log strings.Builder
	var failing bool
	h := newHouse(t, func(c *desk.Config) {
		c.Log, c.Accounts = zerolog.New(&log), brokenBook{c.Accounts, &failing}
	})
	path, err := h.desk.Guard().FirstLink(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	c := h.caller()
	c.header = http.Header{"Sec-Fetch-Site": {"cross-site"}, "Origin": {"https://example.org"}}
	if a := c.post(path, nil); a.Status != http.StatusForbidden {
		t.Errorf("from another site: status %d", a.Status)
	}
	failing = true
	if a := h.caller().get(path); a.Status != http.StatusInternalServerError {
		t.Errorf("with a broken store: status %d", a.Status)
	}
	secret := path[strings.LastIndex(path, "/")+1:]
	if strings.Count(log.String(), "/desk/link/***") != 2 || strings.Contains(log.String(), secret) {
		t.Errorf("the log says:\n%s", log.String())
	}
}

// brokenBook is a store that fails when it is told to.
type brokenBook struct {
	access.Book
	failing *bool
}

func (b brokenBook) Account(ctx context.Context, id session.AccountID) (session.Account, error) {
	if *b.failing {
		return session.Account{}, errors.New("the disk is gone")
	}
	return b.Book.Account(ctx, id)
}

// TestManyGuessesAtOnceAreNoMoreThanOneAfterTheOther sends sixty wrong passwords
// before one of them was looked at.
func TestManyGuessesAtOnceAreNoMoreThanOneAfterTheOther(t *testing.T) {
	const guesses = 60
	var entries sync.Map
	book := &gatedBook{open: make(chan struct{})}
	h := newHouse(t, func(c *desk.Config) {
		book.Book, c.Accounts = c.Accounts, book
		c.Entries = func(by, outcome string) {
			n, _ := entries.LoadOrStore(by+" "+outcome, new(atomic.Int64))
			n.(*atomic.Int64).Add(1)
		}
	})
	h.administrator()
	book.expect.Add(guesses)
	book.gated.Store(true)
	var looked, slowed atomic.Int64
	var all sync.WaitGroup
	for range guesses {
		all.Go(func() {
			switch a := sign(h.caller(), "head.office", "guess number x"); a.Status {
			case http.StatusUnauthorized:
				looked.Add(1)
			case http.StatusTooManyRequests:
				if slowed.Add(1); strings.Contains(a.Body, "Too many wrong passwords") {
					book.expect.Done() // it was not looked up
				}
			}
		})
	}
	book.expect.Wait() // each was sent away, or is about to be looked at
	close(book.open)
	all.Wait()
	if looked.Load() > 5 || looked.Load()+slowed.Load() != guesses {
		t.Errorf("%d of %d were looked at, %d sent away", looked.Load(), guesses, slowed.Load())
	}
	for outcome, want := range map[string]int64{"password refused": looked.Load(), "password slowed": guesses - 5} {
		if n, ok := entries.Load(outcome); !ok || n.(*atomic.Int64).Load() < want {
			t.Errorf("%s is not counted", outcome)
		}
	}
}

// gatedBook lets nobody be looked up until it is opened.
type gatedBook struct {
	access.Book
	gated  atomic.Bool
	expect sync.WaitGroup
	open   chan struct{}
}

func (b *gatedBook) Account(ctx context.Context, id session.AccountID) (session.Account, error) {
	if b.gated.Load() && id == "person/head.office" {
		b.expect.Done()
		<-b.open
	}
	return b.Book.Account(ctx, id)
}
