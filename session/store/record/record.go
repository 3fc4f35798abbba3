// Package record writes what is stored as bytes and reads it back, field by
// field, for every engine that keeps it so.
package record

import (
	"slices"

	"google.golang.org/protobuf/encoding/protowire"

	"threshline/grading"
	"threshline/session"
)

// The functions below name every stored field once, in ascending order of its
// number. Numbers are for ever: a new field gets the next one and goes last; a
// field that is gone leaves its number unused. Nothing here is a new schema
// version: old records simply lack the field.

func Dialogue(c *Coder, d *session.Dialogue) {
	Text(c, 1, &d.Phone)
	Text(c, 2, &d.Screen)
	texts(c, 3, &d.Trail)
	whole(c, 4, &d.Page)
	Text(c, 5, &d.NetworkSession)
	each(c, 6, &d.Drafts, draftFields)
	whole(c, 7, &d.Current)
	memoOfNames(c, 8, d)
	clock(c, 9, &d.Last)
	clock(c, 10, &d.Expires)
	fingerprints(c, 11, &d.Recent)
	whole(c, 12, &d.Wrong)
	clock(c, 13, &d.WrongSince)
	nested(c, 14, &d.Memo, memoFields)
	fingerprints(c, 15, &d.Told)
	whole(c, 16, &d.WrongCodes)
	clock(c, 17, &d.CodesSince)
	clock(c, 18, &d.Dialled)
	whole(c, 19, &d.Heard)
	clock(c, 20, &d.HeardSince)
	Text(c, 21, &d.DialledAs)
	whole(c, 22, &d.Answered)
	truth(c, 23, &d.Reused)
}

func memoFields(c *Coder, m *session.Memo) {
	Text(c, 1, &m.Lead)
	truth(c, 2, &m.Refused)
	truth(c, 3, &m.Asked)
	Text(c, 4, &m.Language)
	Text(c, 5, &m.Invitation)
	truth(c, 6, &m.StopTold)
	truth(c, 7, &m.Unfinished)
	// 8 was the day of a digest.
	m.Shape = c.Fixed(9, m.Shape)
	whole(c, 10, &m.Shapes)
	whole(c, 11, &m.Strays)
	Text(c, 12, &m.WholeOf)
	Text(c, 13, &m.Whole)
	Text(c, 14, &m.Slip)
	Text(c, 15, &m.Looked)
	Text(c, 16, &m.Grower)
	Text(c, 17, &m.Search)
	truth(c, 18, &m.ForCheck)
	Text(c, 19, &m.Name)
	Text(c, 20, &m.Village)
	whole(c, 21, &m.Short)
	Text(c, 22, &m.Sign)
	whole(c, 23, &m.DryFrom)
	whole(c, 24, &m.DryKG)
	whole(c, 25, &m.DryKeep)
	Text(c, 26, &m.First)
	Text(c, 27, &m.Question)
	Text(c, 28, &m.Meant)
	Text(c, 29, &m.MeantAt)
	Text(c, 30, &m.Otherwise)
}

func draftFields(c *Coder, d *session.Draft) {
	nested(c, 1, &d.Lot, lotFields)
	nested(c, 2, &d.Readings, readingsFields)
	clock(c, 3, &d.Started)
	clock(c, 4, &d.Touched)
	table(c, 5, &d.Paces, fieldNumber, whole[int])
	Text(c, 6, &d.Screen)
	truth(c, 7, &d.Correcting)
	numbers(c, 8, &d.Skipped)
	Text(c, 9, &d.Recheck)
	Text(c, 10, &d.Corrects)
	truth(c, 11, &d.Reminded)
	texts(c, 12, &d.Sure)
}

func lotFields(c *Coder, l *session.Lot) {
	Text(c, 1, &l.Grower)
	Text(c, 2, &l.Variety)
	Text(c, 3, &l.District)
	Text(c, 4, &l.Village)
	whole(c, 5, &l.Bags)
	whole(c, 6, &l.BagKG)
	whole(c, 7, &l.KG)
}

