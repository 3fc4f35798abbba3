package carrier

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/antchfx/xpath"
)

// place is one configured place of a field.
type place struct {
	text    string // as configured; empty when the field is not configured
	kind    string // what stands before the colon
	name    string // of a form, query or header field; a constant's text
	pointer []string
	xpath   *xpath.Expr
	index   int // of a path segment, from 1
}

func (p place) set() bool { return p.text != "" }

// inBody reports whether the place lies in the request's body.
func (p place) inBody() bool {
	switch p.kind {
	case "form", "json", "top", "xml", "const":
		return true
	}
	return false
}

// form is what the body has to be for the place: empty when it does not matter.
func (p place) form() string {
	switch p.kind {
	case "form", "xml":
		return p.kind
	case "json", "top":
		return "json"
	}
	return ""
}

// oneForm finds a place that needs the body to be something else than the
// places before it do.
func oneForm(places ...place) (odd place, ok bool) {
	form := ""
	for _, p := range places {
		switch f := p.form(); {
		case f == "":
		case form == "":
			form = f
		case form != f:
			return p, false
		}
	}
	return place{}, true
}

const placeForms = "want form:NAME, query:NAME, header:NAME, json:/POINTER, top:/POINTER, xml:XPATH, path:N or const:TEXT"

// parsePlace reads a configured place; an empty text is a place not set.
func parsePlace(text string) (place, error) {
	if text == "" {
		return place{}, nil
	}
	kind, rest, ok := strings.Cut(text, ":")
	p := place{text: text, kind: kind, name: rest}
	if !ok {
		return place{}, fmt.Errorf("%q is not a place: %s", text, placeForms)
	}
	var err error
	switch kind {
	case "form", "query":
		if rest == "" {
			err = fmt.Errorf("%q names no field", text)
		}
	case "header":
		p.name = http.CanonicalHeaderKey(rest)
		if !headerName(rest) {
			err = fmt.Errorf("%q is not the name of a header", text)
		}
	case "json", "top":
		p.pointer, err = parsePointer(rest)
	case "xml":
		if p.xpath, err = xpath.Compile(rest); err != nil {
			err = fmt.Errorf("%q is not an XPath: %v", text, err)
		}
	case "path":
		if p.index, err = strconv.Atoi(rest); err != nil || p.index < 1 {
			err = fmt.Errorf("%q: want the number of a path segment, from 1", text)
		}
	case "const":
	default:
		err = fmt.Errorf("%q is not a place: %s", text, placeForms)
	}
	if err != nil {
		return place{}, err
	}
	return p, nil
}

func headerName(s string) bool {
	for _, r := range s {
		letter := r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9'
		if !letter && !strings.ContainsRune("!#$%&'*+-.^_`|~", r) {
			return false
		}
	}
	return s != ""
}
