package journal

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"io/fs"
	"os"

	"threshline/session"
	"threshline/session/store/record"
)

// ErrForeign: the file is something else.
var ErrForeign = errors.New("not a journal of this program")

// Records is what reading a journal came upon.
type Records struct {
	Checks, People, Erased int
	// Torn are the bytes after the last whole record. Gaps lie before it.
	Torn int64
	Gaps []Gap
	// Missing is how many checks at most the gaps held, by the positions of those
	// before and behind.
	Missing uint64
	End     int64 // of the last whole record
}

// Gap is a part of a journal that holds no whole record, in bytes.
type Gap struct{ At, Length int64 }

// mostTorn is more than a power cut takes of the end: what waited for one
// commit. Assumed: half a kB for each of the most exchanges of a group, twice.
const mostTorn = 1 << 20

// Lossy reports whether more cannot be read than a power cut explains.
func (r *Records) Lossy() bool { return len(r.Gaps) > 0 || r.Torn > mostTorn }

// Reader walks a journal from its beginning.
type Reader struct {
	file io.ReaderAt
	size int64
	at   int64
	in   *bufio.Reader
	body []byte
}

// Read reads the head of a journal and returns its id. Where the head cannot be
// read there is no id; where nothing behind it can be either the error is
// ErrForeign.
func Read(file io.ReaderAt, size int64) (*Reader, []byte, error) {
	r, head := &Reader{file: file, size: size}, make([]byte, headSize)
	n, _ := file.ReadAt(head, 0)
	if int64(n) == headSize && string(head[:len(title)]) == title {
		r.seek(headSize)
		return r, head[len(title):], nil
	}
	first, err := r.resync(0)
	if err != nil {
		return nil, nil, err
	}
	if first == size {
		if int64(n) < headSize || differing(head[:len(title)]) > 2 {
			return nil, nil, ErrForeign
		}
		first = headSize // ours, with a bit that changed in its head
	}
	r.seek(min(first, headSize))
	return r, nil, nil
}

// differing counts the bits in which the beginning of a file is not the title.
func differing(begin []byte) (bits int) {
	for i := range begin {
		n := begin[i] ^ title[i]
		for ; n != 0; n &= n - 1 {
			bits++
		}
	}
	return bits
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
// which is only lent. Its error ends the walk. What cannot be read is passed
// over, up to the next record with a good length and check sum.
func (r *Reader) Each(fn func(kind byte, body []byte, in Span) error) (found Records, err error) {
	last, gap := uint64(0), false
	for {
		found.End = r.at
		body, whole, err := r.next()
		if err != nil {
			return found, err
		}
		if !whole {
			next, err := r.resync(found.End)
			if err != nil || next == r.size {
				found.Torn = r.size - found.End
				return found, err
			}
			found.Gaps, gap = append(found.Gaps, Gap{found.End, next - found.End}), true
			r.seek(next)
			continue
		}
		switch body[0] {
		case CheckRecord:
			found.Checks++
			if at, ok := positionOf(body[1:]); ok {
				if gap && at > last+1 {
					found.Missing += at - last - 1
				}
				last, gap = at, false
			}
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
	left := r.size - r.at
	if left < recordHead {
		return nil, false, nil
	}
	var head [recordHead]byte
	if _, err := io.ReadFull(r.in, head[:]); err != nil {
		return nil, false, err
	}
	length, ok := bodyLength(head[:], left)
	if !ok {
		return nil, false, nil
	}
	r.body = append(r.body[:0], make([]byte, length)...)
	if _, err := io.ReadFull(r.in, r.body); err != nil {
		return nil, false, err
	}
	r.at += recordHead + int64(length)
	return r.body, sumIs(head[:], r.body), nil
}

// bodyLength reads how long a record's body is; false when it cannot be, of so
// many bytes that are left.
func bodyLength(head []byte, left int64) (length int, ok bool) {
	length = int(binary.BigEndian.Uint32(head))
	return length, length > 0 && length <= maxRecord && int64(length) <= left-recordHead
}

func sumIs(head, body []byte) bool {
	return crc32.Checksum(body, castagnoli) == binary.BigEndian.Uint32(head[4:])
}

// resync finds the next whole record behind from; the end when there is none.
func (r *Reader) resync(from int64) (at int64, err error) {
	window := make([]byte, 1<<16)
	for begin := from + 1; begin < r.size; {
		n, err := r.file.ReadAt(window[:min(int64(len(window)), r.size-begin)], begin)
		if err != nil && err != io.EOF {
			return 0, err
		}
		for i := 0; i+recordHead < n; i++ {
			head := window[i:]
			length, ok := bodyLength(head, r.size-begin-int64(i))
			if !ok || !known(head[recordHead]) {
				continue
			}
			body := make([]byte, length)
			if _, err := r.file.ReadAt(body, begin+int64(i)+recordHead); err != nil {
				return 0, err
			}
			if sumIs(head, body) {
				return begin + int64(i), nil
			}
		}
		if n <= recordHead {
			break
		}
		begin += int64(n - recordHead)
	}
	return r.size, nil
}

func known(kind byte) bool {
	return kind == CheckRecord || kind == PersonRecord || kind == erasedRecord
}

// positionOf reads the position at the front of a check's record.
func positionOf(body []byte) (uint64, bool) {
	if len(body) < positionSize {
		return 0, false
	}
	return binary.BigEndian.Uint64(body), true
}

// Find looks in the journal at path, which may be in use, for records that are
// wanted, and gives each to keep, the older first. No file is no error.
func Find(path string, keep func(kind byte, body []byte) error) error {
	file, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		return err
	}
	r, _, err := Read(file, info.Size())
	if err != nil {
		return err
	}
	_, err = r.Each(func(kind byte, body []byte, _ Span) error { return keep(kind, body) })
	return err
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
