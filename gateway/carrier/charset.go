package carrier

import (
	"encoding/hex"
	"fmt"
	"mime"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

// Charsets are the names that read.charset takes.
const Charsets = "utf-8, us-ascii, iso-8859-1, iso-8859-15, windows-1252, utf-16be or utf-16le"

// charsetOf finds a charset by name; nil is UTF-8.
func charsetOf(name string) (encoding.Encoding, error) {
	switch strings.ToLower(name) {
	case "utf-8", "utf8", "us-ascii", "ascii":
		return nil, nil
	case "iso-8859-1", "latin1":
		return charmap.ISO8859_1, nil
	case "iso-8859-15":
		return charmap.ISO8859_15, nil
	case "windows-1252":
		return charmap.Windows1252, nil
	case "utf-16", "utf-16be":
		return unicode.UTF16(unicode.BigEndian, unicode.UseBOM), nil
	case "utf-16le":
		return unicode.UTF16(unicode.LittleEndian, unicode.UseBOM), nil
	}
	return nil, fmt.Errorf("%w %q is not known", ErrCharset, name)
}

// charsetOfType finds the charset that a configured content type says.
func charsetOfType(contentType string) (encoding.Encoding, error) {
	if contentType == "" {
		return nil, nil
	}
	_, params, err := mime.ParseMediaType(contentType)
	if err != nil || params["charset"] == "" {
		return nil, err
	}
	return charsetOf(params["charset"])
}

// formType is the type of most carriers' requests.
const formType = "application/x-www-form-urlencoded"

// mediaType is mime.ParseMediaType, at once for the plainest type.
func mediaType(value string) (kind string, params map[string]string, err error) {
	if value == formType {
		return formType, nil, nil
	}
	return mime.ParseMediaType(value)
}

// decoder turns a carrier's bytes into text.
type decoder struct {
	from   encoding.Encoding // nil is UTF-8
	stated bool              // somebody said so: no guessing
}

// decoderFor takes the configured charset, else the Content-Type's. What is
// said to be ISO-8859-1 is read as windows-1252, which has letters where the
// other has controls that nobody sends: common practice, no source.
func decoderFor(configured, contentType string) (decoder, error) {
	name := configured
	if name == "" {
		if _, params, err := mediaType(contentType); err == nil {
			name = params["charset"]
		}
	}
	if name == "" {
		return decoder{}, nil
	}
	from, err := charsetOf(name)
	if from == charmap.ISO8859_1 {
		from = charmap.Windows1252
	}
	return decoder{from, true}, err
}

// text decodes. If nobody said what the charset is and it is not UTF-8, it is taken as
// windows-1252: common practice, no source.
func (d decoder) text(raw string) (string, error) {
	from := d.from
	if from == nil {
		if utf8.ValidString(raw) {
			return raw, nil
		}
		if d.stated {
			return "", fmt.Errorf("%w: the text is not UTF-8", ErrCharset)
		}
		from = charmap.Windows1252
	}
	return from.NewDecoder().String(raw)
}

// fromHex decodes UCS-2 written in hex digits, surrogate pairs included.
func fromHex(digits string) (string, error) {
	octets, err := hex.DecodeString(digits)
	if err != nil || len(octets)%2 != 0 {
		return "", fmt.Errorf("%w: want UCS-2 in hex, four digits a letter", ErrCharset)
	}
	return unicode.UTF16(unicode.BigEndian, unicode.UseBOM).NewDecoder().String(string(octets))
}

// toHex encodes as UCS-2 in hex digits.
func toHex(text string) (string, error) {
	octets, err := unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM).NewEncoder().String(text)
	return strings.ToUpper(hex.EncodeToString([]byte(octets))), err
}

// encode turns text into the bytes of a content type's charset; letters that
// it lacks become question marks.
func encode(text string, to encoding.Encoding) ([]byte, error) {
	if to == nil {
		return []byte(text), nil
	}
	var out strings.Builder
	encoder := encoding.ReplaceUnsupported(to.NewEncoder())
	s, err := encoder.String(text)
	if err != nil {
		return nil, err
	}
	// x/text marks what it cannot encode by the substitute character.
	for _, b := range []byte(s) {
		if b == 0x1a {
			b = '?'
		}
		out.WriteByte(b)
	}
	return []byte(out.String()), nil
}
