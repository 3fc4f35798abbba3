package wording

import (
	"bytes"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strings"
	"sync"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"
)

//go:embed *.toml
var files embed.FS

// ErrCatalogue is wrapped by every fault of a catalogue file.
var ErrCatalogue = errors.New("wording: faulty catalogue")

// meta is the table [meta] of a catalogue file.
type meta struct {
	Language   string   `toml:"language"`    // the code, as in the file's name
	Name       string   `toml:"name"`        // the language's own name for itself
	ReviewedBy string   `toml:"reviewed_by"` // the speaker who signed; empty: drafted
	Decimal    string   `toml:"decimal"`     // decimal mark
	Thousands  string   `toml:"thousands"`   // thousands mark, may be empty
	Date       string   `toml:"date"`        // see Catalogue.Date
	Months     []string `toml:"months"`
	Weak       []struct {
		Word string `toml:"word"`
		Why  string `toml:"why"`
		Try  string `toml:"try"`
	} `toml:"weak"`
}

func (m *meta) decimal() string {
	if m.Decimal == "" {
		return "."
	}
	return m.Decimal
}

// Embedded is the catalogue that comes with the gateway. Errors wrap
// ErrCatalogue.
func Embedded() (*Catalogue, error) { return embedded() }

var embedded = sync.OnceValues(func() (*Catalogue, error) { return Load(&Catalogue{}, files) })

// Load lays every *.toml file at the top of fsys over base, which it leaves as
// it is. A file of a language that base lacks adds it. The name of a file is
// the language's code. Errors wrap ErrCatalogue and name file, line and key;
// keys that English lacks are not an error here: Verify lists them.
func Load(base *Catalogue, fsys fs.FS) (*Catalogue, error) {
	names, err := fs.Glob(fsys, "*.toml")
	if err != nil {
		return nil, fmt.Errorf("%w: %v", ErrCatalogue, err)
	}
	if len(names) == 0 {
		return nil, fmt.Errorf("%w: no *.toml file found", ErrCatalogue)
	}
	c := &Catalogue{languages: maps.Clone(base.languages)}
	if c.languages == nil {
		c.languages = map[string]*language{}
	}
	for _, name := range names {
		data, err := fs.ReadFile(fsys, name)
		if err != nil {
			return nil, fmt.Errorf("%w: %v", ErrCatalogue, err)
		}
		code := strings.TrimSuffix(path.Base(name), ".toml")
		l, err := readFile(name, code, data, c.languages[code])
		if err != nil {
			return nil, err
		}
		c.languages[code] = l
	}
	c.codes = slices.SortedFunc(maps.Keys(c.languages), englishFirst)
	return c, nil
}

func englishFirst(a, b string) int {
	switch {
	case a == b:
		return 0
	case a == English:
		return -1
	case b == English:
		return 1
	}
	return strings.Compare(a, b)
}

// readFile reads one file over what is known of its language already.
func readFile(name, code string, data []byte, under *language) (*language, error) {
	var tree map[string]any
	if err := toml.Unmarshal(data, &tree); err != nil {
		if bad, ok := errors.AsType[*toml.DecodeError](err); ok {
			row, _ := bad.Position()
			return nil, fmt.Errorf("%w: %s:%d: %v", ErrCatalogue, name, row, err)
		}
		return nil, fmt.Errorf("%w: %s: %v", ErrCatalogue, name, err)
	}
	var head struct {
		Meta meta `toml:"meta"`
	}
	table, hasMeta := tree["meta"]
	delete(tree, "meta")
	l := &language{texts: map[string]text{}, words: map[string][]string{}, known: map[string]map[string]bool{}}
	if under != nil {
		l = under.clone()
		head.Meta = under.meta
	}
	if hasMeta {
		if err := readMeta(table, &head.Meta); err != nil {
			return nil, fmt.Errorf("%w: %s: [meta]: %v", ErrCatalogue, name, err)
		}
	}
	if head.Meta.Language != code {
		return nil, fmt.Errorf("%w: %s: [meta] language is %q, the file's name says %q", ErrCatalogue, name, head.Meta.Language, code)
	}
	l.meta = head.Meta
	for _, w := range head.Meta.Weak {
		l.weak = append(l.weak, Weak(w))
	}
	r := &reader{file: name, code: code, lines: linesOf(data), into: l}
	return l, r.table("", tree)
}

// readMeta reads the table strictly: an unknown key is an error.
func readMeta(table any, into *meta) error {
	data, err := toml.Marshal(table)
	if err != nil {
		return err
	}
	d := toml.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	err = d.Decode(into)
	if unknown, ok := errors.AsType[*toml.StrictMissingError](err); ok && len(unknown.Errors) > 0 {
		return fmt.Errorf("unknown key %q", strings.Join(unknown.Errors[0].Key(), "."))
	}
	return err
}

func (l *language) clone() *language {
	return &language{
		texts: maps.Clone(l.texts), words: maps.Clone(l.words), known: maps.Clone(l.known),
	}
}

// linesOf finds the line of every key of a file that is valid TOML.
func linesOf(data []byte) map[string]int {
	lines := map[string]int{}
	var p unstable.Parser
	p.Reset(data)
	table := ""
	line, counted := 1, 0 // counted on as the keys come: Shape counts from the start
	for p.NextExpression() {
		e := p.Expression()
		if e.Kind != unstable.KeyValue && e.Kind != unstable.Table && e.Kind != unstable.ArrayTable {
			continue
		}
		var key []string
		for it := e.Key(); it.Next(); {
			key = append(key, string(it.Node().Data))
			if at := int(it.Node().Raw.Offset); at > counted {
				line += bytes.Count(data[counted:at], []byte("\n"))
				counted = at
			}
		}
		joined := strings.Join(key, ".")
		if e.Kind != unstable.KeyValue {
			table = joined
		} else if table != "" {
			joined = table + "." + joined
		}
		lines[joined] = line
	}
	return lines
}
