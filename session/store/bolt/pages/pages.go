// Package pages walks the pages of a store file that nobody vouches for, before
// the library, which trusts whatever a file says, is let near it.
package pages

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/fnv"
	"io"
)

// The layout of a file's pages, in bytes. A page that leads to itself has the
// library run for ever, a length beyond the page's end has it read what is not
// there.
// Numbers are little-endian on all machines that we build for.
const (
	pageHead      = 16 // id 8, flags 2, count 2, overflow 4
	pageFlags     = 8
	pageCount     = 10
	pageOverflow  = 12
	elementSize   = 16 // branch: position 4, key 4, page 8; leaf: flags 4, position 4, key 4, value 4
	bucketHead    = 16 // root 8, sequence 8; behind it a page when root is 0
	branchPage    = 0x01
	leafPage      = 0x02
	freelistPage  = 0x10
	bucketElement = 0x01
	deepest       = 64     // more than any tree of pages ever is
	countBehind   = 0xffff // a list so long has its count behind the head
)

// The first two pages say where everything is; the newer one that is whole counts.
const (
	metaSize     = 64
	metaMagic    = 0xed0cdaed
	metaVersion  = 2
	metaPageSize = 8  // length of a page, 4 bytes
	metaRoot     = 16 // page of the buckets
	metaFree     = 32 // first page of the list of free pages
	metaPages    = 40 // number of pages
	metaTx       = 48 // number of the transaction
	metaSum      = 56 // FNV-1a of what comes before
	noFreelist   = ^uint64(0)
)

var (
	u16 = binary.LittleEndian.Uint16
	u32 = binary.LittleEndian.Uint32
	u64 = binary.LittleEndian.Uint64
)

// newestMeta reads the head of a file that counts, and tells how long a page
// is; nil when there is none.
func newestMeta(f io.ReaderAt) (newest []byte, pageSize uint64) {
	newest = readMeta(f, 0)
	if newest == nil {
		for size := int64(1024); size <= 1<<16 && newest == nil; size *= 2 {
			newest = readMeta(f, size)
		}
		if newest == nil {
			return nil, 0
		}
	}
	pageSize = uint64(u32(newest[metaPageSize:]))
	if second := readMeta(f, int64(pageSize)); second != nil && u64(second[metaTx:]) > u64(newest[metaTx:]) {
		newest = second
	}
	return newest, pageSize
}

// readMeta reads the page at an offset; nil when it is not whole.
func readMeta(f io.ReaderAt, at int64) []byte {
	meta := make([]byte, metaSize)
	if _, err := f.ReadAt(meta, at+pageHead); err != nil {
		return nil
	}
	sum := fnv.New64a()
	sum.Write(meta[:metaSum])
	if u32(meta) != metaMagic || u32(meta[4:]) != metaVersion || sum.Sum64() != u64(meta[metaSum:]) {
		return nil
	}
	return meta
}

// walker is a walk under way.
type walker struct {
	file  io.ReaderAt
	size  uint64 // of a page, in bytes
	count uint64
	used  []bool
}

// Walk walks all pages of a file of so many bytes: each is used once, is what
// it should be, and holds its keys in order.
func Walk(f io.ReaderAt, size int64) error {
	meta, _ := newestMeta(f)
	w, err := walk(f, meta, size)
	if err != nil {
		return err
	}
	if err := w.tree(u64(meta[metaRoot:]), nil, nil, 0); err != nil {
		return err
	}
	return w.free(u64(meta[metaFree:]))
}

func walk(f io.ReaderAt, meta []byte, size int64) (*walker, error) {
	if meta == nil {
		return nil, errors.New("its first pages are not whole")
	}
	w := &walker{file: f, size: uint64(u32(meta[metaPageSize:])), count: u64(meta[metaPages:])}
	if w.size < 512 || w.size > 1<<16 || w.count > uint64(size)/w.size {
		return nil, fmt.Errorf("cut short: %d pages of %d bytes are said to be in %d bytes", w.count, w.size, size)
	}
	w.used = make([]bool, w.count)
	return w, nil
}

// Used tells which pages of a file of so many bytes are in use by one state of
// it, whose first page, with all that it leads to, is handed in.
func Used(f io.ReaderAt, first []byte, size int64) (used []bool, pageSize int64, err error) {
	w, err := walk(f, readMeta(bytes.NewReader(first), 0), size)
	if err != nil {
		return nil, 0, err
	}
	meta := first[pageHead:]
	if err = w.tree(u64(meta[metaRoot:]), nil, nil, 0); err == nil && u64(meta[metaFree:]) != noFreelist {
		_, err = w.read(u64(meta[metaFree:]))
	}
	if len(w.used) > 1 {
		w.used[0], w.used[1] = true, true
	}
	return w.used, int64(w.size), err
}

// ListsFree reports whether a file holds a list of its free pages. One that
// cannot be understood does not.
func ListsFree(f io.ReaderAt) bool {
	meta, _ := newestMeta(f)
	return meta != nil && u64(meta[metaFree:]) != noFreelist
}

