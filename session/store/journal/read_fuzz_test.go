package journal

import (
	"bytes"
	"encoding/binary"
	"testing"

	"threshline/session"
	"threshline/session/store/record"
)

// first is a version or position.
var first = binary.BigEndian.AppendUint64(nil, 1)

// aJournal is a small whole one.
func aJournal() []byte {
	b := Batch{bytes: append([]byte(title), make([]byte, IDSize)...)}
	for i := range 3 {
		p := session.Person{ID: session.PersonID([]byte{'p', '0' + byte(i)}), Name: "Asha"}
		k := session.Check{Slip: session.Slip([]byte{'S', '0' + byte(i)}), State: session.Filed, Reporter: p.ID}
		b.AddPerson(p.ID, false, record.Encode(first, &p, record.Person))
		b.AddCheck(binary.BigEndian.AppendUint64(nil, uint64(i+1)), record.Encode(first, &k, record.Check))
	}
	return b.bytes
}

// FuzzJournal: whatever a file holds, reading it ends without a panic, and all
// of it is accounted for. What is put behind a whole journal is found there.
func FuzzJournal(f *testing.F) {
	whole := aJournal()
	f.Add(whole)
	for _, cut := range []int{0, 10, int(headSize), int(headSize) + 5, len(whole) / 2, len(whole) - 1} {
		f.Add(whole[:cut])
	}
	for _, at := range []int{3, 30, int(headSize), int(headSize) + 3, int(headSize) + 5, int(headSize) + 9, len(whole) / 2} {
		broken := bytes.Clone(whole)
		broken[at] ^= 0x40
		f.Add(broken)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		read := func(data []byte) (found Records, err error) {
			r, _, err := Read(bytes.NewReader(data), int64(len(data)))
			if err != nil {
				return found, err
			}
			return r.Each(func(kind byte, body []byte, in Span) error {
				if in.At < recordHead || in.At+int64(in.Length) > int64(len(data)) {
					t.Fatalf("a record at %+v of %d bytes", in, len(data))
				}
				if kind == PersonRecord {
					_, err := PersonOf(body)
					return err
				}
				_, err := CheckOf(body)
				return err
			})
		}
		found, err := read(data)
		if err != nil {
			return
		}
		if found.End+found.Torn != int64(len(data)) {
			t.Fatalf("%d bytes: %+v", len(data), found)
		}
		b := Batch{bytes: bytes.Clone(data[:found.End])}
		b.AddPerson("p9", false, record.Encode(first, &session.Person{ID: "p9"}, record.Person))
		if again, err := read(b.bytes); err != nil || again.People != found.People+1 || again.Torn != 0 || len(again.Gaps) != len(found.Gaps) {
			t.Fatalf("with one more record: %+v, %v; before %+v", again, err, found)
		}
	})
}
