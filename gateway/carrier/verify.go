package carrier

import (
	"crypto/hmac"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"
)

// verifier checks the signature of requests.
type verifier struct {
	signing
	at, stampAt, idAt place
	seen              *replays // nil where the very same request may come again
}

func newVerifier(cfg SignatureConfig, read reader, secrets Lookup) (v *verifier, key string, err error) {
	v = &verifier{}
	if v.signing, key, err = newSigning(cfg, secrets); err != nil {
		return nil, key, err
	}
	cfg = v.cfg
	if v.at, err = parsePlace(cfg.At); err != nil {
		return nil, "at", err
	}
	if v.stampAt, err = parsePlace(cfg.TimestampAt); err != nil {
		return nil, "timestamp_at", err
	}
	if v.idAt, err = parsePlace(cfg.IDAt); err != nil {
		return nil, "id_at", err
	}
	harmless := v.harmless(read)
	switch {
	case cfg.Identical != "" && cfg.Identical != "refuse" && cfg.Identical != "pass":
		return nil, "identical", fmt.Errorf("%q is not known: want \"refuse\" or \"pass\"", cfg.Identical)
	case cfg.Identical == "pass" && !harmless:
		return nil, "identical", errors.New("\"pass\" needs read.message, signed and not optional: only that makes a repeated request harmless")
	case !v.stampAt.set() && !cfg.Undated:
		return nil, "timestamp_at", errors.New("is missing: a signature over no time could be used again for ever; undated = true takes it")
	case cfg.Undated && !harmless:
		return nil, "undated", errors.New("needs read.message, signed and not optional: only that makes a repeated request harmless")
	case v.stampAt.set() && !v.covers(func(d *signedData) { d.Timestamp = "2" }):
		return nil, "over", errors.New("does not cover {{.Timestamp}}")
	}
	for _, p := range []place{read.from, read.text} {
		if !v.coversPlace(p) {
			return nil, "over", fmt.Errorf("does not cover %q, which could then be changed on the way", p.text)
		}
	}
	if cfg.Identical == "refuse" || cfg.Identical == "" && !harmless {
		v.seen = newReplays(2 * time.Duration(cfg.Tolerance))
	}
	return v, "", nil
}

// coversReceipts says what in a receipt could be changed on the way.
func (v *verifier) coversReceipts(r *receiver) error {
	for _, p := range []place{r.id, r.state} {
		if !v.coversPlace(p) {
			return fmt.Errorf("does not cover %q of receipts, which could then be changed on the way", p.text)
		}
	}
	return nil
}

// harmless reports whether the store would recognise a repeated request by an id that
// nobody can change: the message's, or the one made from the whole dialogue of a
// network session.
func (v *verifier) harmless(read reader) bool {
	if read.message.set() {
		return read.message.kind != "const" && v.coversPlace(read.message) && !slices.Contains(read.cfg.Optional, fieldMessage)
	}
	return read.cfg.Dialogue == dialogueWhole && v.coversPlace(read.session) && !slices.Contains(read.cfg.Optional, fieldSession)
}

func (v *verifier) coversPlace(p place) bool {
	if !p.set() || p.kind == "const" {
		return true
	}
	return v.covers(func(d *signedData) {
		switch {
		case p.text == v.idAt.text:
			d.ID = "2"
		case p.inBody():
			d.Body = "2"
		case p.kind == "query":
			d.Query = p.name + "=2"
		case p.kind == "path":
			d.Path = "/2"
		case p.kind == "header":
			d.Header.Set(p.name, "2")
		}
	})
}

func (v *verifier) verify(s *source, now time.Time) error {
	refuse := func(format string, args ...any) error {
		return fmt.Errorf("%w: signature: %s", ErrRefused, fmt.Sprintf(format, args...))
	}
	presented, found, err := s.find(v.at)
	if err != nil || !found {
		return refuse("none at %q", v.at.text)
	}
	data := signedData{
		Body: string(s.r.Body), Method: s.r.Method, Path: s.r.URL.EscapedPath(),
		Query: s.r.URL.RawQuery, Header: s.r.Header,
	}
	if data.Header == nil {
		data.Header = http.Header{}
	}
	if v.idAt.set() {
		if data.ID, found, err = s.find(v.idAt); err != nil || !found || data.ID == "" {
			return refuse("no id at %q", v.idAt.text)
		}
		if v.cfg.Form == formStandard && strings.Contains(data.ID, ".") {
			return refuse("the id holds a full stop")
		}
	}
	if v.stampAt.set() {
		if data.Timestamp, found, err = s.find(v.stampAt); err != nil || !found {
			return refuse("no time at %q", v.stampAt.text)
		}
		at, err := v.readStamp(data.Timestamp)
		if err != nil {
			return refuse("the time %v", err)
		}
		if off := now.Sub(at); off.Abs() > time.Duration(v.cfg.Tolerance) {
			return refuse("the time is more than %v off", time.Duration(v.cfg.Tolerance))
		}
	}
	content, err := v.content(data)
	if err != nil {
		return refuse("over: %v", err)
	}
	sum, ok := v.match(content, v.decode(presented))
	if !ok {
		return refuse("does not match")
	}
	if v.seen != nil && !v.seen.first(sum, now) {
		return refuse("this very request came before")
	}
	if v.seen != nil {
		s.r.release = func() { v.seen.forget(sum) }
	}
	if v.stampAt.set() {
		s.r.signed = sum
	}
	return nil
}

// match finds the key whose signature is among those presented.
func (v *verifier) match(content string, presented [][]byte) (sum [32]byte, ok bool) {
	for _, key := range v.keys {
		want := mac(key, content)
		for _, got := range presented {
			if hmac.Equal(want, got) {
				return [32]byte(want), true
			}
		}
	}
	return sum, false
}

// replays remembers which signed requests came, for at least a span. Only
// requests with a right signature get here, so the sender bounds its size. It
// is one process's memory: with several gateways the message's id in the
// store still makes a repeated message harmless.
type replays struct {
	mu       sync.Mutex
	span     time.Duration
	turned   time.Time
	now, old map[[32]byte]struct{}
}

func newReplays(span time.Duration) *replays {
	return &replays{span: span, now: map[[32]byte]struct{}{}}
}

// first reports whether a signature is new, and remembers it.
func (r *replays) first(sum [32]byte, now time.Time) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	if now.Sub(r.turned) > r.span {
		// What the older half held was seen over a span ago: its time is too
		// far off by now.
		r.old, r.now, r.turned = r.now, map[[32]byte]struct{}{}, now
	}
	_, inNow := r.now[sum]
	_, inOld := r.old[sum]
	if inNow || inOld {
		return false
	}
	r.now[sum] = struct{}{}
	return true
}

// forget lets a signature come again.
func (r *replays) forget(sum [32]byte) {
	r.mu.Lock()
	defer r.mu.Unlock()
	delete(r.now, sum)
	delete(r.old, sum)
}
