package carrier

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json/jsontext"
)

// parsePointer reads a JSON pointer. Source: [RFC-6901 §3], [RFC-6901 §4].
func parsePointer(s string) ([]string, error) {
	if s == "" {
		return []string{}, nil
	}
	if s[0] != '/' {
		return nil, fmt.Errorf("JSON pointer %q: want it empty or beginning with /", s)
	}
	tokens := strings.Split(s[1:], "/")
	for i, token := range tokens {
		for j := 0; j < len(token); j++ {
			if token[j] == '~' && (j+1 == len(token) || token[j+1] != '0' && token[j+1] != '1') {
				return nil, fmt.Errorf("JSON pointer %q: after ~ want 0 or 1", s)
			}
		}
		// In this order, so that ~01 becomes ~1.
		tokens[i] = strings.ReplaceAll(strings.ReplaceAll(token, "~1", "/"), "~0", "~")
	}
	return tokens, nil
}

// point follows a pointer; not found is not an error.
func point(v any, pointer []string) (any, bool) {
	for _, token := range pointer {
		switch node := v.(type) {
		case map[string]any:
			next, ok := node[token]
			if !ok {
				return nil, false
			}
			v = next
		case []any:
			i, err := strconv.Atoi(token)
			// Only plain digits without leading zeros are an index.
			if err != nil || i < 0 || i >= len(node) || strconv.Itoa(i) != token {
				return nil, false
			}
			v = node[i]
		default:
			return nil, false
		}
	}
	return v, true
}

// maxDepth bounds the nesting of a JSON body. Our own choice.
const maxDepth = 32

var errDeep = errors.New("nested too deeply")

// parseJSON reads one document strictly: a key that comes twice is an error, since two
// readers could take different ones. Numbers keep their digits.
func parseJSON(body []byte) (any, error) {
	d := jsontext.NewDecoder(bytes.NewBuffer(body), jsontext.AllowInvalidUTF8(true))
	v, err := jsonValue(d)
	switch {
	case errors.Is(err, jsontext.ErrDuplicateName):
		return nil, errors.New("a key stands twice")
	case err != nil:
		return nil, err
	}
	if _, err := d.ReadToken(); err != io.EOF {
		return nil, errors.New("more after the end of the document")
	}
	return v, nil
}

func jsonValue(d *jsontext.Decoder) (any, error) {
	token, err := d.ReadToken()
	if err != nil {
		return nil, err
	}
	if d.StackDepth() > maxDepth {
		return nil, errDeep
	}
	switch token.Kind() {
	case '{':
		object := map[string]any{}
		for d.PeekKind() != '}' {
			name, err := d.ReadToken()
			if err != nil {
				return nil, err
			}
			key := name.String()
			if object[key], err = jsonValue(d); err != nil {
				return nil, err
			}
		}
		_, err := d.ReadToken()
		return object, err
	case '[':
		list := []any{}
		for d.PeekKind() != ']' {
			v, err := jsonValue(d)
			if err != nil {
				return nil, err
			}
			list = append(list, v)
		}
		_, err := d.ReadToken()
		return list, err
	case '0':
		return json.Number(token.String()), nil
	case '"':
		return token.String(), nil
	case 't', 'f':
		return token.Bool(), nil
	}
	return nil, nil
}

// jsonText gives a text, number or truth value as text. null is not found.
func jsonText(v any) (text string, found bool, err error) {
	switch v := v.(type) {
	case nil:
		return "", false, nil
	case string:
		return v, true, nil
	case json.Number:
		return v.String(), true, nil
	case bool:
		return strconv.FormatBool(v), true, nil
	}
	return "", false, ErrNotText
}
