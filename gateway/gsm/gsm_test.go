package gsm_test

import (
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"

	"threshline/gateway/gsm"
)

// rows reads a table of testdata/gsm: columns between " | ".
func rows(t *testing.T, name string, columns int) (out [][]string) {
	t.Helper()
	data, err := os.ReadFile("../../testdata/gsm/" + name)
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(data)) {
		line = strings.TrimRight(line, "\n")
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		row := strings.Split(line, " | ")
		if len(row) != columns {
			t.Fatalf("%s: %q has %d columns, want %d", name, line, len(row), columns)
		}
		out = append(out, row)
	}
	if len(out) == 0 {
		t.Fatalf("%s holds no row", name)
	}
	return out
}

func TestSegmentsAreAsTheStandardCountsThem(t *testing.T) {
	for _, row := range rows(t, "segments.txt", 3) {
		var text strings.Builder
		for _, run := range strings.Fields(row[0]) {
			letter, times, _ := strings.Cut(run, "*")
			n, err := strconv.Atoi(times)
			if err != nil {
				t.Fatal(err)
			}
			text.WriteString(strings.Repeat(letter, n))
		}
		if got := strings.Trim(fmt.Sprint(gsm.Segments(text.String())), "[]"); got != row[1] {
			t.Errorf("%s: segments %s, want %s", row[0], got, row[1])
		}
	}
}

// 182 septets fill the 160 octets of a USSD string. Source: [TS-29.002 §17.7.4].
func TestLengthsFillTheirOctets(t *testing.T) {
	for _, c := range []struct{ septets, octets int }{
		{160, 140}, {gsm.MaxUSSDSeptets, 160}, {183, 161}, {gsm.PartSeptets, 134},
	} {
		if got := (c.septets*7 + 7) / 8; got != c.octets {
			t.Errorf("%d septets take %d octets, want %d", c.septets, got, c.octets)
		}
	}
}

func TestCountKnowsTheAlphabet(t *testing.T) {
	for _, c := range []struct {
		text    string
		septets int
		ok      bool
	}{
		{"", 0, true},
		{"Grade II", 8, true},
		{"€", 2, true},
		{"[^]|~{}\\\f", 18, true},
		{"Ç", 1, true},
		{"ç", 1, false},
		{"`", 1, false},
		{"\t", 1, false},
		{"\u00a0", 1, false},
		{"don’t", 5, false},
		{"\x1b", 1, false},
		{"\xff", 1, false},
	} {
		septets, ok := gsm.Count(c.text)
		if septets != c.septets || ok != c.ok {
			t.Errorf("%q: %d septets, %v, want %d, %v", c.text, septets, ok, c.septets, c.ok)
		}
	}
}

func TestFoldGivesWhatABasicPhoneCanShow(t *testing.T) {
	for _, row := range rows(t, "fold.txt", 3) {
		got := gsm.Fold(row[1])
		if got != row[2] {
			t.Errorf("%s: %q folds to %q, want %q", row[0], row[1], got, row[2])
		}
		if _, ok := gsm.Count(got); !ok {
			t.Errorf("%s: %q is not in the alphabet", row[0], got)
		}
	}
	if got := gsm.Fold("e\u0300 u\u0308 e\u0323\u0301"); got != "è ü e" {
		t.Errorf("letters with their marks apart fold to %q", got)
	}
	if got := gsm.Fold("a\u00a0b\u202fc\u200b"); got != "a b c" {
		t.Errorf("odd spaces fold to %q", got)
	}
}

func TestPlainCleansWhatCameIn(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"plain text is left alone", "GRADE 13.8 14.1", "GRADE 13.8 14.1"},
		{"Arabic-Indic digits", "١٣٫٨ ۱۴", "13.8 14"},
		{"full-width digits and marks", "１３．８％", "13.8%"},
		{"direction marks go", "\u200f\u202e13\u202c", "13"},
		{"control characters go", "1\x003\x07", "13"},
		{"line ends and tabs are spaces", "1\r\n2\t3", "1  2 3"},
		{"a typographic apostrophe", "ng’ombe", "ng'ombe"},
		{"a typographic minus and dash", "−1–2", "-1-2"},
		{"letters keep their marks", "séchez ɗaya", "séchez ɗaya"},
		{"an emoji is kept for the re-ask", "🌾", "🌾"},
		{"broken UTF-8 goes", "1\xff2", "12"},
	} {
		if got := gsm.Plain(c.in); got != c.want {
			t.Errorf("%s: %q became %q, want %q", c.name, c.in, got, c.want)
		}
	}
}
