package report

import (
	"encoding/json"
	"errors"
	"io"
	"strings"

	"threshline/grading"
	"threshline/session/wording"
)

// doubtError is a doubt that blocks grading, as an error.
type doubtError struct {
	doubt grading.Doubt
	words *wording.Catalogue
}

func (e *doubtError) Error() string {
	return doubtText(e.words, &e.doubt)
}

func doubtText(words *wording.Catalogue, d *grading.Doubt) string {
	return words.Text("en", "doubt."+string(d.ID), "value", d.Value.Round(1).String(), "low", d.Low.String(), "high", d.High.String())
}

// faultField is the input key that an error is about, "" when none.
func faultField(err error) string {
	var bounds *grading.RangeError
	var whole *grading.WholeError
	var lone *grading.LoneError
	var word *grading.WordError
	var input *grading.InputError
	var name *grading.NameError
	var doubt *doubtError
	var hand *grading.HandError
	var spread *grading.LabSpreadError
	switch {
	case errors.As(err, &bounds):
		return bounds.Name()
	case errors.As(err, &hand):
		return "by_hand"
	case errors.As(err, &spread):
		return "lab." + string(spread.Figure)
	case errors.As(err, &whole):
		return whole.Field.String()
	case errors.As(err, &lone):
		return lone.Whole.String()
	case errors.As(err, &word):
		return "words." + string(word.Parameter)
	case errors.As(err, &input):
		return input.Field
	case errors.As(err, &doubt) && doubt.doubt.Again != grading.NoField:
		return doubt.doubt.Again.String()
	case errors.As(err, &doubt) && len(doubt.doubt.Parameters) > 0:
		return "values." + string(doubt.doubt.Parameters[0])
	case errors.As(err, &name):
		return name.Key
	}
	return ""
}

// appendFault answers a lot that could not be graded.
func (g *Grader) appendFault(err error) {
	text := strings.TrimPrefix(err.Error(), "grading: ")
	var syntax *json.SyntaxError
	switch {
	case errors.As(err, &syntax):
		text = "not JSON: " + text
	case errors.Is(err, io.EOF):
		text = "no readings: the input is empty"
	case errors.Is(err, io.ErrUnexpectedEOF):
		text = "the input ends in the middle of an object"
	}
	g.buf = append(g.buf, `{"error":`...)
	g.buf = appendText(g.buf, text)
	g.buf = append(g.buf, `,"field":`...)
	g.buf = appendText(g.buf, faultField(err))
	g.buf = append(g.buf, "}\n"...)
}
