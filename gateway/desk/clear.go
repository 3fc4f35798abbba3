package desk

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"threshline/gateway/desk/access"
	"threshline/gateway/desk/paper"
	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"

	"github.com/gorilla/mux"
)

// Clear makes the writes that take signs off a lot; tables finds the standard
// by which a check was graded. Errors: programme.ErrNothingToClear,
// session.ErrNotFound, faults of the store.
type Clear func(v session.View, slip session.Slip, what session.Clearance, tables func(id, edition string) *grading.Standard, entropy [2]uint64) (session.Writes, error)

// uneatable is what a page says about a lot that nobody may eat, and how the
// lot can be cleared.
type uneatable struct {
	Signs   []paper.Option // that a laboratory can clear
	Seed    bool           // treated seed, which none can
	What    string
	Before  session.Slip // in which of the lot's checks what is held was seen
	Path    string
	May     bool // the visitor may record it
	Longest int
}

// standing returns the signs in a check that make the lot no food; nil when
// there are none.
func (d *lotDesk) standing(v *access.Visitor, c *session.Check) *uneatable {
	unfit := programme.Unfit(c)
	if len(unfit) == 0 {
		return nil
	}
	u := &uneatable{
		What: signsSaid(unfit), Before: c.HeldFrom, Path: "/desk/lots/" + string(c.Slip), Longest: session.LongestClearance,
		May: d.clearing != nil && v.Knows(c.Lot.District) && c.State == session.Filed,
	}
	for _, f := range unfit {
		if f == grading.TreatedSeed {
			u.Seed = true
			continue
		}
		u.Signs = append(u.Signs, paper.Option{Value: string(f), Label: paper.Say("saw", f)})
	}
	return u
}

// cleared says which signs were taken off a check.
func (d *lotDesk) cleared(c *session.Check) (said []string) {
	for _, k := range c.Cleared {
		begin := "A laboratory cleared it of " + signsSaid(k.Flags)
		if slices.Contains(k.Flags, grading.TreatedSeed) {
			begin = "It was not treated seed"
		}
		proof := slices.DeleteFunc([]string{k.By, d.day(k.On), k.Reference}, func(s string) bool { return s == "" })
		said = append(said, begin+": "+strings.Join(proof, ", ")+" (recorded "+k.At.In(d.zone).Format(paper.DateTime)+").")
	}
	return said
}

// clear records which laboratory cleared a lot, when, and its reference; or who
// established that it holds no treated seed.
func (d *lotDesk) clear(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	slip := session.Slip(mux.Vars(r)["slip"])
	what, err := d.clearance(r)
	if err != nil {
		return err
	}
	var random [16]byte
	if _, err := io.ReadFull(d.entropy, random[:]); err != nil {
		return fmt.Errorf("desk: no random bits: %w", err)
	}
	entropy := [2]uint64{binary.BigEndian.Uint64(random[:8]), binary.BigEndian.Uint64(random[8:])}
	_, err = d.records.Exchange(r.Context(), session.Key{}, func(view session.View) (session.Writes, error) {
		c, err := view.Check(slip)
		if err == nil && (!v.Knows(c.Lot.District) || d.clearing == nil) {
			err = session.ErrNotFound
		}
		if err != nil {
			return session.Writes{}, err
		}
		writes, err := d.clearing(view, slip, what, d.standard, entropy)
		if err != nil {
			return session.Writes{}, err
		}
		did := "cleared a lot of " + signsSaid(what.Flags)
		if slices.Contains(what.Flags, grading.TreatedSeed) {
			did = "recorded that a lot was not treated"
		}
		writes.Notes = append(writes.Notes, d.guard.Note(v, did, fmt.Sprintf("%s: %s, %s, %s", slip, what.By, what.On.Format(time.DateOnly), what.Reference)))
		return writes, nil
	})
	switch {
	case errors.Is(err, programme.ErrNothingToClear):
		return paper.Wrong("None of that stands in this lot any more.")
	case err != nil:
		return err
	}
	http.Redirect(w, r, "/desk/lots/"+string(slip), http.StatusSeeOther)
	return nil
}

func signsSaid(flags []grading.Flag) string {
	var what []string
	for _, f := range flags {
		what = append(what, paper.Say("saw", f))
	}
	return strings.Join(what, ", ")
}

// clearance reads the form.
func (d *lotDesk) clearance(r *http.Request) (what session.Clearance, err error) {
	if err := r.ParseForm(); err != nil {
		return what, paper.Wrong("The form cannot be read.")
	}
	field := func(name string) string { return strings.Join(strings.Fields(r.PostForm.Get(name)), " ") }
	what.By, what.Reference, what.At = field("by"), field("reference"), d.now()
	for _, sign := range r.PostForm["sign"] {
		f := grading.Flag(sign)
		if !f.Unfit() || slices.Contains(what.Flags, f) {
			return what, paper.Wrong("There is no such sign.")
		}
		what.Flags = append(what.Flags, f)
	}
	seed := slices.Contains(what.Flags, grading.TreatedSeed)
	if what.On, err = time.ParseInLocation(time.DateOnly, field("on"), d.zone); err != nil {
		return what, paper.Wrong("Please give the day of the report.")
	}
	switch {
	case len(what.Flags) == 0:
		return what, paper.Wrong("Please mark what was cleared.")
	case seed && len(what.Flags) > 1:
		return what, paper.Wrong("No laboratory makes treated seed food: record by itself that it was not treated.")
	case what.By == "" && seed:
		return what, paper.Wrong("Please say who established that it was not treated.")
	case what.By == "" || what.Reference == "" && !seed:
		return what, paper.Wrong("Please say which laboratory, and its reference.")
	case what.On.After(what.At):
		return what, paper.Wrong("The day of the report is still to come.")
	case utf8.RuneCountInString(what.By) > session.LongestClearance || utf8.RuneCountInString(what.Reference) > session.LongestClearance:
		return what, paper.Wrong(fmt.Sprintf("At most %d letters: they are sent by SMS.", session.LongestClearance))
	}
	return what, nil
}
