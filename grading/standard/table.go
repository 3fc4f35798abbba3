package standard

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"threshline/grading"
)

// snake is the form of parameter, class, gate and flag names.
var snake = regexp.MustCompile(`^[a-z][a-z0-9]*(_[a-z0-9]+)*$`)

// file collects the faults of one file, and the line of every key read, so
// that a fault found later can still say where.
type file struct {
	name   string
	faults Faults
	lines  map[string]int
}

func (f *file) fault(line int, key, got, want string) *Fault {
	f.faults = append(f.faults, Fault{File: f.name, Line: line, Key: key, Got: got, Want: want})
	return &f.faults[len(f.faults)-1]
}

// at is the line of a key, or of the nearest key above it.
func (f *file) at(key string) int {
	for {
		if line, ok := f.lines[key]; ok {
			return line
		}
		i := strings.LastIndexByte(key, '.')
		if i < 0 {
			return 1
		}
		key = key[:i]
	}
}

// table reads one table of the file and remembers which keys were asked for.
type table struct {
	file  *file
	path  string
	node  *node
	asked []string
}

func (f *file) table(path string, n *node) *table {
	f.lines[path] = n.line
	return &table{file: f, path: path, node: n}
}

func (t *table) key(key string) string {
	if t.path == "" {
		return key
	}
	return t.path + "." + key
}

// get finds a value of the kind; nil, with a fault when it is of another.
func (t *table) get(key string, k kind) *node {
	t.asked = append(t.asked, key)
	n := t.node.get(key)
	if n == nil {
		return nil
	}
	t.file.lines[t.key(key)] = n.line
	if n.kind != k {
		t.wrong(n, key, kindNames[k])
		return nil
	}
	return n
}

func (t *table) wrong(n *node, key, want string) *Fault {
	return t.file.fault(n.line, t.key(key), n.show(), want)
}

// show is how a fault quotes what it found.
func (n *node) show() string {
	switch n.kind {
	case tableNode, arrayNode:
		return kindNames[n.kind]
	case textNode:
		return strconv.Quote(n.text)
	}
	return n.text
}

func (t *table) missing(key, want string) {
	t.file.fault(t.node.line, t.key(key), "nothing", want)
}

func (t *table) has(key string) bool { return t.node.get(key) != nil }

func (t *table) text(key string) string {
	if n := t.get(key, textNode); n != nil {
		return n.text
	}
	return ""
}

// needText is a text that has to be there.
func (t *table) needText(key, want string) string {
	s := t.text(key)
	n := t.node.get(key)
	if n == nil {
		t.missing(key, want)
	} else if n.kind == textNode && strings.TrimSpace(s) == "" {
		t.wrong(n, key, want)
	}
	return s
}

// choice is a text out of a list; "" when absent.
func (t *table) choice(key string, words []string) string {
	n := t.get(key, textNode)
	if n == nil {
		return ""
	}
	if !slices.Contains(words, n.text) {
		t.wrong(n, key, oneOf(words)).Hint = nearest(n.text, words)
		return ""
	}
	return n.text
}

func (t *table) flag(key string) bool {
	n := t.get(key, boolNode)
	return n != nil && n.text == "true"
}

func (t *table) whole(key string, low, high int) (int, bool) {
	n := t.get(key, numberNode)
	if n == nil {
		return 0, false
	}
	v, err := strconv.Atoi(n.text)
	if err != nil || v < low || v > high {
		t.wrong(n, key, fmt.Sprintf("a whole number from %d to %d", low, high))
		return 0, false
	}
	return v, true
}

func (t *table) decimal(key string) *grading.Decimal {
	if n := t.get(key, numberNode); n != nil {
		return t.toDecimal(n, key)
	}
	return nil
}

// needDecimal is a number that has to be there and cannot be 0.
func (t *table) needDecimal(key, want string) grading.Decimal {
	d := t.decimal(key)
	switch {
	case !t.has(key):
		t.missing(key, want)
	case d != nil && *d == 0:
		t.wrong(t.node.get(key), key, want)
	}
	if d == nil {
		return 0
	}
	return *d
}

func (t *table) toDecimal(n *node, key string) *grading.Decimal {
	if n.kind == numberNode {
		if d, err := grading.ParseDecimal(n.text); err == nil {
			return &d
		}
	}
	t.wrong(n, key, "a plain number with at most four decimals")
	return nil
}

func (t *table) decimals(key string) (out []grading.Decimal) {
	n := t.get(key, arrayNode)
	if n == nil {
		return nil
	}
	for _, item := range n.items {
		if d := t.toDecimal(item, key); d != nil {
			out = append(out, *d)
		}
	}
	return out
}

func (t *table) texts(key string) (out []string) {
	n := t.get(key, arrayNode)
	if n == nil {
		return nil
	}
	for _, item := range n.items {
		if item.kind != textNode || item.text == "" {
			t.wrong(item, key, "a list of texts")
			continue
		}
		if slices.Contains(out, item.text) {
			t.wrong(item, key, "every text only once")
			continue
		}
		out = append(out, item.text)
	}
	return out
}

// names is a list of texts in snake case.
func (t *table) names(key string) []string {
	out := t.texts(key)
	for _, s := range out {
		if !snake.MatchString(s) {
			t.file.fault(t.file.at(t.key(key)), t.key(key), strconv.Quote(s), "names in lower case such as \"long_a\"")
		}
	}
	return out
}

// sub is a table inside this one; nil when absent.
func (t *table) sub(key string) *table {
	if n := t.get(key, tableNode); n != nil {
		return t.file.table(t.key(key), n)
	}
	return nil
}

// list is the tables of a list. They are named by name, or by their number.
func (t *table) list(key, name string) (out []*table) {
	n := t.get(key, arrayNode)
	if n == nil {
		return nil
	}
	for i, item := range n.items {
		if item.kind != tableNode {
			t.wrong(item, key, "a list of tables")
			continue
		}
		path := t.key(key) + "." + strconv.Itoa(i+1)
		if id := item.get(name); id != nil && id.kind == textNode && id.text != "" {
			path = t.key(key) + "." + id.text
		}
		out = append(out, t.file.table(path, item))
	}
	return out
}

// done reports the keys that nobody asked for.
func (t *table) done() {
	for _, m := range t.node.members {
		if slices.Contains(t.asked, m.key) {
			continue
		}
		slices.Sort(t.asked)
		f := t.file.fault(m.line, t.key(m.key), "a key that is not known here", oneOf(slices.Compact(t.asked)))
		if f.Hint = nearest(m.key, t.asked); f.Hint != "" {
			f.Want = "another"
		}
	}
}
