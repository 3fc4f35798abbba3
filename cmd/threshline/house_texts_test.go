package main

import (
	"go/ast"
	"go/token"
	"strconv"
	"strings"
	"testing"

	"threshline/session/wording"
)

// A text that nothing says costs four translators their time. Keys stand whole
// in the source, or are made of a beginning that ends in a dot or underscore
// and an identifier.
func TestEveryTextHasAUser(t *testing.T) {
	files, _ := parseModule(t)
	whole, begins := map[string]bool{}, map[string]bool{}
	for _, f := range files {
		if f.test {
			continue
		}
		ast.Inspect(f.tree, func(n ast.Node) bool {
			if lit, ok := n.(*ast.BasicLit); ok && lit.Kind == token.STRING {
				s, _ := strconv.Unquote(lit.Value)
				whole[s] = true
				if strings.HasSuffix(s, "_") || strings.HasSuffix(s, ".") {
					begins[s] = true
				}
			}
			return true
		})
	}
	words, err := wording.Embedded()
	if err != nil {
		t.Fatal(err)
	}
	keys := words.Keys(wording.English)
	if len(keys) == 0 {
		t.Fatal("found no text to look for")
	}
	for _, key := range keys {
		used := whole[key]
		for i, r := range key {
			used = used || (r == '.' || r == '_') && begins[key[:i+1]]
		}
		if !used {
			t.Errorf("nothing says %q", key)
		}
	}
}
