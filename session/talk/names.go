package talk

import (
	"slices"
	"strings"

	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// GradeName is the grade in words: "grade II of 4", "no better than grade II",
// or the standard's own word for a lot outside its ladder.
func (v *Voice) GradeName(label grading.GradeLabel, rank, of int, complete bool) string {
	word := v.GradeWord(label)
	switch {
	case rank > of:
		return word
	case !complete:
		return v.Say("grade.no_better", "grade", word)
	}
	return v.Say("grade.name", "grade", word, "of", of)
}

// GradeWord is a grade's own label without the word "Grade" before it, or the
// catalogue's words for an outcome outside the ladder.
func (v *Voice) GradeWord(label grading.GradeLabel) string {
	word := strings.TrimPrefix(string(label), "Grade ")
	if key := "grade_name." + keyOf(word); v.Knows(key) {
		return v.Say(key)
	}
	return word
}

// HowSure says how sure a check's grade is; "" when the grade is "no better
// than", or something stopped the lot.
func (v *Voice) HowSure(c *session.Check) string {
	if !c.Complete || c.Confidence <= 0 || len(c.Gates) > 0 {
		return ""
	}
	return v.Say("why.sure", "tenths", Tenths(c.Confidence))
}

// Tenths returns a chance in tenths, at most 9, since nothing is fully sure.
func Tenths(chance float64) int { return min(9, int(chance*10+0.5)) }

// Amount is how much a lot is: bags and kg, or kg alone for a heap.
func (v *Voice) Amount(lot session.Lot) string {
	kg := v.Number(lot.KG.Round(0))
	switch {
	case lot.Bags == 1 && lot.KG > 0:
		return v.Say("amount.bag", "kg", kg)
	case lot.Bags == 1:
		return v.Say("amount.only_bag")
	case lot.Bags > 0 && lot.KG > 0:
		return v.Say("amount.bags", "bags", lot.Bags, "kg", kg)
	case lot.Bags > 0:
		return v.Say("amount.only_bags", "bags", lot.Bags)
	}
	if lot.KG == 0 {
		return v.Say("amount.unknown")
	}
	return v.Say("amount.heap", "kg", kg)
}

// keyOf turns a standard's own word into a wording key: "Out of grade" is
// "out_of_grade".
func keyOf(word string) string {
	key := []byte(word)
	for i, b := range key {
		switch {
		case b >= 'A' && b <= 'Z':
			key[i] = b + 'a' - 'A'
		case (b < 'a' || b > 'z') && (b < '0' || b > '9'):
			key[i] = '_'
		}
	}
	return string(key)
}

// ParameterName is the programme's own word for a parameter, or else the
// standard's label.
func (v *Voice) ParameterName(id grading.ParameterID) string {
	if key := "parameter." + string(id); v.Knows(key) {
		return v.Say(key)
	}
	if p := v.Programme.Standard.Parameter(id); p != nil && p.Label != "" {
		return p.Label
	}
	return string(id)
}

// lotName says which lot is meant: whose it is, and how much.
func (v *Voice) lotName(grower string, lot session.Lot) string {
	if lot.Bags == 0 && lot.KG == 0 {
		return grower
	}
	return strings.TrimSpace(grower + " " + v.Amount(lot))
}

// Copy writes readings down in the shorthand, so that they can be sent again.
func (v *Voice) Copy(r grading.Readings) string {
	var parts []string
	for _, f := range grading.Fields() {
		value, ok := r.Get(f)
		if !ok {
			continue
		}
		text := value.Round(2).String()
		if f == grading.Moisture {
			var repeats []string
			for _, d := range r.Repeats {
				repeats = append(repeats, d.String())
			}
			text = strings.Join(repeats, " ")
		}
		letter := f.String()
		if words := v.Words.Words(string(v.Language), "shorthand."+f.String()); len(words) > 0 {
			letter = words[0]
		}
		parts = append(parts, letter+" "+text)
	}
	if words := v.Words.Words(string(v.Language), "shorthand.by_hand"); r.Hand.Made() && len(words) > 0 {
		parts = append(parts, words[0]+" "+r.Hand.String())
	}
	return strings.Join(parts, " ")
}

// dangersText names dangers of a check, the moisture with its value. With
// mould, the smell is not named.
func (v *Voice) dangersText(c *session.Check, dangers []programme.Danger) string {
	var out []string
	for _, d := range dangers {
		switch {
		case d == programme.Musty && slices.Contains(dangers, programme.Mouldy):
		case d == programme.Insects:
			out = append(out, v.Say("parameter.live_insects"))
		case d == programme.Wet:
			value, ok := v.Programme.Moisture(c)
			if !ok { // by bite, without a number
				out = append(out, v.Say("flag."+string(grading.VeryWet)))
				continue
			}
			out = append(out, v.Say("field."+grading.Moisture.String())+" "+v.Number(value)+v.Say("unit.percent"))
		default:
			out = append(out, v.Say("flag."+string(d)))
		}
	}
	return strings.Join(out, ", ")
}
