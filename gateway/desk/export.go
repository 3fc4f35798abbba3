package desk

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"slices"
	"time"

	"threshline/grading"
	"threshline/session"
)

// about is what every export says of itself.
type about struct {
	Programme  string    `json:"programme"`
	Filter     string    `json:"filter"`
	TakenAt    time.Time `json:"taken_at"`
	Standard   string    `json:"standard_in_force"`
	Edition    string    `json:"edition"`
	Source     string    `json:"source"`
	Status     string    `json:"status"`
	Identified bool      `json:"identified"`
	Note       string    `json:"note"`
}

// writer writes an export in one format.
type writer interface {
	begin(about, []field) error
	row([]any) error
	end() error
}

// formats are the formats of an export by name, with their media type.
var formats = map[string]struct {
	media string
	make  func(io.Writer) (writer, error)
}{
	"csv":   {"text/csv; charset=utf-8; header=present", newCSV},
	"jsonl": {"application/jsonl", newLines},
	"xlsx":  {"application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", newSheet},
}

// exportBatch is how many checks are read at once.
const exportBatch = 250

// writeWithin is how long a reader may take for one batch: an export as a whole
// may take longer than the server allows an answer.
const writeWithin = 30 * time.Second

// export sends the checks of a filter in a format, identified only to a role
// that may, and then noted in the audit log before the first byte.
func (d *Desk) export(w http.ResponseWriter, r *http.Request, v *visitor) error {
	q := r.URL.Query()
	format, ok := formats[q.Get("format")]
	if !ok {
		return &inputError{"The format is csv, jsonl or xlsx."}
	}
	identified := q.Get("identified") == "yes"
	if identified && !v.may(session.DeskCoordinator) {
		return &inputError{"Your role takes checks away without names and numbers only."}
	}
	c, err := readFilter(q, v)
	if err != nil {
		return err
	}
	if identified {
		err = d.seen(r.Context(), v, "names and numbers, taken away as "+q.Get("format"), c.coded(d, v))
	} else {
		err = d.apply(r.Context(), session.Writes{Notes: []session.AuditNote{d.note(v, "took checks away as "+q.Get("format"), c.coded(d, v))}})
	}
	if err != nil {
		return err
	}
	now := d.cfg.Now()
	name := "checks-" + now.In(d.cfg.Programme.Zone).Format("2006-01-02") + "." + q.Get("format")
	w.Header().Set("Content-Type", format.media)
	w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
	out, err := format.make(w)
	if err != nil {
		return err
	}
	if err := d.write(r.Context(), w, out, v, &c, identified, now); err != nil {
		// The first bytes are out: only a broken answer tells the reader.
		d.cfg.Log.Error().Err(err).Msg("desk: an export broke off")
		panic(http.ErrAbortHandler)
	}
	return nil
}

// write writes the whole export.
func (d *Desk) write(ctx context.Context, w http.ResponseWriter, out writer, v *visitor, c *chosen, identified bool, now time.Time) error {
	s := d.cfg.Programme.Standard
	fields := d.fields(identified)
	err := out.begin(about{
		Programme: d.cfg.Programme.Name, Filter: c.coded(d, v), TakenAt: now.In(d.cfg.Programme.Zone).Truncate(time.Second),
		Standard: s.Title + " (" + s.ID + ")", Edition: s.Edition, Source: s.Source, Status: say("status", s.Status), Identified: identified,
		Note: "Grades from hand tools are an estimate; the buyer's or the authority's laboratory decides.",
	}, fields)
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
			values := make([]any, len(fields))
			for n, f := range fields {
				values[n] = f.get(&rows[i])
			}
			err = out.row(values)
		}
		return err
	}
	for slip := range d.cfg.Ledger.View().Slips(c.Filter) {
		if slips = append(slips, slip); len(slips) == exportBatch {
			if err := flush(); err != nil {
				return err
			}
		}
	}
	if err := flush(); err != nil {
		return err
	}
	return out.end()
}

// exportRow is a check with whom it is about.
type exportRow struct {
	session.Check
	zone          *time.Location
	grower, agent session.Person
}

func (d *Desk) exportRows(ctx context.Context, v *visitor, slips []session.Slip, identified bool) (rows []exportRow, err error) {
	err = d.cfg.Records.Read(ctx, func(view session.View) error {
		rows = rows[:0]
		for _, slip := range slips {
			c, err := view.Check(slip)
			if err != nil {
				return err
			}
			row := exportRow{Check: c, zone: d.cfg.Programme.Zone}
			if identified && v.knows(c.Lot.District) {
				if row.grower, err = known(view, c.Lot.Grower); err != nil {
					return err
				}
				if row.agent, err = known(view, c.Agent); err != nil {
					return err
				}
			}
			rows = append(rows, row)
		}
		return nil
	})
	return rows, err
}

// known finds a person, or nobody.
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

// takeAwayPage offers the exports.
type takeAwayPage struct {
	ledgerPage
	Hidden     []option
	Identified bool
	Report     string
	Command    string
}

func (d *Desk) takeAway(w http.ResponseWriter, r *http.Request, v *visitor) error {
	p, c, err := d.overLedger(r, v)
	if err != nil {
		return err
	}
	page := takeAwayPage{ledgerPage: p, Identified: v.may(session.DeskCoordinator), Report: c.with("/desk/report", "", "")}
	for _, key := range filterKeys {
		if value := c.query.Get(key); value != "" {
			page.Hidden = append(page.Hidden, option{Value: value, Label: key})
		}
	}
	page.Command = "threshline export --at " + d.address(r) + " --token-file TOKEN --format csv" + flags(c.query)
	d.show(w, r, http.StatusOK, v, "takeaway", "Take away", page)
	return nil
}

// flags are a filter as the command line takes it.
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
func (d *Desk) parameters() (list []grading.Parameter) {
	used := d.summaryStandards()
	for _, s := range append([]*grading.Standard{d.cfg.Programme.Standard}, d.cfg.Standards...) {
		if s != d.cfg.Programme.Standard && !slices.Contains(used, s.ID+"|"+s.Edition) {
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

// summaryStandards lists the standards that checks were graded by.
func (d *Desk) summaryStandards() (used []string) {
	var everything chosen
	s := d.summary(everything.Filter)
	for i := range s.Grades {
		used = append(used, s.Grades[i].Standard+"|"+s.Grades[i].Edition)
	}
	return used
}
