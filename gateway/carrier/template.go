package carrier

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"fmt"
	"net/url"
	"reflect"
	"strings"
	"text/template"
)

// funcs are what a template may call besides the built-in ones.
var funcs = template.FuncMap{
	"json":  jsonQuote,
	"query": url.QueryEscape,
	"xml":   xmlEscape,
	"hex":   toHex,
	"bare":  func(number string) string { return strings.TrimPrefix(number, "+") },
}

// jsonQuote makes any value JSON, without the escapes that are for pages only.
func jsonQuote(v any) (string, error) {
	var out bytes.Buffer
	e := json.NewEncoder(&out)
	e.SetEscapeHTML(false)
	err := e.Encode(v)
	return strings.TrimSuffix(out.String(), "\n"), err
}

func xmlEscape(v any) (string, error) {
	var out bytes.Buffer
	err := xml.EscapeText(&out, []byte(fmt.Sprint(v)))
	return out.String(), err
}

// compile parses a template and tries it on a sample, so that a wrong field
// name is found before the first message.
func compile(key, text string, sample any) (*template.Template, error) {
	t, err := template.New(key).Funcs(funcs).Option("missingkey=error").Parse(text)
	if err != nil {
		return nil, err
	}
	if _, err := render(t, sample); err != nil {
		return nil, fmt.Errorf("%v; the fields are %s", err, fieldsOf(sample))
	}
	return t, nil
}

// fieldsOf lists what a template may name.
func fieldsOf(sample any) string {
	var names []string
	for _, f := range reflect.VisibleFields(reflect.TypeOf(sample)) {
		names = append(names, "."+f.Name)
	}
	return strings.Join(names, " ")
}

func compileAll(key string, texts map[string]string, sample any) (map[string]*template.Template, error) {
	all := make(map[string]*template.Template, len(texts))
	for name, text := range texts {
		if !headerName(name) {
			return nil, fmt.Errorf("%q is not the name of a header", name)
		}
		t, err := compile(key+"."+name, text, sample)
		if err != nil {
			return nil, err
		}
		all[name] = t
	}
	return all, nil
}

func render(t *template.Template, data any) (string, error) {
	var out strings.Builder
	err := t.Execute(&out, data)
	return out.String(), err
}

// oneLine keeps a header's value from ending the header.
var oneLine = strings.NewReplacer("\r\n", " ", "\r", " ", "\n", " ", "\x00", "")
