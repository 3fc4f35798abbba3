package bolt

import (
	"bytes"
	"testing"

	"threshline/session"
)

// aJournal is a small whole one.
func aJournal() []byte {
	b := batch{bytes: append([]byte(journalTitle), make([]byte, journalIDSize)...)}
	for i := range 3 {
		p := session.Person{ID: session.PersonID([]byte{'p', '0' + byte(i)}), Name: "Asha"}
		k := session.Check{Slip: session.Slip([]byte{'S', '0' + byte(i)}), State: session.Filed, Reporter: p.ID}
		b.addPerson(p.ID, false, encode(number(1), &p, personFields))
		b.addCheck(number(uint64(i+1)), encode(number(1), &k, checkFields))
	}
	return b.bytes
}

// FuzzJournal: whatever a file holds, reading it ends without a panic, and all
// of it is accounted for. What is put behind a whole journal is found there.
func FuzzJournal(f *testing.F) {
	whole := aJournal()
	f.Add(whole)
	for _, cut := range []int{0, 10, journalHead, journalHead + 5, len(whole) / 2, len(whole) - 1} {
		f.Add(whole[:cut])
	}
	for _, at := range []int{journalHead, journalHead + 3, journalHead + 5, journalHead + 9, len(whole) / 2} {
		broken := bytes.Clone(whole)
		broken[at] ^= 0x40
		f.Add(broken)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		read := func(data []byte) (found Records, err error) {
			r, _, err := readJournal(bytes.NewReader(data), int64(len(data)))
			if err != nil {
				return found, err
			}
			return r.each(func(kind byte, body []byte, in span) error {
				if in.at < int64(journalHead+recordHead) || in.at+int64(in.length) > int64(len(data)) {
					t.Fatalf("a record at %+v of %d bytes", in, len(data))
				}
				if kind == personRecord {
					_, err := personOf(body)
					return err
				}
				_, err := checkOf(body)
				return err
			})
		}
		found, err := read(data)
		if err != nil {
			return
		}
		if found.end+found.Torn != int64(len(data)) {
			t.Fatalf("%d bytes: %+v", len(data), found)
		}
		b := batch{bytes: bytes.Clone(data[:found.end])}
		b.addPerson("p9", false, encode(number(1), &session.Person{ID: "p9"}, personFields))
		if again, err := read(b.bytes); err != nil || again.People != found.People+1 || again.Torn != 0 || again.Damaged != found.Damaged {
			t.Fatalf("with one more record: %+v, %v; before %+v", again, err, found)
		}
	})
}
