package carrier

import (
	"errors"
	"fmt"
	"net/http"
	"time"
)

// withSecrets adds the secrets by which the carrier knows us.
func (s *sender) withSecrets(secrets Lookup) (_ *sender, key string, err error) {
	if s.cfg.Token != "" {
		if s.token, err = secrets.get(s.cfg.Token); err != nil {
			return nil, "token", err
		}
	}
	if s.cfg.Password != "" {
		if s.password, err = secrets.get(s.cfg.Password); err != nil {
			return nil, "password", err
		}
	}
	if s.cfg.Signature == nil {
		return s, "", nil
	}
	signing, key, err := newSigning(*s.cfg.Signature, secrets)
	if err != nil {
		return nil, "signature." + key, err
	}
	s.signing = &signing
	for _, p := range []struct {
		key, text string
		into      *place
	}{
		{"at", signing.cfg.At, &s.signAt}, {"timestamp_at", signing.cfg.TimestampAt, &s.stampAt}, {"id_at", signing.cfg.IDAt, &s.idAt},
	} {
		if *p.into, err = parsePlace(p.text); err == nil && p.text != "" && p.into.kind != "header" {
			err = errors.New("want header:NAME")
		}
		if err != nil {
			return nil, "signature." + p.key, err
		}
	}
	return s, "", nil
}

// authenticate puts it into a request, last of all.
func (s *sender) authenticate(r *http.Request, body, id string, now time.Time) error {
	switch s.tokenAt.kind {
	case "header":
		r.Header.Set(s.tokenAt.name, s.cfg.TokenPrefix+s.token.value)
	case "query":
		q := r.URL.Query()
		q.Set(s.tokenAt.name, s.cfg.TokenPrefix+s.token.value)
		r.URL.RawQuery = q.Encode()
	}
	if s.cfg.User != "" {
		r.SetBasicAuth(s.cfg.User, s.password.value)
	}
	if s.signing == nil {
		return nil
	}
	data := signedData{
		Timestamp: s.signing.stamp(now), ID: id, Body: body, Method: r.Method,
		Path: r.URL.EscapedPath(), Query: r.URL.RawQuery, Header: r.Header,
	}
	if s.stampAt.set() {
		r.Header.Set(s.stampAt.name, data.Timestamp)
	}
	if s.idAt.set() {
		r.Header.Set(s.idAt.name, data.ID)
	}
	content, err := s.signing.content(data)
	if err != nil {
		return fmt.Errorf("carrier: send.signature.over: %w", err)
	}
	prefix := s.cfg.Signature.Prefix
	if s.signing.cfg.Form == formStandard {
		prefix = "v1,"
	}
	r.Header.Set(s.signAt.name, prefix+s.signing.encode(mac(s.signing.keys[0], content)))
	return nil
}

// basicAuth reads HTTP basic authentication.
func basicAuth(r *Request) (user, password string, ok bool) {
	return (&http.Request{Header: r.Header}).BasicAuth()
}
