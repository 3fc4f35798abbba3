package desk_test

import (
	"net/url"
	"strings"
	"testing"
)

// FuzzQuery asks every page with anything for a query: it answers with the page
// or says what is wrong, and never with a fault of its own or with markup that
// was sent.
func FuzzQuery(f *testing.F) {
	for _, q := range []string{
		"", "from=2026-11-01&to=2026-11-30&district=Kisima", "grade=Grade+2&deciding=moisture&kind=last", "skip=50", "skip=-1", "before=0",
		"made=2026-11-02T07%3A30%3A00Z&id=m1", "slip=2B2B2B2", "standard=mbuyu-hand%7Cdemonstration", "state=any&only=lacking",
		"find=%3Cscript%3E", "role=agent&after=a-kisima", "format=csv", "village=%00", "agent=a-kisima&grower=g-kisima", "from=0000-00-00", "a=%zz",
	} {
		f.Add(uint8(len(q)), q)
	}
	h := newHouse(f)
	h.season(40)
	admin := h.administrator()
	all := append([]string{"/desk/export/file", "/desk/audit", "/desk/people", "/desk/growers/g-kisima"}, pages...)
	f.Fuzz(func(t *testing.T, n uint8, query string) {
		h.t = t
		path, _, _ := strings.Cut(all[int(n)%len(all)], "?")
		u := url.URL{Path: path, RawQuery: query}
		if strings.ContainsFunc(query, func(r rune) bool { return r <= ' ' || r == 0x7f }) {
			return // no browser can send this
		}
		a := admin.get(u.String())
		if a.Status >= 500 {
			t.Errorf("%s: status %d", u.String(), a.Status)
		}
		if path != "/desk/export/file" && strings.Contains(strings.ToLower(a.Body), "<script") {
			t.Errorf("%s lets markup through", u.String())
		}
	})
}
