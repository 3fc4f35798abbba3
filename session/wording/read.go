package wording

import (
	"fmt"
	"slices"
	"strings"
)

// reader puts the tables of one file into a language.
type reader struct {
	file, code string
	lines      map[string]int
	into       *language
}

// fault names file, line and key; a key inside an inline table has the line of
// the table.
func (r *reader) fault(key, format string, args ...any) error {
	line := 0
	for k := key; line == 0 && k != ""; {
		line = r.lines[k]
		cut := strings.LastIndexByte(k, '.')
		k = k[:max(cut, 0)]
	}
	return fmt.Errorf("%w: %s:%d: key %q: %s", ErrCatalogue, r.file, line, key, fmt.Sprintf(format, args...))
}

func (r *reader) table(prefix string, table map[string]any) error {
	for name, value := range table {
		if strings.ContainsAny(name, " .") {
			return r.fault(prefix+name, "a key has no spaces and no full stops")
		}
		if err := r.value(prefix+name, value); err != nil {
			return err
		}
	}
	return nil
}

func (r *reader) value(key string, value any) error {
	switch v := value.(type) {
	case string:
		return r.text(key, v, nil)
	case []any:
		return r.list(key, v)
	case map[string]any:
		if marked, ok := v["text"].(string); ok && v["weak"] != nil {
			return r.marked(key, marked, v)
		}
		return r.table(key+".", v)
	}
	return r.fault(key, "want a text in quotes or a list of words, got %T", value)
}

// marked is a text with words marked weak: { text = "...", weak = ["..."] }.
func (r *reader) marked(key, marked string, table map[string]any) error {
	if len(table) != 2 {
		return r.fault(key, "want text and weak, and nothing else")
	}
	words, ok := table["weak"].([]any)
	if !ok {
		return r.fault(key, "weak is a list of words")
	}
	weak, err := r.strings(key, words)
	if err != nil {
		return err
	}
	return r.text(key, marked, weak)
}

func (r *reader) text(key, whole string, weak []string) error {
	parts, problem := cut(whole)
	if problem != "" {
		return r.fault(key, "%s", problem)
	}
	if _, isList := r.into.words[key]; isList {
		return r.fault(key, "a list of words, not a text")
	}
	r.into.texts[key] = text{whole: whole, parts: parts, weak: weak, where: place{r.file, r.lines[key]}}
	return nil
}

func (r *reader) list(key string, values []any) error {
	words, err := r.strings(key, values)
	if err != nil {
		return err
	}
	if _, isText := r.into.texts[key]; isText {
		return r.fault(key, "a text, not a list of words")
	}
	known := make(map[string]bool, len(words))
	for _, w := range words {
		known[Fold(r.code, w)] = true
	}
	r.into.words[key], r.into.known[key] = words, known
	return nil
}

func (r *reader) strings(key string, values []any) ([]string, error) {
	words := make([]string, 0, len(values))
	for _, v := range values {
		w, ok := v.(string)
		if !ok || strings.TrimSpace(w) == "" {
			return nil, r.fault(key, "want a list of words in quotes")
		}
		if slices.Contains(words, w) {
			return nil, r.fault(key, "%q stands twice", w)
		}
		words = append(words, w)
	}
	return words, nil
}

// cut splits a text at its placeholders: {name} of lower-case letters, digits
// and low lines. The problem is empty when there is none.
func cut(whole string) (parts []part, problem string) {
	rest := whole
	for {
		literal, after, found := strings.Cut(rest, "{")
		if strings.Contains(literal, "}") {
			return nil, "a closing brace without its opening one"
		}
		if !found {
			if literal != "" || len(parts) == 0 {
				parts = append(parts, part{literal: literal})
			}
			return parts, ""
		}
		name, tail, closed := strings.Cut(after, "}")
		if !closed || !placeholderName(name) {
			return nil, fmt.Sprintf("a faulty placeholder at %q", "{"+after)
		}
		parts = append(parts, part{literal, name})
		rest = tail
	}
}

func placeholderName(s string) bool {
	for _, b := range []byte(s) {
		if (b < 'a' || b > 'z') && (b < '0' || b > '9') && b != '_' {
			return false
		}
	}
	return s != ""
}
