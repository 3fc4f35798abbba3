package wording

import (
	"strconv"
	"strings"
	"time"
)

// groupFrom is the count of whole digits from which a number is grouped by
// thousands: four-digit numbers stay as they are, in every language.
const groupFrom = 5

// Number writes a plain number ("13.8", "12000") the way the language does:
// its decimal mark, and its thousands mark from five whole digits on. What is
// not a plain number comes back as it is.
func (c *Catalogue) Number(lang, s string) string {
	l := c.languages[lang]
	if l == nil {
		return s
	}
	unsigned := strings.TrimPrefix(s, "-")
	whole, fraction, point := strings.Cut(unsigned, ".")
	if !digits(whole) || point && !digits(fraction) {
		return s
	}
	if len(whole) >= groupFrom && l.meta.Thousands != "" {
		whole = group(whole, l.meta.Thousands)
	}
	if len(unsigned) < len(s) {
		whole = "-" + whole
	}
	if !point {
		return whole
	}
	return whole + l.meta.decimal() + fraction
}

func digits(s string) bool {
	return s != "" && strings.Trim(s, "0123456789") == ""
}

func group(whole, mark string) string {
	first := len(whole) % 3
	parts := make([]string, 0, len(whole)/3+1)
	if first > 0 {
		parts = append(parts, whole[:first])
	}
	for i := first; i < len(whole); i += 3 {
		parts = append(parts, whole[i:i+3])
	}
	return strings.Join(parts, mark)
}

// Date writes a day the way the language does, in t's own zone, by the
// pattern of the catalogue: {day}, {month} as a number, {name} of the month,
// {year}.
func (c *Catalogue) Date(lang string, t time.Time) string {
	l := c.languages[lang]
	if l == nil || l.meta.Date == "" {
		return t.Format("2006-01-02")
	}
	return l.date(l.meta.Date, t)
}

// Day is Date without the year, for a day that is not long past.
func (c *Catalogue) Day(lang string, t time.Time) string {
	l := c.languages[lang]
	if l == nil || l.meta.Date == "" {
		return t.Format("01-02")
	}
	before, after, _ := strings.Cut(l.meta.Date, "{year}")
	return strings.Trim(l.date(before+after, t), " ./-,")
}

// date fills a pattern of a day.
func (l *language) date(pattern string, t time.Time) string {
	name := ""
	if len(l.meta.Months) == 12 {
		name = l.meta.Months[t.Month()-1]
	}
	return strings.NewReplacer(
		"{day}", strconv.Itoa(t.Day()),
		"{month}", strconv.Itoa(int(t.Month())),
		"{name}", name,
		"{year}", strconv.Itoa(t.Year()),
	).Replace(pattern)
}
