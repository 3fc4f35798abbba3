package carrier

import (
	"cmp"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"text/template"
	"time"
)

// formStandard is Standard Webhooks 1.0.0. Source: [STANDARD-WEBHOOKS].
const formStandard = "standard-webhooks"

// defaultTolerance is how far a signature's time may be off, either way: what
// the reference libraries take. Source: [STANDARD-WEBHOOKS].
const defaultTolerance = Duration(5 * time.Minute)

// signedData is what the template of a signature's content sees.
type signedData struct {
	Timestamp string
	ID        string
	Body      string
	Method    string
	Path      string
	Query     string
	Header    http.Header
}

// signing is what making and checking a signature share.
type signing struct {
	cfg  SignatureConfig
	keys [][]byte
	over *template.Template
}

func newSigning(cfg SignatureConfig, secrets Lookup) (s signing, key string, err error) {
	switch cfg.Form {
	case formStandard:
		if cfg.At != "" || cfg.Over != "" || cfg.Prefix != "" || cfg.Encoding != "" || cfg.TimestampAt != "" || cfg.TimestampUnit != "" || cfg.IDAt != "" || cfg.Undated {
			return s, "form", errors.New("standard-webhooks settles all but secret, tolerance and identical: leave the others out")
		}
		cfg.At, cfg.TimestampAt, cfg.IDAt = "header:Webhook-Signature", "header:Webhook-Timestamp", "header:Webhook-Id"
		cfg.Over, cfg.Encoding = "{{.ID}}.{{.Timestamp}}.{{.Body}}", "base64"
	case "", "own":
		cfg.Form = "own"
	default:
		return s, "form", fmt.Errorf("%q is not known: want \"own\" or \"standard-webhooks\"", cfg.Form)
	}
	cfg.Over = cmp.Or(cfg.Over, "{{.Timestamp}}.{{.Body}}")
	cfg.Tolerance = cmp.Or(cfg.Tolerance, defaultTolerance)
	s.cfg = cfg
	if s.over, err = compile("over", cfg.Over, signedData{Header: http.Header{}}); err != nil {
		return s, "over", err
	}
	if cfg.Encoding != "" && cfg.Encoding != "hex" && cfg.Encoding != "base64" {
		return s, "encoding", fmt.Errorf("%q is not known: want \"hex\" or \"base64\"", cfg.Encoding)
	}
	if cfg.TimestampUnit != "" && cfg.TimestampUnit != "s" && cfg.TimestampUnit != "ms" {
		return s, "timestamp_unit", fmt.Errorf("%q is not known: want \"s\" or \"ms\"", cfg.TimestampUnit)
	}
	if cfg.At == "" {
		return s, "at", errors.New("is missing: where does the signature stand, such as \"header:X-Signature\"?")
	}
	if len(cfg.Secret) == 0 {
		return s, "secret", errors.New("is missing: want such as [\"env:NAME\"]")
	}
	for _, reference := range cfg.Secret {
		k, err := signingKey(reference, secrets, cfg.Form == formStandard)
		if err != nil {
			return s, "secret", err
		}
		s.keys = append(s.keys, k)
	}
	return s, "", nil
}

// signingKey is a key's bytes: base64 after its prefix, else as written.
func signingKey(reference string, secrets Lookup, standard bool) ([]byte, error) {
	secret, err := secrets.get(reference)
	if err != nil {
		return nil, err
	}
	encoded, isBase64 := strings.CutPrefix(secret.value, "whsec_")
	if !isBase64 {
		encoded, isBase64 = strings.CutPrefix(secret.value, "base64:")
	}
	if !isBase64 && !standard {
		return []byte(secret.value), nil
	}
	key, err := base64.StdEncoding.DecodeString(encoded)
	if err != nil || len(key) < minSecret {
		return nil, fmt.Errorf("the secret is not base64 of at least %d bytes", minSecret)
	}
	return key, nil
}

// content is what is signed.
func (s signing) content(d signedData) (string, error) { return render(s.over, d) }

// mac is the HMAC-SHA256 of what is signed.
func mac(key []byte, content string) []byte {
	h := hmac.New(sha256.New, key)
	h.Write([]byte(content))
	return h.Sum(nil)
}

func (s signing) encode(sum []byte) string {
	if s.cfg.Encoding == "base64" {
		return base64.StdEncoding.EncodeToString(sum)
	}
	return hex.EncodeToString(sum)
}

// decode reads the signatures that a request gives: one, or in Standard
// Webhooks a list with versions, of which only v1 counts.
func (s signing) decode(text string) (sums [][]byte) {
	list := []string{text}
	prefix := s.cfg.Prefix
	if s.cfg.Form == formStandard {
		list, prefix = strings.Fields(text), "v1,"
	}
	for _, one := range list {
		encoded, ok := strings.CutPrefix(one, prefix)
		if !ok {
			continue
		}
		var sum []byte
		var err error
		if s.cfg.Encoding == "base64" {
			sum, err = base64.StdEncoding.DecodeString(encoded)
		} else {
			sum, err = hex.DecodeString(encoded)
		}
		if err == nil && len(sum) == sha256.Size {
			sums = append(sums, sum)
		}
	}
	return sums
}

// stamp writes a time in the configured unit, and readStamp reads one.
func (s signing) stamp(at time.Time) string {
	if s.cfg.TimestampUnit == "ms" {
		return strconv.FormatInt(at.UnixMilli(), 10)
	}
	return strconv.FormatInt(at.Unix(), 10)
}

func (s signing) readStamp(text string) (time.Time, error) {
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return time.Time{}, errors.New("is no whole number")
	}
	if s.cfg.TimestampUnit == "ms" {
		return time.UnixMilli(n), nil
	}
	return time.Unix(n, 0), nil
}

// covers reports whether what is signed changes with a part of the request.
func (s signing) covers(change func(*signedData)) bool {
	plain := signedData{
		Timestamp: "1", ID: "1", Body: "1", Method: "GET", Path: "/1", Query: url.Values{"1": {"1"}}.Encode(),
		Header: http.Header{},
	}
	changed := plain
	changed.Header = http.Header{}
	change(&changed)
	a, err1 := s.content(plain)
	b, err2 := s.content(changed)
	return err1 == nil && err2 == nil && a != b
}
