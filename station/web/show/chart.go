// Package show puts numbers before people: values in the page's unit, times, rates with their intervals, tables and charts.
package show

import (
	"encoding/json"
	"html/template"
)

// Chart is one picture of numbers, drawn in the browser by the embedded charting library from this description. The same
// numbers stand in a table beside it, which is also what is left where scripts do not run.
type Chart struct {
	ID      string   `json:"-"`
	Caption string   `json:"-"` // sentence under the picture
	Spoken  string   `json:"-"` // what a screen reader says in its place
	Tall    bool     `json:"-"`
	X       Axis     `json:"x"`
	Y       Axis     `json:"y"`
	Right   *Axis    `json:"right,omitempty"` // second value axis
	Panes   []Axis   `json:"panes,omitempty"` // value axes of panes beneath the first, on the same x axis
	Bands   []Band   `json:"bands,omitempty"`
	Series  []Series `json:"series"`
	Marks   []Mark   `json:"marks,omitempty"`
}

// Axis is one axis. Names make it one of categories; otherwise it carries numbers or, with Time, milliseconds since 1970.
type Axis struct {
	Title    string   `json:"title"`
	Names    []string `json:"names,omitempty"`
	Time     bool     `json:"time,omitempty"`
	Whole    bool     `json:"whole,omitempty"` // counts: no fractions at the ticks
	Min      *float64 `json:"min,omitempty"`
	Max      *float64 `json:"max,omitempty"`
	Decimals int      `json:"decimals"`
}

// Series is one set of numbers.
type Series struct {
	Name   string  `json:"name"`
	Kind   string  `json:"kind"`             // "points", "line", "both" (points on a line), "step", "bars"
	Label  string  `json:"label,omitempty"`  // written at the line's end
	Right  bool    `json:"right,omitempty"`  // on the right axis
	Pane   int     `json:"pane,omitempty"`   // in which it is drawn: 0 the first, 1 that of Panes[0]
	Quiet  bool    `json:"quiet,omitempty"`  // drawn thin, for limits that vary
	Hue    int     `json:"hue,omitempty"`    // tells lines of one kind apart, from 1
	Dashed bool    `json:"dashed,omitempty"` // a second line among others
	Points []Point `json:"points"`
}

// Point is one number of a series.
type Point struct {
	X     float64  `json:"x"`           // on an axis of categories its index
	Y     *float64 `json:"y"`           // nil: a gap
	Words string   `json:"w,omitempty"` // what it is, in words
	Link  string   `json:"l,omitempty"` // the page behind it
	State string   `json:"s,omitempty"` // "", "nonconforming", "undecided", "doubt", "signal"
}

// Band is a stretch of the x axis with its label, every other one shaded.
type Band struct {
	From  float64 `json:"from"`
	To    float64 `json:"to"`
	Words string  `json:"words"`
}

// Mark is a line across the chart with its label: a limit, a target, a centre line.
type Mark struct {
	At    float64 `json:"at"`
	Words string  `json:"words"`
	Kind  string  `json:"kind"`            // "limit", "target", "centre", "control"
	Along bool    `json:"along,omitempty"` // stands at a place of the x axis
}

// JSON is the description as the browser's module reads it.
func (c Chart) JSON() (template.JS, error) {
	text, err := json.Marshal(c) // escapes <, > and &: nothing in it can end the script element
	return template.JS(text), err
}

// Y points at a value, for points that have one.
func Y(v float64) *float64 { return &v }
