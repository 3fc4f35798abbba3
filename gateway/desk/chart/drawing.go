// Package chart draws figures as SVG: bars, histograms and weeks, each with the
// table behind it.
package chart

import (
	"math"
	"strconv"

	"threshline/gateway/desk/paper"
	"threshline/grading"
)

// The charts are drawn by this small writer and not by a library: the plotting
// libraries at hand write style attributes, which the content security policy
// forbids, embed fonts, or leave out title, description and table. Coordinates
// are numbers made here; the template in paper/page/parts.html writes the SVG, so
// that every text is escaped as in any page.

// Drawing is one drawing, with the figures it shows.
type Drawing struct {
	ID, Title, Desc string
	Width, Height   float64
	Shapes          []shape
	Table           paper.Table
}

// shape is one element: a rect, line, dot, path or text, according to what is set.
type shape struct {
	Kind          string
	X, Y, W, H    float64 // of a line: from X, Y to W, H
	Class, Anchor string
	Text, Path    string
}

// width is the width of a chart's drawing, in units that are about a
// pixel on a narrow phone.
const width = 360

func (c *Drawing) rect(class string, x, y, w, h float64) {
	c.Shapes = append(c.Shapes, shape{Kind: "rect", Class: class, X: round(x), Y: round(y), W: round(max(w, 0)), H: round(max(h, 0))})
}

func (c *Drawing) line(class string, x1, y1, x2, y2 float64) {
	c.Shapes = append(c.Shapes, shape{Kind: "line", Class: class, X: round(x1), Y: round(y1), W: round(x2), H: round(y2)})
}

func (c *Drawing) dot(class string, x, y float64) {
	c.Shapes = append(c.Shapes, shape{Kind: "dot", Class: class, X: round(x), Y: round(y)})
}

func (c *Drawing) text(class, anchor string, x, y float64, s string) {
	c.Shapes = append(c.Shapes, shape{Kind: "text", Class: class, Anchor: anchor, X: round(x), Y: round(y), Text: s})
}

// whisker draws an interval from left to right, with its ends.
func (c *Drawing) whisker(x1, x2, y float64) {
	c.line("whisker", x1, y, x2, y)
	c.line("whisker", x1, y-3, x1, y+3)
	c.line("whisker", x2, y-3, x2, y+3)
}

// upright draws an interval from bottom to top.
func (c *Drawing) upright(x, y1, y2 float64) {
	c.line("whisker", x, y1, x, y2)
	c.line("whisker", x-2.5, y1, x+2.5, y1)
	c.line("whisker", x-2.5, y2, x+2.5, y2)
}

func round(f float64) float64 { return math.Round(f*10) / 10 }

// Bar is one row of a bar chart: a share, and where it lies with 95%.
type Bar struct {
	Label, Note     string
	Class           string
	Value, Low, Top float64 // fractions of 1
	Bounded         bool    // Low and Top are known
}

// Measures of the bar chart.
const (
	barRow   = 30.0
	barLeft  = 6.0
	barRight = 14.0
	axisRoom = 30.0
)

// Bars draws shares of 0 to 100%, one under the other: label above its bar, so
// that long names fit a narrow screen.
func Bars(id, title, desc, axis string, rows []Bar) Drawing {
	c := Drawing{ID: id, Title: title, Desc: desc, Width: width}
	bottom := barRow*float64(max(len(rows), 1)) + 4
	c.Height = bottom + axisRoom
	across := func(f float64) float64 { return barLeft + f*(width-barLeft-barRight) }
	for tick := 0; tick <= 100; tick += 20 {
		x := across(float64(tick) / 100)
		c.line("grid", x, 2, x, bottom)
		c.text("tick", "middle", x, bottom+11, strconv.Itoa(tick))
	}
	for i, b := range rows {
		y := barRow*float64(i) + 14
		c.text("label", "start", barLeft, y-3, b.Label)
		c.text("value", "end", width-barRight, y-3, b.Note)
		c.rect("bar "+b.Class, across(0), y, across(b.Value)-across(0), 10)
		if b.Bounded {
			c.whisker(across(b.Low), across(b.Top), y+5)
		}
	}
	if len(rows) == 0 {
		c.text("label", "start", barLeft, 16, "No checks yet")
	}
	c.line("axis", across(0), bottom, across(1), bottom)
	c.text("tick", "middle", across(0.5), bottom+24, axis)
	return c
}

// ticks are about n round numbers from 0 to top or slightly more.
func ticks(top float64, n int) []float64 {
	if top <= 0 {
		return []float64{0, 1}
	}
	step := math.Pow(10, math.Floor(math.Log10(top/float64(n))))
	for _, m := range []float64{1, 2, 5, 10} {
		if step*m >= top/float64(n) {
			step *= m
			break
		}
	}
	var list []float64
	for i := 0; ; i++ {
		v := float64(i) * step
		list = append(list, v)
		if v >= top-grading.Rounding {
			return list
		}
	}
}

func tickText(f float64) string { return paper.Number(strconv.FormatFloat(f, 'f', -1, 64)) }
