package carrier

import (
	"crypto/sha256"
	"crypto/subtle"
	"errors"
	"fmt"
	"net/netip"
	"strings"
	"time"
)

// guard is a GuardConfig ready to use.
type guard struct {
	open      bool
	token     Secret
	tokenAt   place
	prefix    string
	user      string
	password  Secret
	signature *verifier
	allow     []netip.Prefix
	proxies   int
}

func newGuard(cfg GuardConfig, secrets Lookup) (g guard, key string, err error) {
	g = guard{open: cfg.Open, prefix: cfg.TokenPrefix, user: cfg.User, proxies: cfg.Proxies}
	given := cfg.Token != "" || cfg.User != "" || cfg.Password != "" || cfg.Signature != nil || len(cfg.Allow) > 0
	switch {
	case !given && !cfg.Open:
		return g, "guard", errors.New("there is no guard: want token, user and password, signature or allow; open = true lets anybody in")
	case given && cfg.Open:
		return g, "guard.open", errors.New("is true, but there are guards: leave one of them out")
	case (cfg.Token == "") != (cfg.TokenAt == ""):
		return g, "guard.token", errors.New("goes together with token_at, such as \"header:X-Token\"")
	case (cfg.User == "") != (cfg.Password == ""):
		return g, "guard.user", errors.New("goes together with password")
	case cfg.Proxies < 0:
		return g, "guard.proxies", errors.New("want the number of your own proxies in front of the gateway, 0 or more")
	}
	if cfg.Token != "" {
		if g.token, err = secrets.get(cfg.Token); err != nil {
			return g, "guard.token", err
		}
		if g.tokenAt, err = parsePlace(cfg.TokenAt); err != nil {
			return g, "guard.token_at", err
		}
		if g.tokenAt.kind == "const" {
			return g, "guard.token_at", errors.New("a constant guards nothing")
		}
	}
	if cfg.Password != "" {
		if g.password, err = secrets.get(cfg.Password); err != nil {
			return g, "guard.password", err
		}
	}
	for _, text := range cfg.Allow {
		prefix, err := parseRange(text)
		if err != nil {
			return g, "guard.allow", err
		}
		g.allow = append(g.allow, prefix)
	}
	return g, "", nil
}

func parseRange(text string) (netip.Prefix, error) {
	if !strings.Contains(text, "/") {
		if a, err := netip.ParseAddr(text); err == nil {
			return netip.PrefixFrom(a, a.BitLen()), nil
		}
	}
	p, err := netip.ParsePrefix(text)
	if err != nil {
		return p, fmt.Errorf("%q is not an address range: want such as \"192.0.2.0/24\"", text)
	}
	return p.Masked(), nil
}

// Admit checks who sends a request, before the dialogue sees anything of it. Every
// guard of the channel must agree. Its error wraps ErrRefused, or is ErrTooLarge; it
// says which guard, and never a value.
func (c *Channel) Admit(r *Request, now time.Time) error {
	if len(r.Body) > c.maxBody() {
		return fmt.Errorf("%w: %d bytes, at most %d", ErrTooLarge, len(r.Body), c.maxBody())
	}
	if c.unguarded {
		return fmt.Errorf("%w: the guard's secrets were not read", ErrRefused)
	}
	g := c.guard
	if g.open {
		return nil
	}
	if err := g.admitAddress(r); err != nil {
		return err
	}
	s := guardSource(r, c.cfg.Name, c.read.cfg.Charset)
	if err := g.admitToken(s); err != nil {
		return err
	}
	if err := g.admitUser(r); err != nil {
		return err
	}
	if g.signature != nil {
		return g.signature.verify(s, now)
	}
	return nil
}

func (g guard) admitAddress(r *Request) error {
	if len(g.allow) == 0 {
		return nil
	}
	address, err := clientOf(r, g.proxies)
	if err != nil {
		return err
	}
	for _, p := range g.allow {
		if p.Contains(address) {
			return nil
		}
	}
	return fmt.Errorf("%w: address is not in guard.allow", ErrRefused)
}

// clientOf is who sent the request to the outermost of our own proxies. Anybody can
// have written what is further left in X-Forwarded-For.
func clientOf(r *Request, proxies int) (netip.Addr, error) {
	if proxies == 0 {
		return r.Peer, nil
	}
	var hops []string
	for _, line := range r.Header.Values("X-Forwarded-For") {
		hops = append(hops, strings.Split(line, ",")...)
	}
	if len(hops) < proxies {
		return netip.Addr{}, fmt.Errorf("%w: X-Forwarded-For has %d addresses, want %d or more for guard.proxies", ErrRefused, len(hops), proxies)
	}
	hop := strings.TrimSpace(hops[len(hops)-proxies])
	if withPort, err := netip.ParseAddrPort(hop); err == nil {
		return withPort.Addr().Unmap(), nil
	}
	address, err := netip.ParseAddr(hop)
	if err != nil {
		return netip.Addr{}, fmt.Errorf("%w: X-Forwarded-For holds something that is not an address", ErrRefused)
	}
	return address.Unmap(), nil
}

func (g guard) admitToken(s *source) error {
	if !g.tokenAt.set() {
		return nil
	}
	text, found, err := s.find(g.tokenAt)
	if err != nil {
		return fmt.Errorf("%w: token at %q: %v", ErrRefused, g.tokenAt.text, err)
	}
	if !found {
		return fmt.Errorf("%w: no token at %q", ErrRefused, g.tokenAt.text)
	}
	text, hasPrefix := strings.CutPrefix(text, g.prefix)
	if !same(text, g.token) || !hasPrefix {
		return fmt.Errorf("%w: wrong token at %q", ErrRefused, g.tokenAt.text)
	}
	return nil
}

func (g guard) admitUser(r *Request) error {
	if g.user == "" {
		return nil
	}
	user, password, ok := basicAuth(r)
	if !ok {
		return fmt.Errorf("%w: no basic authentication", ErrRefused)
	}
	rightUser, rightPassword := same(user, Secret{g.user}), same(password, g.password)
	if !rightUser || !rightPassword {
		return fmt.Errorf("%w: wrong user or password", ErrRefused)
	}
	return nil
}

// same compares in a time that reveals neither how much is right nor how long the
// secret is.
func same(text string, secret Secret) bool {
	a, b := sha256.Sum256([]byte(text)), sha256.Sum256([]byte(secret.value))
	return subtle.ConstantTimeCompare(a[:], b[:]) == 1
}
