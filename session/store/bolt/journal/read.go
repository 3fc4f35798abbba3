package journal

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"

	"threshline/session"
	"threshline/session/store/record"
)

// ErrForeign: the file is something else.
var ErrForeign = errors.New("not a journal of this program")

// Records is what reading a journal came upon.
type Records struct {
	Checks, People, Erased int
	// Torn are the bytes after the last whole record; Damaged are records
	// before it that could not be read.
	Torn    int64
	Damaged int
	End     int64 // of the last whole record
}

// Reader walks a journal from its beginning.
type Reader struct {
	file io.ReaderAt
	size int64
	at   int64
	in   *bufio.Reader
	body []byte
}

// Read reads the head of a journal and returns its id; ErrForeign when it has none.
func Read(file io.ReaderAt, size int64) (*Reader, []byte, error) {
	head := make([]byte, headSize)
	if n, _ := file.ReadAt(head, 0); n < headSize || string(head[:len(title)]) != title {
		return nil, nil, ErrForeign
	}
	r := &Reader{file: file, size: size}
	r.seek(int64(headSize))
	return r, head[len(title):], nil
}

func (r *Reader) seek(at int64) {
	r.at = at
	section := io.NewSectionReader(r.file, at, r.size-at)
	if r.in == nil {
		r.in = bufio.NewReaderSize(section, 1<<18)
		return
	}
	r.in.Reset(section)
}

// Each gives every whole record to fn: its kind, and what follows the kind,
// which is only lent. Its error ends the walk.
func (r *Reader) Each(fn func(kind byte, body []byte, in Span) error) (found Records, err error) {
	for {
		found.End = r.at
		body, whole, err := r.next()
		if err != nil {
			return found, err
		}
		if !whole {
			skipped, err := r.skipDamage(found.End)
			if err != nil || skipped == 0 {
				found.Torn = r.size - found.End
				return found, err
			}
			found.Damaged += skipped
			continue
		}
		switch body[0] {
		case CheckRecord:
			found.Checks++
		case PersonRecord:
			found.People++
		case erasedRecord:
			found.Erased++
			continue
		default:
			return found, fmt.Errorf("%w: a record of kind %q", record.ErrNewer, body[:1])
		}
		if err := fn(body[0], body[1:], Span{r.at - int64(len(body)), len(body)}); err != nil {
			return found, err
		}
	}
}

// next reads a record; false when there is none that is whole.
func (r *Reader) next() (body []byte, whole bool, err error) {
	length, sum, ok, err := r.head()
	if err != nil || !ok {
		return nil, false, err
	}
	r.body = append(r.body[:0], make([]byte, length)...)
	if _, err := io.ReadFull(r.in, r.body); err != nil {
		return nil, false, err
	}
	r.at += recordHead + int64(length)
	return r.body, crc32.Checksum(r.body, castagnoli) == sum, nil
}

// head reads a record's head; false when none fits in what is left.
func (r *Reader) head() (length int, sum uint32, ok bool, err error) {
	left := r.size - r.at
	if left < recordHead {
		return 0, 0, false, nil
	}
	var head [recordHead]byte
	if _, err := io.ReadFull(r.in, head[:]); err != nil {
		return 0, 0, false, err
	}
	length = int(binary.BigEndian.Uint32(head[:]))
	ok = length > 0 && length <= maxRecord && int64(length) <= left-recordHead
	return length, binary.BigEndian.Uint32(head[4:]), ok, nil
}

// skipDamage goes on behind records that cannot be read, if a whole one
// follows, and returns how many it passed; 0 when the rest is a torn tail.
func (r *Reader) skipDamage(from int64) (skipped int, err error) {
	r.seek(from)
	for at := from; ; at = r.at {
		body, whole, err := r.next()
		if err != nil {
			return 0, err
		}
		if whole {
			r.seek(at)
			return skipped, nil
		}
		if r.at == at || body == nil {
			return 0, nil
		}
		skipped++
	}
}

// PersonOf decodes what follows the kind of a person's record.
func PersonOf(body []byte) (p session.Person, err error) {
	p.Version, err = record.Versioned(body, &p, record.Person)
	return p, err
}

// CheckOf decodes what follows the kind of a check's record.
func CheckOf(body []byte) (k session.Check, err error) {
	if len(body) < positionSize {
		return k, fmt.Errorf("%w: a check's record breaks off", record.ErrDamaged)
	}
	k.Version, err = record.Versioned(body[positionSize:], &k, record.Check)
	k.Position = binary.BigEndian.Uint64(body)
	return k, err
}