func readingsFields(c *Coder, r *grading.Readings) {
	numbers(c, 1, &r.Repeats)
	measured(c, 2, r)
	table(c, 3, &r.Values, Text[grading.ParameterID], whole[grading.Decimal])
	table(c, 4, &r.Words, Text[grading.ParameterID], Text[string])
	renamedTexts(c, 5, &r.Flags, "heating", grading.Warm)
	Text(c, 6, &r.Class)
	whole(c, 7, &r.Looked)
	nested(c, 8, &r.Meter, meterFields)
	nested(c, 9, &r.Hand, handFields)
}

func handFields(c *Coder, h *grading.Hand) {
	whole(c, 1, &h.Grains)
	whole(c, 2, &h.Empty)
	whole(c, 3, &h.Stones)
	whole(c, 4, &h.Green)
	whole(c, 5, &h.Husked)
	whole(c, 6, &h.Red)
	whole(c, 7, &h.Bored)
	whole(c, 8, &h.Discoloured)
	whole(c, 9, &h.Handfuls)
}

func meterFields(c *Coder, m *grading.Meter) {
	Text(c, 1, &m.Name)
	whole(c, 2, &m.Bias)
	whole(c, 3, &m.Doubt)
	truth(c, 4, &m.Checked)
}

// singles are the fields that hold one number, by their numbers, as records are
// written and read.
var singles = slices.DeleteFunc(slices.Sorted(slices.Values(grading.Fields())), func(f grading.Field) bool { return f == grading.Moisture })

// measured keeps single-number fields under their own number in a nested
// record: that of a field never changes, whatever its place in the work. A zero
// that was measured is kept, unlike anywhere else.
func measured(c *Coder, n protowire.Number, r *grading.Readings) {
	if c.reading {
		if c.at(n, protowire.BytesType) {
			inside(c, r, func(c *Coder, r *grading.Readings) {
				for _, f := range singles {
					if n := protowire.Number(f); c.at(n, protowire.VarintType) {
						r.Set(f, grading.Decimal(c.varint(n, 0)))
					}
				}
			})
		}
		return
	}
	start := c.open(n)
	for _, f := range singles {
		if d, ok := r.Get(f); ok {
			c.buf = protowire.AppendTag(c.buf, protowire.Number(f), protowire.VarintType)
			c.buf = protowire.AppendVarint(c.buf, protowire.EncodeZigZag(int64(d)))
		}
	}
	c.closeOrDrop(n, start)
}

func Person(c *Coder, p *session.Person) {
	Text(c, 1, &p.ID)
	Text(c, 2, &p.Phone)
	Text(c, 3, &p.Role)
	Text(c, 4, &p.Name)
	Text(c, 5, &p.District)
	Text(c, 6, &p.Village)
	Text(c, 7, &p.Language)
	Text(c, 8, &p.Agent)
	whole(c, 9, &p.Short)
	nested(c, 10, &p.Consent, consentFields)
	clock(c, 11, &p.Stopped)
	nested(c, 12, &p.Kit, kitFields)
	clock(c, 13, &p.Joined)
	truth(c, 14, &p.Forgotten)
	truth(c, 15, &p.NoDigest)
	truth(c, 16, &p.Named)
}

func consentFields(c *Coder, k *session.Consent) {
	whole(c, 1, &k.Version)
	truth(c, 2, &k.Given)
	clock(c, 3, &k.At)
}

func kitFields(c *Coder, k *session.Kit) {
	renamedTexts(c, 1, &k.Lacks, "balance", session.Scale)
	whole(c, 2, &k.ScaleStep)
	Text(c, 3, &k.Meter)
}

