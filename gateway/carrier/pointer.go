package carrier

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
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

// parseJSON reads one document strictly: a key that stands twice is an error,
// since two readers could take different ones for it. Numbers keep their digits.
func parseJSON(body []byte) (any, error) {
	d := json.NewDecoder(bytes.NewReader(body))
	d.UseNumber()
	v, err := jsonValue(d, 0)
	if err != nil {
		return nil, err
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, errors.New("more after the end of the document")
	}
	return v, nil
}

func jsonValue(d *json.Decoder, depth int) (any, error) {
	token, err := d.Token()
	if err != nil {
		return nil, err
	}
	if depth > maxDepth {
		return nil, errDeep
	}
	switch token {
	case json.Delim('{'):
		return jsonObject(d, depth)
	case json.Delim('['):
		list := []any{}
		for d.More() {
			v, err := jsonValue(d, depth+1)
			if err != nil {
				return nil, err
			}
			list = append(list, v)
		}
		_, err := d.Token()
		return list, err
	}
	return token, nil
}

func jsonObject(d *json.Decoder, depth int) (any, error) {
	object := map[string]any{}
	for d.More() {
		token, err := d.Token()
		if err != nil {
			return nil, err
		}
		key, ok := token.(string)
		if !ok {
			return nil, errors.New("a key that is no text")
		}
		if _, twice := object[key]; twice {
			return nil, errors.New("a key stands twice")
		}
		if object[key], err = jsonValue(d, depth+1); err != nil {
			return nil, err
		}
	}
	_, err := d.Token()
	return object, err
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
