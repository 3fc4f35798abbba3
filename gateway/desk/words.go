package desk

import (
	"bufio"
	"fmt"
	"html/template"
	"math"
	"strconv"
	"strings"
	"time"

	"threshline/grading"
	"threshline/session"
	"threshline/session/ledger"
)

// phrases are the English of the ids that other packages give, by kind and id.
var phrases = readPhrases()

func readPhrases() map[string]string {
	m := map[string]string{}
	data, err := files.ReadFile("page/words.txt")
	if err != nil {
		return m // a test finds words that are not there
	}
	for lines := bufio.NewScanner(strings.NewReader(string(data))); lines.Scan(); {
		key, text, ok := strings.Cut(lines.Text(), " = ")
		if ok && !strings.HasPrefix(key, "#") {
			m[key] = text
		}
	}
	return m
}

// say is the desk's phrase for an id; an id without one is shown as it is.
func say(kind string, id any) string {
	key := fmt.Sprint(id)
	if text, ok := phrases[kind+"."+key]; ok {
		return text
	}
	return strings.ReplaceAll(key, "_", " ")
}

// words are the functions that templates say things with.
func words(zone *time.Location) template.FuncMap {
	return template.FuncMap{
		"say":     say,
		"list":    func(s []string) string { return list(s) },
		"icon":    func() string { return iconAsset.path },
		"percent": percent, "share": shareText, "interval": intervalText, "count": count, "mass": mass, "money": money,
		"decimal": func(d grading.Decimal, places int) string { return d.Fixed(places) },
		"chance":  chance,
		"day":     func(t time.Time) string { return t.In(zone).Format("2 Jan 2006") },
		"moment":  func(t time.Time) string { return t.In(zone).Format(dateTime) },
		"slip":    func(s session.Slip) string { return string(s) },
	}
}

// list joins words as a sentence does.
func list(s []string) string {
	switch len(s) {
	case 0:
		return ""
	case 1:
		return s[0]
	}
	return strings.Join(s[:len(s)-1], ", ") + " and " + s[len(s)-1]
}

// thin parts the thousands of a number; it does not break at the end of a line.
const thin = "\u202f"

// count is a whole number with its thousands parted.
func count(n int) string {
	s := strconv.Itoa(n)
	for i := len(s) - 3; i > 0 && s[i-1] != '-'; i -= 3 {
		s = s[:i] + thin + s[i:]
	}
	return s
}

// percent is a fraction of 1 in percent: whole, or with a decimal under ten.
func percent(f float64) string {
	p := f * 100
	if p > 0 && p < 9.95 {
		return strconv.FormatFloat(p, 'f', 1, 64) + thin + "%"
	}
	return strconv.FormatFloat(p, 'f', 0, 64) + thin + "%"
}

// shareText is a share with its counts: "62 % (31 of 50)".
func shareText(s ledger.Share) string {
	if s.Of == 0 {
		return "none yet"
	}
	return percent(s.Value()) + " (" + count(s.Count) + " of " + count(s.Of) + ")"
}

// intervalText is the exact 95 % interval of a share.
func intervalText(s ledger.Share) string {
	if s.Of == 0 {
		return "not known"
	}
	low, high := s.Interval()
	return percent(low) + " to " + percent(high)
}

// mass is kg, or tonnes from ten of them; a dash when it is not known.
func mass(d grading.Decimal) string {
	kg := d.Float()
	switch {
	case kg == 0:
		return "–"
	case kg < 10_000:
		return count(int(math.Round(kg))) + thin + "kg"
	case kg < 100_000:
		return strconv.FormatFloat(kg/1000, 'f', 1, 64) + thin + "t"
	}
	return count(int(math.Round(kg/1000))) + thin + "t"
}

// money is an amount in the programme's currency, whole from a hundred.
func money(f float64) string {
	if math.Abs(f) >= 100 {
		return count(int(math.Round(f)))
	}
	return strconv.FormatFloat(f, 'f', 2, 64)
}

// chance is a probability in percent; it never says 0 or 100 of what is not
// certain.
func chance(f float64) string {
	switch {
	case f > 0 && f < 0.01:
		return "under 1" + thin + "%"
	case f > 0.99 && f < 1:
		return "over 99" + thin + "%"
	}
	return strconv.FormatFloat(f*100, 'f', 0, 64) + thin + "%"
}

// dateTime is how a moment is written; the day does not break.
const dateTime = "2\u00a0Jan\u00a02006, 15:04"
