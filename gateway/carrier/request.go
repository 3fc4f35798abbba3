package carrier

import (
	"bytes"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"net/netip"
	"net/url"
	"strings"

	"github.com/antchfx/xmlquery"
)

// Request is one request of a carrier, whole. Nothing of it is kept.
type Request struct {
	Method string
	URL    *url.URL
	Header http.Header
	Body   []byte
	Peer   netip.Addr // who connected; zero when not known

	signed  [32]byte // the signature that admitted it; zero when none did
	release func()   // see NotTaken
}

// NotTaken says that nothing could be done about an admitted request at the moment. The
// very same request may then come again: a carrier that is told to deliver again must
// not be taken for somebody who replays.
func (r *Request) NotTaken() {
	if r.release != nil {
		r.release()
	}
}

// NewRequest takes an HTTP request whose body was read already.
func NewRequest(r *http.Request, body []byte) *Request {
	peer, _ := netip.ParseAddrPort(r.RemoteAddr)
	return &Request{Method: r.Method, URL: r.URL, Header: r.Header, Body: body, Peer: peer.Addr().Unmap()}
}

// source is a request with its parts parsed when first asked for.
type source struct {
	r       *Request
	channel string
	decoder decoder
	form    url.Values
	query   url.Values
	top     any
	hasTop  bool
	tree    *xmlquery.Node
	// item and node are the message of a batch that is being read.
	item   any
	inItem bool
	node   *xmlquery.Node
}

// guardSource is a source for the guards alone. They look for plain ASCII. So the
// sender is known even for a request in an unknown charset, which is then refused
// because of its charset and not because of its sender.
func guardSource(r *Request, channel, charset string) *source {
	d, err := decoderFor(charset, r.Header.Get("Content-Type"))
	if err != nil {
		d = decoder{}
	}
	d.stated = false
	return &source{r: r, channel: channel, decoder: d}
}

func newSource(r *Request, channel, charset string) (*source, error) {
	d, err := decoderFor(charset, r.Header.Get("Content-Type"))
	if err != nil {
		return nil, err
	}
	return &source{r: r, channel: channel, decoder: d}, nil
}

// find looks a place up. A field that is not there is not an error.
func (s *source) find(p place) (text string, found bool, err error) {
	switch p.kind {
	case "const":
		return p.name, true, nil
	case "header":
		return s.one(s.r.Header.Values(p.name))
	case "path":
		segments := s.segments()
		if p.index > len(segments) {
			return "", false, nil
		}
		return segments[p.index-1], true, nil
	case "query":
		if s.query == nil {
			if s.query, err = url.ParseQuery(s.r.URL.RawQuery); err != nil {
				return "", false, fmt.Errorf("%w: query: %v", ErrMalformed, cause(err))
			}
		}
		return s.one(s.query[p.name])
	case "form":
		if err = s.parseForm(); err != nil {
			return "", false, err
		}
		return s.one(s.form[p.name])
	case "json", "top":
		return s.findJSON(p)
	case "xml":
		return s.findXML(p)
	}
	return "", false, nil
}

// one decodes the only value of a field.
func (s *source) one(values []string) (string, bool, error) {
	switch len(values) {
	case 0:
		return "", false, nil
	case 1:
		text, err := s.decoder.text(values[0])
		return text, true, err
	}
	return "", false, ErrTwice
}

// segments are the parts of the path after the channel's name, or all parts
// when the path does not hold it.
func (s *source) segments() []string {
	parts := strings.FieldsFunc(s.r.URL.Path, func(r rune) bool { return r == '/' })
	for i := 0; i+1 < len(parts); i++ {
		if (parts[i] == "in" || parts[i] == "receipt") && parts[i+1] == s.channel {
			return parts[i+2:]
		}
	}
	return parts
}

func (s *source) parseForm() (err error) {
	if s.form != nil {
		return nil
	}
	kind, params, _ := mediaType(s.r.Header.Get("Content-Type"))
	if kind == "multipart/form-data" {
		s.form, err = parseParts(s.r.Body, params["boundary"])
	} else {
		s.form, err = url.ParseQuery(string(s.r.Body))
	}
	if err != nil {
		return fmt.Errorf("%w: form: %v", ErrMalformed, cause(err))
	}
	return nil
}

// parseParts reads the fields of a multipart form; files are left out.
func parseParts(body []byte, boundary string) (url.Values, error) {
	form := url.Values{}
	reader := multipart.NewReader(bytes.NewReader(body), boundary)
	for {
		part, err := reader.NextPart()
		if err == io.EOF {
			return form, nil
		}
		if err != nil {
			return nil, err
		}
		if part.FileName() != "" {
			continue
		}
		value, err := io.ReadAll(part)
		if err != nil {
			return nil, err
		}
		form.Add(part.FormName(), string(value))
	}
}

// cause keeps what is wrong and drops what was sent, which may be personal.
func cause(err error) string {
	text := err.Error()
	if before, _, ok := strings.Cut(text, "\""); ok {
		text = strings.TrimSpace(before)
	}
	return text
}

func (s *source) parseTop() error {
	if s.hasTop {
		return nil
	}
	text, err := s.decoder.text(string(s.r.Body))
	if err != nil {
		return err
	}
	if s.top, err = parseJSON([]byte(strings.TrimPrefix(text, "\ufeff"))); err != nil {
		return fmt.Errorf("%w: JSON: %v", ErrMalformed, cause(err))
	}
	s.hasTop = true
	return nil
}

func (s *source) findJSON(p place) (string, bool, error) {
	if err := s.parseTop(); err != nil {
		return "", false, err
	}
	from := s.top
	if p.kind == "json" && s.inItem {
		from = s.item
	}
	v, ok := point(from, p.pointer)
	if !ok {
		return "", false, nil
	}
	return jsonText(v)
}

func (s *source) parseTree() (err error) {
	if s.tree != nil {
		return nil
	}
	if !s.decoder.stated && declaresCharset(s.r.Body) {
		s.tree, err = xmlquery.Parse(bytes.NewReader(s.r.Body))
	} else {
		var text string
		if text, err = s.decoder.text(string(s.r.Body)); err != nil {
			return err
		}
		s.tree, err = xmlquery.ParseWithOptions(strings.NewReader(strings.TrimPrefix(text, "\ufeff")), decoded)
	}
	if err != nil {
		return fmt.Errorf("%w: XML: %v", ErrMalformed, cause(err))
	}
	return nil
}

// decoded reads XML that is in UTF-8 by now, whatever it declares.
var decoded = xmlquery.ParserOptions{Decoder: &xmlquery.DecoderOptions{
	Strict:        true,
	CharsetReader: func(_ string, input io.Reader) (io.Reader, error) { return input, nil },
}}

// declaresCharset reports whether an XML document names its charset.
func declaresCharset(document []byte) bool {
	head, _, found := bytes.Cut(document, []byte("?>"))
	return found && bytes.HasPrefix(bytes.TrimPrefix(head, []byte("\ufeff")), []byte("<?xml")) && bytes.Contains(head, []byte("encoding"))
}

func (s *source) findXML(p place) (string, bool, error) {
	if err := s.parseTree(); err != nil {
		return "", false, err
	}
	from := s.tree
	if s.node != nil {
		from = s.node
	}
	nodes := xmlquery.QuerySelectorAll(from, p.xpath)
	switch len(nodes) {
	case 0:
		return "", false, nil
	case 1:
		return nodes[0].InnerText(), true, nil
	}
	return "", false, ErrTwice
}
