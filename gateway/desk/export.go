package desk

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"time"

	"threshline/gateway/desk/access"
	"threshline/gateway/desk/export"
	"threshline/gateway/desk/paper"
	"threshline/grading"
	"threshline/session"
	"threshline/session/ledger"
)

// exportBatch is how many checks are read at once.
const exportBatch = 250

// writeWithin is how long a reader may take for one batch. A whole export may
// take longer than the server otherwise allows for an answer.
const writeWithin = 30 * time.Second

// exportDesk sends checks away as files.
type exportDesk struct {
	*chooser
	records Records
}

// export sends the checks of a filter in a format, identified only to a role
// that may, and then noted in the audit log before the first byte.
func (d *exportDesk) export(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	if reading := d.reading(); reading != "" {
		w.Header().Set("Retry-After", lookAgain)
		d.Refuse(w, r, http.StatusServiceUnavailable, reading+" Export then.")
		return nil
	}
	q := r.URL.Query()
	format := q.Get("format")
	media, ok := export.Media(format)
	if !ok {
		return paper.Wrong("The format is csv, jsonl or xlsx.")
	}
	identified := q.Get("identified") == "yes"
	if identified && !v.May(session.DeskCoordinator) {
		return paper.Wrong("Your role exports checks without names and numbers only.")
	}
	c, err := readFilter(q, v)
	if err != nil {
		return err
	}
	c.take(ledger.EitherWay)
	if identified {
		err = d.seen(r.Context(), v, "names and numbers, exported as "+format, c.coded(d.terms, v))
	} else {
		err = d.guard.Log(r.Context(), v, "exported checks as "+format, c.coded(d.terms, v))
	}
	if err != nil {
		return err
	}
	now := d.now()
	name := "checks-" + now.In(d.zone).Format("2006-01-02") + "." + format
	w.Header().Set("Content-Type", media)
	w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
	if err := d.write(r.Context(), w, format, v, &c, identified, now); err != nil {
		// The first bytes are sent: only by breaking the answer off can we show the
		// reader that it failed.
		d.log.Error().Err(err).Msg("desk: an export broke off")
		panic(http.ErrAbortHandler)
	}
	return nil
}

// write writes the whole export.
func (d *exportDesk) write(ctx context.Context, w http.ResponseWriter, format string, v *access.Visitor, c *chosen, identified bool, now time.Time) error {
	s := d.programme.Standard
	out, err := export.Begin(w, format, export.About{
		Programme: d.programme.Name, Filter: c.coded(d.terms, v), ExportedAt: now.In(d.zone).Truncate(time.Second),
		Standard: s.Title + " (" + s.ID + ")", Edition: s.Edition, Source: s.Source, Status: paper.Say("status", s.Status), Identified: identified,
		Note: "Grades from hand tools are an estimate; the buyer's or the authority's laboratory decides.",
	}, export.Columns(identified, d.parameters()))
	if err != nil {
		return err
	}
	slow := http.NewResponseController(w)
	var slips []session.Slip
	flush := func() error {
		_ = slow.SetWriteDeadline(time.Now().Add(writeWithin)) // not every writer has deadlines
		rows, err := d.exportRows(ctx, v, slips, identified)
		slips = slips[:0]
		for i := range rows {
			if err != nil {
				return err
			}
			err = out.Put(&rows[i])
		}
		return err
	}
	for slip := range d.ledger.View().Slips(c.Filter) {
		if slips = append(slips, slip); len(slips) == exportBatch {
			if err := flush(); err != nil {
				return err
			}
		}
	}
	if err := flush(); err != nil {
		return err
	}
	return out.End()
}

// exportRows reads checks with whom they are about.
func (d *exportDesk) exportRows(ctx context.Context, v *access.Visitor, slips []session.Slip, identified bool) (rows []export.Row, err error) {
	err = d.records.Read(ctx, func(view session.View) error {
		rows = rows[:0]
		for _, slip := range slips {
			c, err := view.Check(slip)
			if err != nil {
				return err
			}
			row := export.Row{Check: c, Zone: d.zone}
			if identified && v.Knows(c.Lot.District) {
				if row.Named.Grower, err = known(view, c.Lot.Grower); err != nil {
					return err
				}
				if row.Named.Agent, err = known(view, c.Agent); err != nil {
					return err
				}
			}
			rows = append(rows, row)
		}
		return nil
	})
	return rows, err
}

// known returns a person; the zero Person if there is none.
func known(view session.View, id session.PersonID) (session.Person, error) {
	if id == "" {
		return session.Person{}, nil
	}
	p, err := view.Person(id)
	if errors.Is(err, session.ErrNotFound) {
		return session.Person{}, nil
	}
	return p, err
}

// exportPage offers the exports.
type exportPage struct {
	ledgerPage
	Hidden     []paper.Option
	Identified bool
	Report     string
	Command    string
}

func (d *exportDesk) showExport(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	p, c, err := d.overLists(w, r, v)
	if err != nil {
		return err
	}
	page := exportPage{ledgerPage: p, Identified: v.May(session.DeskCoordinator), Report: c.with("/desk/report", "", "")}
	for _, key := range filterKeys {
		if value := c.query.Get(key); value != "" {
			page.Hidden = append(page.Hidden, paper.Option{Value: value, Label: key})
		}
	}
	page.Command = "threshline export --at " + d.address(r) + " --token-file TOKEN --format csv" + flags(c.query)
	return d.show(w, r, v, "export", "Export", page)
}

// flags returns a filter as flags of the command line.
func flags(q url.Values) (text string) {
	for _, key := range filterKeys {
		if value := q.Get(key); value != "" {
			text += fmt.Sprintf(" --%s %q", key, value)
		}
	}
	return text
}

// parameters lists the parameters of every table that checks were graded by,
// those of the standard in force first.
func (d *exportDesk) parameters() (list []grading.Parameter) {
	summary := d.figures.Summary(ledger.Filter{Procedure: ledger.EveryProcedure, Way: ledger.EitherWay})
	used := func(s *grading.Standard) bool {
		return slices.ContainsFunc(summary.Grades, func(g ledger.GradeTally) bool { return g.Standard == s.ID && g.Edition == s.Edition })
	}
	for _, s := range append([]*grading.Standard{d.programme.Standard}, d.tables...) {
		if s != d.programme.Standard && !used(s) {
			continue
		}
		for _, p := range s.Parameters {
			if !slices.ContainsFunc(list, func(q grading.Parameter) bool { return q.ID == p.ID }) {
				list = append(list, p)
			}
		}
	}
	return list
}
