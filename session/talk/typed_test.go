package talk_test

import (
	"slices"
	"strings"
	"testing"

	"threshline/grading"
	"threshline/session/talk"
)

func TestNumbersAreReadAsPeopleTypeThem(t *testing.T) {
	for _, c := range []struct {
		typed, want string
		why         talk.Misread
	}{
		{typed: "13.8", want: "13.8"},
		{typed: "13,8", want: "13.8"},
		{typed: "13.8 14,1 13.9", want: "13.8 14.1 13.9"},
		{typed: "13.8, 14.1, 13.9", want: "13.8 14.1 13.9"},
		{typed: "13.8,14.1,13.9", want: "13.8 14.1 13.9"},
		{typed: "13,8; 14,1; 13,9", want: "13.8 14.1 13.9"},
		{typed: "13.8/14.1/13.9", want: "13.8 14.1 13.9"},
		{typed: "  13.8   14.1\n13.9 ", want: "13.8 14.1 13.9"},
		{typed: "13.8%", want: "13.8"},
		{typed: "13.8 % 14 %", want: "13.8 14"},
		{typed: "0,24 g", want: "0.24"},
		{typed: "0.24G 200gr", want: "0.24 200"},
		{typed: "8 75kg", want: "8 75"},
		{typed: "8bags", why: talk.NotNumber},
		{typed: "2O0", want: "200"},
		{typed: "o", want: "0"},
		{typed: "O,24", want: "0.24"},
		{typed: ".5", want: "0.5"},
		{typed: ",6", want: "0.6"},
		{typed: "8,75,600", why: talk.NotNumber},
		{typed: "8,75,60", want: "8 75 60"},
		{typed: "007", want: "7"},
		{typed: "0", want: "0"},
		{typed: "0.0", want: "0"},
		{typed: "١٣٫٨", want: "13.8"},
		{typed: "۱۴", want: "14"},
		{typed: "１３．８", want: "13.8"},
		{typed: "1,200", want: "1200"},
		{typed: "0,200", want: "0.2"},
		{typed: "13.84567", want: "13.8456"},
		{typed: "14.", want: "14"},
		{typed: "-2", why: talk.Negative},
		{typed: "−2", why: talk.Negative},
		{typed: "13-14", why: talk.NotNumber},
		{typed: "abc", why: talk.NotNumber},
		{typed: "13.8 abc", why: talk.NotNumber},
		{typed: "1.2.3", why: talk.NotNumber},
		{typed: "1,200.5", why: talk.NotNumber},
		{typed: "😀", why: talk.NotNumber},
		{typed: "", why: talk.Nothing},
		{typed: "  ,, ", why: talk.Nothing},
		{typed: "99999999999999", why: talk.NotNumber},
		{typed: strings.Repeat("1 ", 1000), why: talk.TooLong},
	} {
		all, why := talk.ReadNumbers(c.typed)
		var got []string
		for _, n := range all {
			got = append(got, n.Value.String())
		}
		if strings.Join(got, " ") != c.want || why != c.why {
			t.Errorf("%q reads as %q (%q), want %q (%q)", c.typed, strings.Join(got, " "), why, c.want, c.why)
		}
	}
}

func TestThreeDigitsBehindACommaMayBeThousands(t *testing.T) {
	all, _ := talk.ReadNumbers("1,200")
	if len(all) != 1 || !all[0].Thousands || all[0].Value != 1200*grading.One || all[0].Small != grading.One+2000 {
		t.Errorf("1,200 reads as %+v, want both readings", all)
	}
}

func FuzzReadNumbers(f *testing.F) {
	for _, seed := range []string{"13.8 14,1 13.9", "0,24 g", "١٣٫٨", "-1", "1,200", "😀", "2O0%", "1.2,3"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, typed string) {
		all, why := talk.ReadNumbers(typed)
		if (why == "") == (len(all) == 0) {
			t.Fatalf("%q: %d numbers and %q", typed, len(all), why)
		}
		var plain []string
		for _, n := range all {
			if n.Value < 0 {
				t.Fatalf("%q reads as negative %s", typed, n.Value)
			}
			plain = append(plain, n.Value.String())
		}
		if why != "" || len(strings.Join(plain, " ")) > 160 {
			return
		}
		again, why := talk.ReadNumbers(strings.Join(plain, " "))
		if why != "" || !slices.EqualFunc(all, again, func(a, b talk.Typed) bool { return a.Value == b.Value }) {
			t.Fatalf("%q reads as %q, which does not read back: %q", typed, plain, why)
		}
	})
}