// read reads a page with what overflows from it, and notes that it is used.
func (w *walker) read(id uint64) ([]byte, error) {
	if id < 2 || id >= w.count {
		return nil, fmt.Errorf("page %d of %d is used", id, w.count)
	}
	var head [pageHead]byte
	if _, err := w.file.ReadAt(head[:], int64(id*w.size)); err != nil {
		return nil, err
	}
	length := uint64(u32(head[pageOverflow:])) + 1
	if u64(head[:]) != id || length > w.count-id {
		return nil, fmt.Errorf("page %d says that it is page %d, of %d", id, u64(head[:]), length)
	}
	for i := id; i < id+length; i++ {
		if w.used[i] {
			return nil, fmt.Errorf("page %d is used twice", i)
		}
		w.used[i] = true
	}
	b := make([]byte, length*w.size)
	_, err := w.file.ReadAt(b, int64(id*w.size))
	return b, err
}

// tree walks a bucket's pages from one down. The first key is least and all are before
// beyond, where those are not nil: the library finds a page's place in the one above
// by its first key, and where it is another one it writes that page in a second place.
func (w *walker) tree(id uint64, least, beyond []byte, depth int) error {
	b, err := w.read(id)
	if err != nil {
		return err
	}
	branch := u16(b[pageFlags:]) == branchPage
	if depth > deepest || !branch && u16(b[pageFlags:]) != leafPage || branch && u16(b[pageCount:]) == 0 {
		return fmt.Errorf("page %d is of no use %d levels down", id, depth)
	}
	elements, err := elementsOf(b, branch)
	if err != nil {
		return fmt.Errorf("page %d: %w", id, err)
	}
	for i, e := range elements {
		next := beyond
		if i+1 < len(elements) {
			next = elements[i+1].key
		}
		if i == 0 && least != nil && !bytes.Equal(e.key, least) || next != nil && bytes.Compare(e.key, next) >= 0 {
			return fmt.Errorf("keys of page %d are out of order", id)
		}
		switch {
		case branch:
			err = w.tree(e.page, e.key, next, depth+1)
		case e.bucket:
			err = w.bucket(e.value, depth+1)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// bucket walks a bucket that lies in a page. A small one lies there whole.
func (w *walker) bucket(value []byte, depth int) error {
	if len(value) < bucketHead {
		return errors.New("a bucket breaks off")
	}
	if root := u64(value); root != 0 {
		return w.tree(root, nil, nil, depth)
	}
	b := value[bucketHead:]
	if len(b) < pageHead || u16(b[pageFlags:]) != leafPage {
		return errors.New("a small bucket breaks off")
	}
	elements, err := elementsOf(b, false)
	for i, e := range elements {
		if e.bucket || i > 0 && bytes.Compare(elements[i-1].key, e.key) >= 0 {
			return errors.New("a small bucket is out of order")
		}
	}
	return err
}

type element struct {
	key, value []byte
	page       uint64
	bucket     bool
}

// elementsOf reads the elements of a page. The library writes their records
// right behind them, without a gap, and nothing where there are none: so a count
// that lost a bit shows.
func elementsOf(b []byte, branch bool) ([]element, error) {
	count := int(u16(b[pageCount:]))
	list := make([]element, 0, count)
	begins := uint64(pageHead + count*elementSize)
	if count == 0 && len(bytes.Trim(b[pageHead:], "\x00")) > 0 {
		return nil, errors.New("it holds records that it does not count")
	}
	for i := range count {
		at := uint64(pageHead + i*elementSize)
		if at+elementSize > uint64(len(b)) {
			return nil, errors.New("it breaks off")
		}
		e := b[at:]
		var one element
		var position, key, value uint64
		if branch {
			position, key, one.page = uint64(u32(e)), uint64(u32(e[4:])), u64(e[8:])
		} else {
			position, key, value = uint64(u32(e[4:])), uint64(u32(e[8:])), uint64(u32(e[12:]))
			one.bucket = u32(e)&bucketElement != 0
		}
		if position+key+value > uint64(len(e)) || key == 0 {
			return nil, errors.New("a record breaks off")
		}
		if at+position != begins {
			return nil, errors.New("its records and their count differ")
		}
		begins += key + value
		one.key, one.value = e[position:position+key], e[position+key:position+key+value]
		list = append(list, one)
	}
	return list, nil
}

// free walks the list of free pages, if there is one: none of them is used.
func (w *walker) free(id uint64) error {
	if id == noFreelist {
		return nil
	}
	b, err := w.read(id)
	if err != nil {
		return err
	}
	count, ids := uint64(u16(b[pageCount:])), b[pageHead:]
	if count == countBehind {
		count, ids = u64(ids), ids[8:]
	}
	if u16(b[pageFlags:]) != freelistPage || count > uint64(len(ids)/8) {
		return errors.New("the list of free pages breaks off")
	}
	for i := range count {
		free := u64(ids[8*i:])
		if free < 2 || free >= w.count || w.used[free] {
			return fmt.Errorf("page %d is free and used, or free twice", free)
		}
		w.used[free] = true
	}
	return nil
}
