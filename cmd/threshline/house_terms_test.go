package main

import (
	"go/ast"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"threshline/session/wording"
)

// otherTerms are words that were once said for a thing that has one name.
var otherTerms = []struct{ say, instead string }{
	{"grain", `\bkernels\b`},
	{"treated seed", `\bpainted seed\b`},
	{"scale", `\bbalance (step|pan)\b|\b(kitchen|digital|pocket|hand) balance\b|\bbalance_step\b`},
	{"weight", `\bby mass\b|\bmass of\b|\bsample mass\b`},
	{"chaff, stones; dirt for both", `\b(in)?organic (matter|material)\b|\brubbish\b`},
	{"warm", `\bheating\b|\bheated\b|\bhot (in|inside) the bag\b`},
	{"thin or green, immature", `\bunripe\b`},
	{"Export", `\btake[ -]away (the |all )?(checks|data|rows)\b|\btake-away\b`},
	{"findings", `\bworth a second look\b|\breports to look at again\b`},
	{"correct, for a slip or a record; mend, for paddy", `\bmend(s|ed|ing)? (a|the|your|this) (slip|check|reading|record|entry)\b|\b(slip|check|record|entry|entries|reading|readings) (is|are|was|were|be) mended\b|\bmend_for\b`},
	{"slip", `\breceipt (number|code)\b`},
	{"check", `\b(grading|quality) test\b`},
}

// asSign says where the painted seed may be named: as what one sees.
var asSign = map[string]bool{"seen.treated_seed": true, "look.ask": true, "look.short": true, "remedy.look_first.how": true}

// otherTermsIn are the like in the other languages, on the phone and the card.
var otherTermsIn = map[string][]struct{ say, instead string }{
	"fr": {{"contrôle, for the check", `\b(mes|vos|nouveau|votre|le m[êe]me|refaites le) tests? (du|de|est|sont|reste|pas|à)\b|\b(mes|vos|nouveau) tests?\b`}, {"semence traitée", `\bsemence peinte\b`}, {"classe", `\bFAQ\b`}},
	"sw": {{"kiwango, for the standard", `\bkipimo cha \{standard\}`}, {"daraja", `\bFAQ\b`}},
	"ha": {{"gwaji, for the check", `^[0-9] awona\b`}, {"iri mai fenti", `\biri mai magani\b`}, {"daraja", `\bFAQ\b`}},
}

// One thing has one name on the phone, at the desk, in the commands' texts, in
// README and DEVELOPERS.
func TestOneThingHasOneName(t *testing.T) {
	said := map[string]string{}
	for _, file := range []string{"README.md", "DEVELOPERS.md"} {
		text, err := os.ReadFile(filepath.Join("../..", file))
		if err != nil {
			t.Fatal(err)
		}
		said[file] = string(text)
	}
	words, err := wording.Embedded()
	if err != nil {
		t.Fatal(err)
	}
	for _, key := range words.Keys(wording.English) {
		if text := words.Text(wording.English, key); text != key && !asSign[key] {
			said["en: "+key] = text
		}
	}
	pages, err := filepath.Glob("../../gateway/desk/*/page/*.html")
	if err != nil || len(pages) < 10 {
		t.Fatalf("%d pages of the desk: %v", len(pages), err)
	}
	for _, page := range pages {
		text, err := os.ReadFile(page)
		if err != nil {
			t.Fatal(err)
		}
		said[page] = string(text)
	}
	files, fset := parseModule(t)
	for _, f := range files {
		name := fset.Position(f.tree.Pos()).Filename
		if f.test || !strings.Contains(name, "gateway/desk") && !strings.Contains(name, "cmd/") {
			continue
		}
		ast.Inspect(f.tree, func(n ast.Node) bool {
			if lit, ok := n.(*ast.BasicLit); ok && lit.Kind == token.STRING && strings.Contains(lit.Value, " ") {
				text, _ := strconv.Unquote(lit.Value)
				said[fset.Position(lit.Pos()).String()] = text
			}
			return true
		})
	}
	if len(said) < 1000 {
		t.Fatalf("%d texts, want more than a thousand", len(said))
	}
	for lang, terms := range otherTermsIn {
		for _, term := range terms {
			other := regexp.MustCompile("(?i)" + term.instead)
			for _, key := range words.Keys(lang) {
				if found := other.FindString(words.Text(lang, key)); found != "" {
					t.Errorf("%s: %s says %q: say %s", lang, key, found, term.say)
				}
			}
		}
	}
	for _, term := range otherTerms {
		other := regexp.MustCompile("(?i)" + term.instead)
		for where, text := range said {
			if found := other.FindString(text); found != "" {
				t.Errorf("%s says %q: say %s", where, found, term.say)
			}
		}
	}
}
