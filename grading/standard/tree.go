package standard

import (
	"errors"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"
)

// kind is what a node of the file is.
type kind uint8

const (
	tableNode kind = iota
	arrayNode
	textNode
	numberNode
	boolNode
	dateNode
)

var kindNames = [...]string{"a table", "a list", "a text", "a number", "true or false", "a date"}

// node is a value of the file with the line it stands on. Numbers keep their
// digits as written, so that a limit is never a binary fraction.
type node struct {
	kind    kind
	line    int
	text    string // of a text, number, bool or date
	items   []*node
	members []member
}

type member struct {
	key string
	*node
}

func (n *node) get(key string) *node {
	for _, m := range n.members {
		if m.key == key {
			return m.node
		}
	}
	return nil
}

func (n *node) put(key string, v *node) *node {
	n.members = append(n.members, member{key, v})
	return v
}

// parse reads a TOML document into a tree. The library's decoder runs first:
// it refuses what is not TOML and any key or table that comes twice.
func parse(file string, data []byte) (*node, error) {
	var anything map[string]any
	if err := toml.Unmarshal(data, &anything); err != nil {
		return nil, Faults{syntaxFault(file, err)}
	}
	b := builder{root: &node{kind: tableNode, line: 1}}
	b.at = b.root
	b.parser.Reset(data)
	for b.parser.NextExpression() {
		b.expression(b.parser.Expression())
	}
	if err := b.parser.Error(); err != nil {
		return nil, Faults{{File: file, Line: 1, Want: "TOML (" + err.Error() + ")"}}
	}
	return b.root, nil
}

func syntaxFault(file string, err error) Fault {
	f := Fault{File: file, Line: 1, Want: "TOML (" + strings.TrimPrefix(err.Error(), "toml: ") + ")"}
	if at, ok := errors.AsType[*toml.DecodeError](err); ok {
		f.Line, _ = at.Position()
		f.Key = strings.Join(at.Key(), ".")
	}
	return f
}

// builder grows the tree from the parser's expressions.
type builder struct {
	parser unstable.Parser
	root   *node
	at     *node // the table that key = value lines belong to
}

func (b *builder) expression(e *unstable.Node) {
	switch e.Kind {
	case unstable.Table, unstable.ArrayTable:
		keys, line := b.keys(e.Key())
		parent := b.descend(b.root, keys[:len(keys)-1], line)
		last := keys[len(keys)-1]
		if e.Kind == unstable.Table {
			b.at = b.descend(parent, []string{last}, line)
			return
		}
		list := parent.get(last)
		if list == nil {
			list = parent.put(last, &node{kind: arrayNode, line: line})
		}
		b.at = &node{kind: tableNode, line: line}
		list.items = append(list.items, b.at)
	case unstable.KeyValue:
		b.keyValue(b.at, e)
	}
}

func (b *builder) keyValue(to *node, e *unstable.Node) {
	keys, line := b.keys(e.Key())
	to = b.descend(to, keys[:len(keys)-1], line)
	to.put(keys[len(keys)-1], b.value(e.Value(), line))
}

// descend follows or makes the tables of a dotted key. In a list of tables it enters
// the last one, as TOML does.
func (b *builder) descend(from *node, keys []string, line int) *node {
	for _, k := range keys {
		next := from.get(k)
		if next == nil {
			next = from.put(k, &node{kind: tableNode, line: line})
		}
		if next.kind == arrayNode && len(next.items) > 0 {
			next = next.items[len(next.items)-1]
		}
		from = next
	}
	return from
}

func (b *builder) keys(it unstable.Iterator) (keys []string, line int) {
	for it.Next() {
		if line == 0 {
			line = b.parser.Shape(it.Node().Raw).Start.Line
		}
		keys = append(keys, string(it.Node().Data))
	}
	return keys, line
}

func (b *builder) value(v *unstable.Node, line int) *node {
	n := &node{line: line, text: string(v.Data)}
	if v.Raw.Length > 0 {
		n.line = b.parser.Shape(v.Raw).Start.Line
	}
	switch v.Kind {
	case unstable.Array:
		n.kind = arrayNode
		for it := v.Children(); it.Next(); {
			n.items = append(n.items, b.value(it.Node(), n.line))
		}
	case unstable.InlineTable:
		n.kind = tableNode
		for it := v.Children(); it.Next(); {
			b.keyValue(n, it.Node())
		}
	case unstable.String:
		n.kind = textNode
	case unstable.Bool:
		n.kind = boolNode
	case unstable.Integer, unstable.Float:
		n.kind = numberNode
	default:
		n.kind = dateNode
	}
	return n
}
