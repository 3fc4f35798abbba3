package wording

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Kind says what is wrong with a text, or to be looked at.
type Kind string

// The kinds of finding. WeakWord and Unsigned are work for a translator,
// the rest are faults.
const (
	Missing     Kind = "missing"     // English has the key, this language does not
	Unknown     Kind = "unknown"     // English does not have the key
	Placeholder Kind = "placeholder" // not the placeholders of English
	Letter      Kind = "letter"      // not in the GSM 7-bit alphabet
	TooLong     Kind = "too long"    // with its longest values
	WeakWord    Kind = "weak"        // a word that a speaker has to check
	Unsigned    Kind = "unsigned"    // nobody has reviewed the catalogue
)

// Finding is one thing that Verify saw.
type Finding struct {
	Language, Key string
	File          string // may be empty
	Line          int    // 0 unknown
	Kind          Kind
	Detail        string
}

// Fault reports whether the finding must be corrected before the text is used;
// otherwise it belongs on the translator's list.
func (f Finding) Fault() bool { return f.Kind != WeakWord && f.Kind != Unsigned }

// String is "sw.toml:12: remedy.dry: too long: ...".
func (f Finding) String() string {
	where := f.Language
	if f.File != "" {
		where = fmt.Sprintf("%s:%d", f.File, f.Line)
	}
	if f.Key != "" {
		where += ": " + f.Key
	}
	return where + ": " + string(f.Kind) + ": " + f.Detail
}

// Limits is how long a text may be. The zero value uses DefaultLimits.
type Limits struct {
	// Septets is the most that a text may count with its longest values; 0
	// uses 160, one segment in the GSM 7-bit alphabet [TS-23.038].
	Septets int
	// ByPrefix overrides Septets for keys that begin so; the longest prefix wins.
	ByPrefix map[string]int
	// Longest gives the longest value of a placeholder by its name; one that is
	// not named counts as eight letters.
	Longest map[string]string
}

const (
	oneSegment  = 160
	unnamedText = "00000000"
)

// DefaultLimits are those of a screen of 160 septets. How to do a step or a
// remedy may go on to a second screen, the pattern of a whole check to a third.
func DefaultLimits() Limits {
	return Limits{
		Septets:  oneSegment,
		ByPrefix: map[string]int{"help.": 2 * oneSegment, "remedy.": 2 * oneSegment, "help.sms": 3 * oneSegment},
		Longest: map[string]string{
			"like": "13.8 14.1 13.9", "slip": "K7M2QX9", "value": "100.00%", "limit": "100.00%", "target": "14.0",
			"count": "100", "bags": "5000", "kg": "500,000", "number": "99", "grade": "III", "of": "10", "phone": "+000000000000",
			"pattern": strings.Repeat("0", 130), "legend": strings.Repeat("0", 170), "readings": strings.Repeat("0", 90),
		},
	}
}

func (l *Limits) of(key string) int {
	best, limit := -1, cmp.Or(l.Septets, oneSegment)
	for prefix, n := range l.ByPrefix {
		if strings.HasPrefix(key, prefix) && len(prefix) > best {
			best, limit = len(prefix), n
		}
	}
	return limit
}

func (l *Limits) fill(t text) string {
	var out strings.Builder
	for _, p := range t.parts {
		out.WriteString(p.literal)
		if p.placeholder != "" {
			out.WriteString(cmp.Or(l.Longest[p.placeholder], unnamedText))
		}
	}
	return out.String()
}

// Verify looks at every text of every language: what English has and it
// lacks, what it has too much, wrong placeholders, letters that a basic phone
// cannot show, texts that are too long, and the translator's list.
func Verify(c *Catalogue, limits Limits) []Finding {
	var found []Finding
	if limits.Septets == 0 && limits.ByPrefix == nil && limits.Longest == nil {
		limits = DefaultLimits()
	}
	english := c.languages[English]
	if english == nil {
		return []Finding{{Language: English, Kind: Missing, Detail: "there is no English catalogue"}}
	}
	for _, code := range c.codes {
		l := c.languages[code]
		found = append(found, l.against(code, english, c)...)
		found = append(found, l.look(code, &limits)...)
		found = append(found, l.weakWords(code)...)
		if l.meta.ReviewedBy == "" {
			found = append(found, Finding{Language: code, Kind: Unsigned, Detail: Drafted})
		}
	}
	return found
}

