package dry

import (
	"regexp"
	"slices"
	"strconv"
	"strings"

	"threshline/grading"
	"threshline/session/screen/ask"
	"threshline/session/screen/signs"
	"threshline/session/shorthand"
	"threshline/session/talk"
)

// Word reports whether a message begins with the word for drying ("dry 18
// 600"), and returns the rest of the message.
func Word(t *talk.Talk, entry string) (rest string, ok bool) {
	word := ask.First(entry)
	rest = ask.After(entry)
	if word == "" {
		return "", false
	}
	if !saysDry(t, word) {
		return dryAnywhere(t, entry)
	}
	if _, why := talk.ReadNumbers(rest); why == "" || rest == "" || ofNothing(t, word, rest) {
		if why != "" {
			rest = ""
		}
		return rest, true
	}
	return dryLotIn(t, rest)
}

func saysDry(t *talk.Talk, word string) bool {
	return t.Hears("accept.dry", word) || t.Words.Match("en", "accept.dry", word)
}

// ofNothing reports whether behind the word for drying stands only what is dried:
// "dry my rice". A sign or a word that nobody knows is no such thing.
func ofNothing(t *talk.Talk, word, rest string) bool {
	lots, problems := ask.Reader(t).Parse(rest)
	onlyCrop := func(p shorthand.Problem) bool {
		return p.Trouble == shorthand.NoNumber && p.Field == grading.BrownWeight
	}
	return (len(word) > shortestDry || strings.EqualFold(word, "dry")) && len(lots.Lots) == 0 && !strings.ContainsAny(rest, "0123456789") &&
		!slices.ContainsFunc(problems, func(p shorthand.Problem) bool { return !onlyCrop(p) })
}

// dryAnywhere finds a request about drying in a sentence, "I want to dry 500 kg,
// moisture 17": the word for it, one moisture and the kg, and no other number.
func dryAnywhere(t *talk.Talk, entry string) (rest string, ok bool) {
	words := strings.Fields(entry)
	ok = slices.ContainsFunc(words, func(w string) bool {
		return (len(w) > shortestDry || strings.EqualFold(w, "dry")) && saysDry(t, w)
	})
	if !ok || len(words) > mostDryWords {
		return "", false
	}
	return dryLotIn(t, entry)
}

// The most words in a sentence about drying, and the number of letters that the
// word for drying must exceed: "sec" is also said of a lot that is dry. Source:
// assumed.
const (
	mostDryWords = 12
	shortestDry  = 3
)

// The numbers of a sentence: "1 200 kg" with its thousands parted, for no moisture
// has a single digit; a share, kilos with their unit on either side, and any other.
var (
	partedIn = regexp.MustCompile(`(?i)(^|\s)([1-9]) (\d{3}\s*k)`)
	sharesIn = regexp.MustCompile(`(\d+(?:[.,]\d+)?)\s*%`)
	kilosIn  = regexp.MustCompile(`(?i)(\d+(?:[.,]\d+)?)\s*(?:kgs?|kilos?|kilon)\b|\b(?:kgs?|kilos?|kilon)\s*(\d+(?:[.,]\d+)?)`)
	numberIn = regexp.MustCompile(`\d+(?:[.,]\d+)?`)
)

// dryLotIn reads the moisture and the kg of a lot from words, "600 kg at 18%" or
// "18% 12 bags": a moisture that a meter shows, and no more than one weight. The
// screen says both back.
func dryLotIn(t *talk.Talk, text string) (numbers string, ok bool) {
	text, bags, sure := withoutBags(t, text)
	text = partedIn.ReplaceAllString(text, "$1$2$3")
	share := sharesIn.FindAllStringSubmatch(text, -1)
	if len(share) == 1 {
		text = sharesIn.ReplaceAllString(text, "; ")
	}
	kilos := kilosIn.FindAllStringSubmatch(text, -1)
	others := numberIn.FindAllString(kilosIn.ReplaceAllString(text, " "), -1)
	if len(share) == 1 {
		others = append(others, share[0][1])
	}
	if !sure || len(kilos) > 1 || len(others) != 1 {
		return "", false
	}
	from, kg := others[0], bags
	if len(kilos) == 1 {
		kg = kilos[0][1] + kilos[0][2]
	}
	switch {
	case meterShows(from):
	case len(share) == 0 && len(kilos) == 1 && kilos[0][1] != "" && meterShows(kg): // "18.5 kilo 600"
		from, kg = kg, from
	default:
		return "", false
	}
	return strings.TrimSpace(from + " " + kg), true
}

// Danger is the lot of a message about drying that tells a danger too, "dry 20%
// 300 kg, it is mouldy": a check of it, with the numbers found, stands before advice.
func Danger(r *shorthand.Reader, text, numbers string) (lot shorthand.Lot, ok bool) {
	message, _ := r.Parse(text)
	for _, said := range message.Lots {
		ok = ok || slices.ContainsFunc(said.Readings.Flags, grading.Flag.Unfit) || signs.Alive(&said.Readings)
		lot.Readings.Flags = append(lot.Readings.Flags, said.Readings.Flags...)
		for _, f := range []grading.Field{grading.LiveWeevils, grading.LiveOthers} {
			if n, had := said.Readings.Get(f); had {
				lot.Readings.Set(f, n)
			}
		}
	}
	said, why := talk.ReadNumbers(numbers)
	if !ok || why != "" {
		return lot, ok
	}
	lot.Readings.Repeats = []grading.Decimal{said[0].Value}
	if len(said) > 1 {
		lot.KG = said[1].Value
	}
	return lot, true
}

// withoutBags takes the bags out of a sentence, and gives their kg where the
// programme says what a bag holds. It is not sure of "bags 8 18".
func withoutBags(t *talk.Talk, text string) (rest, kg string, sure bool) {
	words := strings.Fields(text)
	at := slices.IndexFunc(words, func(w string) bool { return t.Hears("shorthand.bags", strings.Trim(w, ".,;:?!")) })
	if at < 0 {
		return text, "", true
	}
	number := func(i int) bool { return i >= 0 && i < len(words) && strings.Trim(words[i], "0123456789") == "" }
	count := at - 1
	if number(at + 1) {
		count = at + 1
	}
	if number(at-1) == number(at+1) || slices.ContainsFunc(words[at+1:], func(w string) bool { return t.Hears("shorthand.bags", w) }) {
		return text, "", false
	}
	if n, err := strconv.Atoi(words[count]); err == nil && t.Programme.BagKG > 0 {
		kg = (t.Programme.BagKG * grading.Decimal(n)).String()
	}
	words[at], words[count] = ";", ""
	return strings.Join(words, " "), kg, true
}

// meterShows reports whether a number may be what a meter shows of paddy.
func meterShows(typed string) bool {
	from, why := talk.ReadNumbers(typed)
	return why == "" && len(from) == 1 && !from[0].Thousands && from[0].Value >= driestRead && from[0].Value <= wettestRead
}

// What a meter shows of paddy, %. Source: assumed.
const (
	driestRead  = 5 * ask.Whole
	wettestRead = 40 * ask.Whole
)