func Check(c *Coder, k *session.Check) {
	Text(c, 1, &k.Slip)
	Text(c, 2, &k.State)
	nested(c, 3, &k.Lot, lotFields)
	nested(c, 4, &k.Readings, readingsFields)
	Text(c, 5, &k.Reporter)
	Text(c, 6, &k.Agent)
	Text(c, 7, &k.Channel)
	Text(c, 8, &k.Language)
	clock(c, 9, &k.Started)
	clock(c, 10, &k.At)
	table(c, 11, &k.Paces, fieldNumber, whole[int])
	Text(c, 12, &k.StandardID)
	Text(c, 13, &k.Edition)
	Text(c, 14, &k.Grade)
	whole(c, 15, &k.Rank)
	whole(c, 16, &k.Of)
	truth(c, 17, &k.Complete)
	truth(c, 18, &k.Borderline)
	fraction(c, 19, &k.Confidence)
	texts(c, 20, &k.Deciding)
	texts(c, 21, &k.Missing)
	texts(c, 22, &k.Gates)
	table(c, 23, &k.Values, Text[grading.ParameterID], whole[grading.Decimal])
	Text(c, 24, &k.Remedy)
	Text(c, 25, &k.Becomes)
	whole(c, 26, &k.BecomesRank)
	Text(c, 27, &k.Recheck)
	Text(c, 28, &k.ReplacedBy)
	nested(c, 29, &k.Sample, readingsFields)
	Text(c, 30, &k.RecheckedBy)
	texts(c, 31, &k.Held)
	Text(c, 32, &k.HeldFrom)
	each(c, 33, &k.Cleared, clearanceFields)
	whole(c, 34, &k.Procedure)
	truth(c, 35, &k.AfterHand)
}

func clearanceFields(c *Coder, k *session.Clearance) {
	texts(c, 1, &k.Flags)
	Text(c, 2, &k.By)
	clock(c, 3, &k.On)
	Text(c, 4, &k.Reference)
	clock(c, 5, &k.At)
}

func Invite(c *Coder, i *session.Invite) {
	Text(c, 1, &i.Code)
	Text(c, 2, &i.Role)
	Text(c, 3, &i.District)
	Text(c, 4, &i.Agent)
	clock(c, 5, &i.Expires)
	truth(c, 6, &i.Used)
	Text(c, 7, &i.Person)
}

func Outgoing(c *Coder, o *session.Outgoing) {
	Text(c, 1, &o.ID)
	Text(c, 2, &o.To)
	Text(c, 3, &o.Channel)
	Text(c, 4, &o.Text)
	Text(c, 5, &o.Purpose)
	Text(c, 6, &o.Slip)
	clock(c, 7, &o.Created)
	clock(c, 8, &o.Due)
	clock(c, 9, &o.Expires)
	whole(c, 10, &o.Attempts)
	Text(c, 11, &o.State)
	clock(c, 12, &o.Changed)
	Text(c, 13, &o.CarrierID)
	Text(c, 14, &o.Problem)
	whole(c, 15, &o.Segments)
	whole(c, 16, &o.Lease)
	truth(c, 17, &o.Erase)
}

func Reminder(c *Coder, r *session.Reminder) {
	Text(c, 1, &r.ID)
	clock(c, 2, &r.Due)
	Text(c, 3, &r.Kind)
	Text(c, 4, &r.Person)
	Text(c, 5, &r.Phone)
	Text(c, 6, &r.Slip)
	clock(c, 7, &r.First)
	Text(c, 8, &r.Language)
}

func Note(c *Coder, n *session.AuditNote) {
	clock(c, 1, &n.At)
	Text(c, 2, &n.Who)
	Text(c, 3, &n.Did)
	Text(c, 4, &n.Subject)
}

func Account(c *Coder, a *session.Account) {
	Text(c, 1, &a.ID)
	Text(c, 2, &a.Kind)
	Text(c, 3, &a.Name)
	Text(c, 4, &a.Role)
	texts(c, 5, &a.Districts)
	texts(c, 6, &a.Scopes)
	Text(c, 7, &a.Secret)
	Text(c, 8, &a.Of)
	clock(c, 9, &a.Made)
	clock(c, 10, &a.Expires)
	clock(c, 11, &a.Ended)
	Text(c, 12, &a.Factor)
	whole(c, 13, &a.FactorStep)
	texts(c, 14, &a.Recovery)
	nested(c, 15, &a.Meter, meterCheck)
}

func meterCheck(c *Coder, m *session.MeterCheck) {
	whole(c, 1, &m.Bias)
	whole(c, 2, &m.Doubt)
	Text(c, 3, &m.CheckedOn)
	Text(c, 4, &m.GoodUntil)
}

func Reply(c *Coder, r *session.Reply) {
	Text(c, 1, &r.Text)
	truth(c, 2, &r.More)
	truth(c, 3, &r.Silent)
	truth(c, 4, &r.Safety)
}

func fieldNumber(c *Coder, n protowire.Number, f *grading.Field) { whole(c, n, f) }