// against compares a language with English.
func (l *language) against(code string, english *language, c *Catalogue) (found []Finding) {
	for _, key := range c.Keys(English) {
		if !c.Has(code, key) {
			found = append(found, Finding{Language: code, Key: key, Kind: Missing, Detail: "English has it"})
		}
	}
	for _, key := range c.Keys(code) {
		t, isText := l.texts[key]
		_, englishText := english.texts[key]
		_, englishList := english.words[key]
		f := Finding{Language: code, Key: key, File: t.where.file, Line: t.where.line}
		switch {
		case isText && !englishText || !isText && !englishList:
			f.Kind, f.Detail = Unknown, "English does not have it"
		case isText && !slices.Equal(c.Placeholders(code, key), c.Placeholders(English, key)):
			f.Kind = Placeholder
			f.Detail = fmt.Sprintf("has %q, English has %q", c.Placeholders(code, key), c.Placeholders(English, key))
		default:
			continue
		}
		found = append(found, f)
	}
	return found
}

// look examines a language's texts by themselves.
func (l *language) look(code string, limits *Limits) (found []Finding) {
	for _, key := range sortedKeys(l.texts) {
		t := l.texts[key]
		f := Finding{Language: code, Key: key, File: t.where.file, Line: t.where.line}
		filled := limits.fill(t)
		if bad := strangers(filled); bad != "" {
			f.Kind, f.Detail = Letter, fmt.Sprintf("%q is not in the GSM 7-bit alphabet", bad)
			found = append(found, f)
		}
		if n, most := septets(filled), limits.of(key); n > most {
			f.Kind, f.Detail = TooLong, fmt.Sprintf("%d septets with its longest values, at most %d", n, most)
			found = append(found, f)
		}
	}
	return found
}

// weakWords is the translator's list: each weak word once, with where it stands.
func (l *language) weakWords(code string) (found []Finding) {
	folded := map[string]string{}
	for _, key := range sortedKeys(l.texts) {
		t := l.texts[key]
		folded[key] = " " + words(Fold(code, t.whole)) + " "
		for _, w := range t.weak {
			found = append(found, Finding{Language: code, Key: key, File: t.where.file, Line: t.where.line,
				Kind: WeakWord, Detail: fmt.Sprintf("%q in %q", w, t.whole)})
		}
	}
	for _, w := range l.weak {
		needle := " " + words(Fold(code, w.Word)) + " "
		var keys []string
		for _, key := range sortedKeys(l.texts) {
			if strings.Contains(folded[key], needle) {
				keys = append(keys, key)
			}
		}
		if len(keys) == 0 {
			continue
		}
		detail := fmt.Sprintf("%q: %s", w.Word, w.Why)
		if w.Try != "" {
			detail += "; or " + w.Try
		}
		found = append(found, Finding{Language: code, Kind: WeakWord, Detail: detail + " (" + strings.Join(keys, ", ") + ")"})
	}
	return found
}

// words keeps letters and digits and turns all else into single spaces.
func words(s string) string {
	return strings.Join(strings.FieldsFunc(s, func(r rune) bool {
		return (r < 'a' || r > 'z') && (r < '0' || r > '9') && r < 0x80
	}), " ")
}

func sortedKeys(m map[string]text) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// The GSM 7-bit default alphabet and its extension, whose letters count two
// septets. Source: [TS-23.038 §6.2.1]. The gateway's own codec is gateway/gsm;
// a catalogue is held against this copy because it may not import that.
const (
	basicLetters = "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?" +
		"¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"
	extendedLetters = "\f^{}\\[~]|€"
)

// septets counts a text; letters that the alphabet lacks count as one.
func septets(s string) (n int) {
	for _, r := range s {
		n++
		if strings.ContainsRune(extendedLetters, r) {
			n++
		}
	}
	return n
}

// strangers lists the letters that the alphabet lacks, each once.
func strangers(s string) string {
	var out strings.Builder
	for _, r := range s {
		known := strings.ContainsRune(basicLetters, r) || strings.ContainsRune(extendedLetters, r)
		if !known && !strings.ContainsRune(out.String(), r) {
			out.WriteRune(r)
		}
	}
	return out.String()
}
