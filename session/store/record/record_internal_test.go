package record

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/encoding/protowire"

	"threshline/grading"
	"threshline/session"
	"threshline/session/store/storetest"
)

// notStored are the fields that an engine keeps beside the record.
var notStored = map[string]bool{
	"Dialogue.Version": true, "Person.Version": true, "Check.Version": true, "Check.Position": true, "Invite.Version": true,
	"Reminder.Cancel": true, "Outgoing.Claimed": true, "Account.Version": true, "Account.Remove": true,
}

// TestEveryFieldIsStored fills every field of every record, also those that
// are added later, and finds the ones that do not come back.
func TestEveryFieldIsStored(t *testing.T) {
	everyField(t, Dialogue)
	everyField(t, Person)
	everyField(t, Check)
	everyField(t, Invite)
	everyField(t, Outgoing)
	everyField(t, Reminder)
	everyField(t, Note)
	everyField(t, Account)
	everyField(t, Reply)
}

func everyField[T any](t *testing.T, fields func(*Coder, *T)) {
	t.Helper()
	var want, got, empty T
	f := &filler{}
	f.fill(reflect.ValueOf(&want).Elem())
	buf := Encode(nil, &want, fields)
	if err := Decode(buf, &got, fields); err != nil {
		t.Fatalf("%T: %v", want, err)
	}
	if diff := cmp.Diff(want, got, sameReadings); diff != "" {
		t.Errorf("a field of %T is not stored: name it in record.go (-filled +read back):\n%s", want, diff)
	}
	if buf := Encode(nil, &empty, fields); len(buf) != 0 {
		t.Errorf("an empty %T takes %d bytes", want, len(buf))
	}
	ascending(t, fmt.Sprintf("%T", want), buf)
}

var sameReadings = cmp.Comparer(func(a, b grading.Readings) bool { return reflect.DeepEqual(a, b) })

// ascending checks the order of fields, without which later ones are not read.
func ascending(t *testing.T, what string, buf []byte) {
	t.Helper()
	last := protowire.Number(0)
	for len(buf) > 0 {
		num, typ, n := protowire.ConsumeTag(buf)
		if n < 0 || num < last {
			t.Fatalf("%s: field %d comes after field %d", what, num, last)
		}
		last = num
		buf = buf[n:]
		buf = buf[protowire.ConsumeFieldValue(num, typ, buf):]
	}
}

// filler gives every field a value of its own that is not zero.
type filler struct{ n int }

func (f *filler) fill(v reflect.Value) {
	f.n++
	switch at := v.Addr().Interface().(type) {
	case *time.Time:
		*at = time.Unix(int64(1772400000+f.n), int64(f.n)).UTC()
		return
	case *grading.Readings:
		f.readings(at)
		return
	case *grading.Field:
		*at = grading.Field(1 + f.n%int(grading.LiveOthers))
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			field := v.Type().Field(i)
			if !notStored[v.Type().Name()+"."+field.Name] {
				f.fill(v.Field(i))
			}
		}
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 3, 3))
		for i := range 3 {
			f.fill(v.Index(i))
		}
	case reflect.Map:
		v.Set(reflect.MakeMap(v.Type()))
		for range 3 {
			k, e := reflect.New(v.Type().Key()).Elem(), reflect.New(v.Type().Elem()).Elem()
			f.fill(k)
			f.fill(e)
			v.SetMapIndex(k, e)
		}
	case reflect.String:
		v.SetString(strings.Repeat("é", f.n%90) + fmt.Sprint(f.n))
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Float64:
		v.SetFloat(float64(f.n) / 7)
	case reflect.Uint8, reflect.Uint16, reflect.Uint64:
		v.SetUint(uint64(f.n % 200))
	default:
		v.SetInt(int64(-f.n)) // panics, and so fails, on a kind that nobody thought of
	}
}

func (f *filler) readings(r *grading.Readings) {
	for _, field := range grading.Fields() {
		f.n++
		r.Set(field, grading.Decimal(f.n*10000-3))
	}
	r.Set(grading.Red, 0) // a measured zero
	all := reflect.ValueOf(r).Elem()
	for i := range all.NumField() {
		if all.Type().Field(i).IsExported() {
			f.fill(all.Field(i))
		}
	}
	r.Repeats = append(r.Repeats, 141000, 0, -5)
}

