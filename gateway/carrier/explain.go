package carrier

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/antchfx/xmlquery"
)

// Found is what was found of one configured field in a request.
type Found struct {
	Field string // as the configuration calls it
	Where string // the configured place; empty when the field is not configured
	Value string // as it stands there, after its charset
	There bool
	Err   error
}

// Explained is one message of a request, field by field.
type Explained struct {
	Fields []Found
	// Inbound is what the channel understands, unless Err says why it does not.
	Inbound Inbound
	Err     error
}

// Explain reads a request as [Channel.Read] does and tells field by field what
// it found. The error is one that concerns the whole request.
func (c *Channel) Explain(r *Request) ([]Explained, error) {
	return allOf(c, r, c.read.each, c.explainOne)
}

// explainOne finds no fault: what is wrong with a message is told with it.
func (c *Channel) explainOne(s *source, index int) (e Explained, _ error) {
	for _, f := range []struct {
		name string
		p    place
	}{
		{fieldFrom, c.read.from}, {fieldText, c.read.text}, {fieldCoding, c.read.coding},
		{fieldSession, c.read.session}, {fieldMessage, c.read.message}, {fieldEvent, c.read.event},
	} {
		one := Found{Field: f.name, Where: f.p.text}
		if f.p.set() {
			one.Value, one.There, one.Err = s.find(f.p)
		}
		e.Fields = append(e.Fields, one)
	}
	e.Inbound, e.Err = c.readOne(s, index)
	return e, nil
}

// mostPlaces bounds what Places lists.
const mostPlaces = 60

// Places lists where a request holds something, in the notation of the configuration
// and without the values: the places that could have been meant if a field is not
// found. For a batch they are those of one message, counted from 1. Headers that every
// client sends are left out.
func (c *Channel) Places(r *Request, message int) []string {
	s, err := newSource(r, c.cfg.Name, c.read.cfg.Charset)
	if err != nil {
		return nil
	}
	var places []string
	for i := range s.segments() {
		places = append(places, fmt.Sprintf("path:%d", i+1))
	}
	for _, name := range slices.Sorted(maps.Keys(r.URL.Query())) {
		places = append(places, "query:"+name)
	}
	for _, name := range slices.Sorted(maps.Keys(r.Header)) {
		if !slices.Contains(usualHeaders, name) {
			places = append(places, "header:"+name)
		}
	}
	each := c.read.each
	if c.receipt != nil && strings.HasPrefix(r.URL.Path, "/receipt/") {
		each = c.receipt.each
	}
	inBody := func() { places = append(places, s.bodyPlaces(r.Header.Get("Content-Type"))...) }
	if !each.set() {
		inBody()
	} else if s.eachOf(each, func(index int) {
		if index == message {
			inBody()
		}
	}) != nil {
		inBody()
	}
	return places[:min(len(places), mostPlaces)]
}

// usualHeaders say nothing about a message.
var usualHeaders = []string{
	"Accept", "Accept-Encoding", "Connection", "Content-Length", "Content-Type", "Host", "User-Agent",
	"X-Forwarded-For", "X-Forwarded-Proto", "X-Forwarded-Host",
}

func (s *source) bodyPlaces(contentType string) (places []string) {
	switch text := strings.TrimSpace(string(s.r.Body)); {
	case text == "":
	case strings.HasPrefix(text, "<"):
		if s.parseTree() == nil {
			places = s.treePlaces()
		}
	case strings.HasPrefix(text, "{") || strings.HasPrefix(text, "["):
		if s.parseTop() == nil && s.inItem {
			places = jsonPlaces(s.item, "json:")
		} else if s.parseTop() == nil {
			places = jsonPlaces(s.top, "json:")
		}
	case strings.Contains(contentType, "form") || strings.Contains(text, "="):
		if s.parseForm() == nil {
			for _, name := range slices.Sorted(maps.Keys(s.form)) {
				places = append(places, "form:"+name)
			}
		}
	}
	return places
}

func (s *source) treePlaces() (places []string) {
	from := s.tree
	if s.node != nil {
		from = s.node
		places = xmlPlaces(from, from)
	}
	for _, n := range xmlquery.Find(from, ".//*") {
		places = append(places, xmlPlaces(n, from)...)
	}
	return places
}

// xmlPlaces are an element's attributes, and the element itself if it holds only text,
// as seen from an element above it.
func xmlPlaces(n, from *xmlquery.Node) (places []string) {
	var steps []string
	for at := n; at != from && at != nil && at.Type == xmlquery.ElementNode; at = at.Parent {
		steps = append(steps, at.Data)
	}
	if from.Type == xmlquery.DocumentNode {
		steps = append(steps, "") // the path begins with a slash
	}
	slices.Reverse(steps)
	for _, a := range n.Attr {
		places = append(places, "xml:"+strings.Join(append(slices.Clone(steps), "@"+a.Name.Local), "/"))
	}
	for child := n.FirstChild; child != nil; child = child.NextSibling {
		if child.Type == xmlquery.ElementNode {
			return places
		}
	}
	return append(places, "xml:"+strings.Join(steps, "/"))
}

var escapePointer = strings.NewReplacer("~", "~0", "/", "~1")

func jsonPlaces(v any, at string) (places []string) {
	switch v := v.(type) {
	case map[string]any:
		for _, key := range slices.Sorted(maps.Keys(v)) {
			places = append(places, jsonPlaces(v[key], at+"/"+escapePointer.Replace(key))...)
		}
	case []any:
		// One message of a batch looks like the other.
		for i := range min(len(v), 1) {
			places = append(places, jsonPlaces(v[i], fmt.Sprintf("%s/%d", at, i))...)
		}
	default:
		places = append(places, at)
	}
	return places
}

// SignedAt is the time that a request's signature states, for looking at a
// request that was captured some time ago; false when the channel's requests
// carry none.
func (c *Channel) SignedAt(r *Request) (time.Time, bool) {
	v := c.guard.signature
	if v == nil || !v.stampAt.set() {
		return time.Time{}, false
	}
	s, err := newSource(r, c.cfg.Name, c.read.cfg.Charset)
	if err != nil {
		return time.Time{}, false
	}
	text, found, err := s.find(v.stampAt)
	if err != nil || !found {
		return time.Time{}, false
	}
	at, err := v.readStamp(text)
	return at, err == nil
}
