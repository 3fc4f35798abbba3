package report

import (
	"encoding/json"
	"math"
	"strconv"

	"threshline/advice"
	"threshline/grading"
)

// notLooked is said of a lot if nobody says what was seen and smelt.
const notLooked = "not looked at"

// appendJSON writes the answer for one lot as one line. It is written by hand
// because a season's list is long; the same lot always gives the same bytes.
func (g *Grader) appendJSON(l *lot) {
	res := &l.Result
	b := append(g.buf, `{"standard":`...)
	b = appendText(b, res.StandardID)
	if res.Class != "" {
		b = appendText(append(b, `,"class":`...), res.Class)
	}
	if g.outOfForce() != "" {
		b = append(b, `,"in_force":false`...)
	}
	b = appendText(append(b, `,"grade":`...), string(res.Grade))
	b = strconv.AppendInt(append(b, `,"rank":`...), int64(res.Rank), 10)
	b = strconv.AppendInt(append(b, `,"of":`...), int64(res.Of), 10)
	b = strconv.AppendBool(append(b, `,"complete":`...), res.Complete)
	b = strconv.AppendBool(append(b, `,"borderline":`...), res.Borderline)
	b = appendChance(append(b, `,"confidence":`...), res.Confidence)
	if res.Likelier != "" {
		b = appendText(append(b, `,"likelier":`...), string(res.Likelier))
		b = appendChance(append(b, `,"likelier_chance":`...), res.LikelierChance)
	}
	b = appendList(append(b, `,"deciding":`...), res.Deciding)
	b = appendList(append(b, `,"missing":`...), res.Missing)
	if l.Readings.Unlooked() {
		b = appendText(append(b, `,"signs":`...), notLooked)
	}
	b = append(b, `,"parameters":[`...)
	first := true
	for i := range res.Parameters {
		if v := &res.Parameters[i]; v.Measured {
			if !first {
				b = append(b, ',')
			}
			b, first = appendParameter(b, v), false
		}
	}
	b = append(b, ']')
	if g.Advise && l.advice.Best.Remedy != "" {
		b = g.appendRemedy(b, &l.advice, res)
	}
	g.buf = append(g.appendLab(appendSeed(appendAsides(b, l), l), l), "}\n"...)
}

func appendParameter(b []byte, v *grading.ParameterResult) []byte {
	b = appendText(append(b, `{"id":`...), string(v.ID))
	b = append(b, `,"value":`...)
	if v.Unit == grading.Word {
		b = appendText(b, v.Word)
	} else {
		b = append(v.Shown.AppendFixed(append(b, '"'), v.Decimals), '"')
	}
	b = appendText(append(b, `,"unit":`...), string(v.Unit))
	b = appendText(append(b, `,"basis":`...), string(v.Basis))
	b = appendText(append(b, `,"grade":`...), string(v.Grade))
	b = strconv.AppendInt(append(b, `,"rank":`...), int64(v.Rank), 10)
	if v.Limit != nil {
		b = appendText(append(b, `,"limit":`...), LimitText(*v.Limit, v.Unit))
	}
	if v.Next != nil {
		b = appendText(append(b, `,"next_limit":`...), LimitText(*v.Next, v.Unit))
	}
	if v.Estimate {
		b = append(b, `,"estimate":true`...)
	}
	return append(b, '}')
}

// appendRemedy writes the remedy. If it is the first of several steps it writes all of
// them; grade, gain and cost are then those after all steps.
func (g *Grader) appendRemedy(b []byte, a *advice.Advice, res *grading.Result) []byte {
	o := &a.Best
	b = appendText(append(b, `,"remedy":{"id":`...), string(o.Remedy))
	if a.Steps > 1 {
		b = appendList(append(b, `,"steps":`...), a.Set)
	}
	b = appendText(append(b, `,"becomes":`...), string(a.SetBecomes))
	if a.Incomplete {
		b = append(b, `,"at_best":true`...)
	}
	b = appendText(append(b, `,"gain":`...), g.gainText(a.SetGain, o.InMoney))
	switch {
	case a.SetCostUnknown:
		b = append(b, `,"cost":"price not known"`...)
	case a.SetCost > 0:
		b = appendText(append(b, `,"cost":`...), g.moneyText(a.SetCost))
	}
	b = appendText(append(b, `,"because":`...), becauseText(&o.Because, res))
	b = appendList(append(b, `,"cautions":`...), o.Cautions) // a remedy never goes without them
	return append(b, '}')
}

// appendAsides writes what most lots do not have.
func appendAsides(b []byte, l *lot) []byte {
	if len(l.Result.Gates) > 0 {
		b = appendList(append(b, `,"gates":`...), l.Result.Gates)
	}
	if len(l.Result.Remarks) > 0 {
		b = appendList(append(b, `,"remarks":`...), l.Result.Remarks)
	}
	if len(l.doubts) > 0 {
		b = append(b, `,"doubts":[`...)
		for i := range l.doubts {
			if i > 0 {
				b = append(b, ',')
			}
			b = appendText(append(b, `{"id":`...), string(l.doubts[i].ID))
			b = appendText(append(b, `,"field":`...), l.doubts[i].Again.String())
			b = append(b, '}')
		}
		b = append(b, ']')
	}
	if s := l.Result.Settle; s != nil {
		b = appendText(append(b, `,"settle":{"parameter":`...), string(s.Parameter))
		if s.Grains > 0 {
			b = strconv.AppendInt(append(b, `,"grains":`...), int64(s.Grains), 10)
		}
		if s.Grams > 0 {
			b = append(append(b, `,"grams":`...), s.Grams.String()...)
		}
		if s.Repeats > 0 {
			b = strconv.AppendInt(append(b, `,"moisture_readings":`...), int64(s.Repeats), 10)
		}
		if s.CheckMeter {
			b = append(b, `,"check_meter":true`...)
		}
		b = append(b, '}')
	}
	return b
}

// appendChance writes a fraction of 1 to four decimals.
func appendChance(b []byte, chance float64) []byte {
	return strconv.AppendFloat(b, math.Round(chance*1e4)/1e4, 'f', -1, 64)
}

func appendList[T ~string](b []byte, list []T) []byte {
	b = append(b, '[')
	for i, s := range list {
		if i > 0 {
			b = append(b, ',')
		}
		b = appendText(b, string(s))
	}
	return append(b, ']')
}

// appendText writes a JSON string. Plain text, all but always, needs no escape.
func appendText(b []byte, s string) []byte {
	for i := range len(s) {
		if c := s[i]; c < ' ' || c > '~' || c == '"' || c == '\\' {
			quoted, err := json.Marshal(s)
			if err != nil {
				return append(b, `""`...)
			}
			return append(b, quoted...)
		}
	}
	b = append(b, '"')
	b = append(b, s...)
	return append(b, '"')
}
