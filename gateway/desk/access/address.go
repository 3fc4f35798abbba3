package access

import (
	"net/http"
	"net/netip"
	"strings"
)

// peer is the address at the other end of the connection.
func peer(r *http.Request) netip.Addr {
	a, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return netip.Addr{}
	}
	return a.Addr().Unmap()
}

// Behind makes a Config.Address for a desk behind so many proxies of ours,
// each of which adds to X-Forwarded-For who it was called by. What stands
// further left anybody can have written. A request that did not come through
// them counts as from its own connection. Without it all visitors of a proxy
// would have one address, and whoever guesses passwords would slow down all.
func Behind(proxies int) func(*http.Request) netip.Addr {
	return func(r *http.Request) netip.Addr {
		hops := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
		if proxies <= 0 || len(hops) < proxies {
			return peer(r)
		}
		hop := strings.TrimSpace(hops[len(hops)-proxies])
		if withPort, err := netip.ParseAddrPort(hop); err == nil {
			return withPort.Addr().Unmap()
		}
		if a, err := netip.ParseAddr(hop); err == nil {
			return a.Unmap()
		}
		return peer(r)
	}
}