// TestLaterFieldsArePassedOver reads a record of a later version.
func TestLaterFieldsArePassedOver(t *testing.T) {
	want := session.AuditNote{Who: "agent 3", Did: "joined", Subject: "p1"}
	later := func(c *Coder, n *session.AuditNote) {
		Note(c, n)
		extra, list := "a field of later", []session.AuditNote{{Did: "nested"}}
		number, at := 77, time.Unix(9, 9)
		Text(c, 90, &extra)
		each(c, 91, &list, Note)
		whole(c, 92, &number)
		clock(c, 93, &at)
	}
	record := Encode(nil, &want, later)
	list := []session.AuditNote{want, want}
	outer := Encode(nil, &list, func(c *Coder, l *[]session.AuditNote) { each(c, 1, l, later) })
	var got session.AuditNote
	if err := Decode(record, &got, Note); err != nil || got != want {
		t.Errorf("read %+v, %v, want %+v", got, err, want)
	}
	var gotList []session.AuditNote
	if err := Decode(outer, &gotList, func(c *Coder, l *[]session.AuditNote) { each(c, 1, l, Note) }); err != nil || !reflect.DeepEqual(gotList, list) {
		t.Errorf("read %+v, %v, want %+v", gotList, err, list)
	}
}

// TestLaterReadingsArePassedOver reads readings with a field of later.
func TestLaterReadingsArePassedOver(t *testing.T) {
	var want grading.Readings
	want.Set(grading.Red, 30000)
	later := func(c *Coder, r *grading.Readings) {
		start := c.open(2)
		for _, f := range []protowire.Number{protowire.Number(grading.Red), 77, 300} {
			c.buf = protowire.AppendVarint(protowire.AppendTag(c.buf, f, protowire.VarintType), protowire.EncodeZigZag(30000))
		}
		c.close(start)
		Text(c, 6, &r.Class)
	}
	var got grading.Readings
	if err := Decode(Encode(nil, &grading.Readings{Class: "long"}, later), &got, readingsFields); err != nil {
		t.Fatal(err)
	}
	if want.Class = "long"; !reflect.DeepEqual(got, want) {
		t.Errorf("read %+v, want %+v", got, want)
	}
}

// FuzzDecode holds that no bytes of a damaged file make reading a record fail
// in any way but an error.
func FuzzDecode(f *testing.F) {
	var d session.Dialogue
	(&filler{}).fill(reflect.ValueOf(&d).Elem())
	f.Add(Encode(nil, &d, Dialogue))
	var k session.Check
	(&filler{}).fill(reflect.ValueOf(&k).Elem())
	f.Add(Encode(nil, &k, Check))
	d, k = storetest.Dialogue(storetest.Phone(1)), storetest.Check(1, "p1", "p2")
	f.Add(Encode(nil, &d, Dialogue))
	f.Add(Encode(nil, &k, Check))
	f.Fuzz(func(t *testing.T, buf []byte) {
		var d session.Dialogue
		if Decode(buf, &d, Dialogue) == nil {
			var again session.Dialogue
			if err := Decode(Encode(nil, &d, Dialogue), &again, Dialogue); err != nil {
				t.Errorf("what was read cannot be written and read again: %v", err)
			}
		}
		var k session.Check
		_ = Decode(buf, &k, Check)
	})
}

func BenchmarkRecord(b *testing.B) {
	d, k := storetest.Dialogue(storetest.Phone(1)), storetest.Check(1, "p1", "p2")
	b.Run("dialogue", func(b *testing.B) { benchmarkRecord(b, &d, Dialogue) })
	b.Run("check", func(b *testing.B) { benchmarkRecord(b, &k, Check) })
}

// benchmarkRecord encodes and decodes a typical record.
func benchmarkRecord[T any](b *testing.B, v *T, fields func(*Coder, *T)) {
	b.ReportAllocs()
	var buf []byte
	for b.Loop() {
		buf = Encode(buf[:0], v, fields)
		var out T
		if err := Decode(buf, &out, fields); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(len(buf)), "bytes")
}

// A record of before a sign and a tool were renamed says what it said.
func TestStoredNamesFollowTheirNewOnes(t *testing.T) {
	was := session.Check{Readings: grading.Readings{Flags: []grading.Flag{grading.Musty, "heating"}}}
	var check session.Check
	if err := Decode(Encode(nil, &was, Check), &check, Check); err != nil || !slices.Equal(check.Readings.Flags, []grading.Flag{grading.Musty, grading.Warm}) {
		t.Errorf("signs are %v: %v", check.Readings.Flags, err)
	}
	owner := session.Person{Kit: session.Kit{Lacks: []session.Tool{"balance", session.Pan}}}
	var person session.Person
	if err := Decode(Encode(nil, &owner, Person), &person, Person); err != nil || person.Kit.Has(session.Scale) || person.Kit.Has(session.Pan) {
		t.Errorf("the kit lacks %v: %v", person.Kit.Lacks, err)
	}
}
