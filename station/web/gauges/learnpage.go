package gauges

import (
	"cmp"
	"encoding/hex"
	"errors"
	"fmt"
	"net/http"
	"slices"

	"sagitta/batch/tell"
	"sagitta/devices"
	"sagitta/devices/decode"
	"sagitta/devices/decode/infer"
	"sagitta/inspect/unit"
	"sagitta/station/web/site"
)

// learnPage shows a search: what came so far with its fields marked, what is read of it, and what would tell more.
type learnPage struct {
	Port, Words string // the port, in words
	Typed       bool
	Running     bool
	Asking      bool   // requests are sent
	Denied      bool   // the port may not be opened by this user
	Sentence    string // what to do, or what went wrong
	Progress    string
	Settings    int // tried so far, and how many there are
	Of          int
	Presses     int
	Enough      int
	Taken       []bool // of the presses that are asked for, which were read
	Noise       string
	Who         string
	Fit         string // what decoder it is
	Reads       []readLine
	Doubts      []string
	Others      []otherLine
	Kinds       []kindLine // to go on with
	Correct     *correction
	Failed      bool // what a person chose cannot be read
}

// otherLine is a candidate that is not shown first.
type otherLine struct {
	Pick  int
	Words string
	Sent  string
	Value string // in the gauge's unit
}

// correction is the form that says what the newest frame's bytes are.
type correction struct {
	Frame  string // in hex
	Bytes  []byteLine
	Roles  []optionLine
	Units  []optionLine
	Unit   string
	Point  bool // a point is sent: there is nothing to choose
	Places []optionLine
	Chosen bool // something is chosen already
}

// byteLine is a byte and its role.
type byteLine struct {
	Text string
	Role string
	N    int
}

type optionLine struct {
	Value, Label string
	On           bool
}

// unitOptions are what a number may count, in words.
var unitOptions = []optionLine{{Label: "as the bytes say"}, {Value: "mm", Label: "mm"}, {Value: "in", Label: "inch"}, {Value: "um", Label: "µm"}, {Value: "thou", Label: "thousandths of an inch"}, {Value: "cm", Label: "cm"}}

// learnPageOf puts a search in words.
func (s *server) learnPageOf(state searched, lengths unit.Unit) learnPage {
	l := state.Lesson
	p := learnPage{Port: state.Port, Words: state.Port, Typed: state.Typed, Running: state.Serving, Asking: state.Asking, Settings: l.Number, Of: l.Of, Enough: infer.Enough, Who: l.Who, Noise: tell.Printable(l.Noise)}
	for _, port := range s.seen() {
		if port.Name == state.Port {
			p.Words = portWords(port)
		}
	}
	if state.Typed {
		p.Words = "a gauge that types"
	}
	g := state.guess()
	candidate, ok := state.picked(g)
	p.Presses = min(g.Frames, infer.Enough)
	if !ok {
		p.Presses = 0
	}
	for i := range infer.Enough {
		p.Taken = append(p.Taken, i < p.Presses)
	}
	p.Sentence = sentenceOf(state, g, ok)
	p.Denied = isKind(state.Error, devices.Denied)
	if p.Running {
		p.Progress = progressOf(l, state.Asking)
	}
	if !ok {
		p.Failed = state.chosen()
		return p
	}
	p.Fit, p.Reads = candidateWords(candidate), readLines(candidate, lengths)
	for _, d := range candidate.Doubts {
		p.Doubts = append(p.Doubts, d.Sentence())
	}
	for i, o := range g.Candidates {
		last, _ := o.Last()
		if i != min(state.Pick, len(g.Candidates)-1) && last.Value != nil {
			value, _ := valueWords(*last.Value, lengths)
			p.Others = append(p.Others, otherLine{Pick: i, Words: candidateWords(o), Sent: tell.Printable(last.Raw), Value: value})
		}
	}
	p.Kinds = kindLines(kindsWithLine, "&learnt=yes")
	p.Correct = correctionOf(candidate, state.Choice)
	return p
}

// chosen says that a person has said something of the bytes.
func (s *searched) chosen() bool {
	return s.Choice.Roles != nil || s.Choice.Unit != "" || s.Choice.Places != nil
}

// isKind tells whether an error is one of a port, of a kind.
func isKind(err error, k devices.Kind) bool {
	var e *devices.Error
	return errors.As(err, &e) && e.Kind == k
}

// sentenceOf says what to do next, or what went wrong.
func sentenceOf(state searched, g infer.Guess, ok bool) string {
	l := state.Lesson
	switch {
	case state.Port == "" && !state.Typed:
		return "Nothing is being identified. Choose a port on the page Gauges."
	case state.Error != nil:
		return tell.Sentence(state.Error)
	case state.Typed && len(l.Chunks) == 0:
		return "Nothing was typed. Click into the box and press the gauge's key three times."
	case !ok && state.chosen():
		return "Nothing can be read with these choices: the digits of the reading must be chosen, in one piece, and every line be written alike. Change them below, or leave it to the bytes again."
	case !ok && l.Settled:
		return "What came is text, but no line with a number that can be read. Press again at another height."
	case ok && g.Next == infer.Listen && g.Frames >= infer.Enough:
		return "That is enough. Compare what is read with the gauge's display: each further press is shown too. Then say what it is."
	case ok && state.Asking:
		return "It answers. Move its plunger up, then below zero: every answer that differs is taken."
	case ok && g.Streams:
		return "It sends all the time. Move its plunger up, then below zero. " + g.Next.Sentence()
	case ok && g.Next == infer.Press:
		return fmt.Sprintf("%s of %d read. %s", tell.Counted(g.Frames, "press", "presses"), infer.Enough, g.Next.Sentence())
	case ok:
		return g.Next.Sentence()
	case !state.Serving:
		return "Nothing came that could be read. Press the gauge's key while it is listened to; a gauge that answers only when asked needs the tick."
	case state.Asking:
		return "Requests are sent, one after the other, until one is answered."
	case l.Failed > 0:
		return "What came is not text: the line was set another way. It is listened to at the next setting: press the gauge's key again."
	}
	return "Press the gauge's key three times: at zero, raised, and below zero."
}

// progressOf says how far the search is.
func progressOf(l devices.Lesson, asking bool) string {
	what := "Setting"
	if asking {
		what = "Request"
	}
	words := fmt.Sprintf("%s %d of %d: %s. %s so far", what, max(1, l.Number), max(1, l.Of), l.Line.Words(), tell.Counted(l.Bytes, "byte", "bytes"))
	if l.Line.Baud == 0 {
		words = "The port is being opened"
	}
	if l.Failed > 0 {
		words += fmt.Sprintf(", %s left because what came made no sense", tell.Counted(l.Failed, "setting was", "settings were"))
	}
	if l.Unanswered > 0 {
		words += fmt.Sprintf(", %s without an answer", tell.Counted(l.Unanswered, "request", "requests"))
	}
	return words + "."
}

// correctionOf is the form for the newest frame of a candidate; nil of one whose frames have no fields.
func correctionOf(c infer.Candidate, chosen infer.Choice) *correction {
	last, ok := c.Last()
	if !ok || c.Decoder.Family != "text" {
		return nil
	}
	f := &correction{Frame: hex.EncodeToString(last.Raw), Chosen: chosen.Roles != nil || chosen.Unit != "" || chosen.Places != nil, Units: slices.Clone(unitOptions)}
	for i, r := range rolesOf(c.Decoder, last.Raw) {
		f.Bytes = append(f.Bytes, byteLine{Text: cmp.Or(shown(last.Raw[i:i+1]), "␣"), Role: string(r), N: i + 1})
	}
	for _, r := range []decode.Role{decode.RoleText, decode.RoleSign, decode.RoleDigits, decode.RoleUnit, decode.RoleChannel, decode.RoleStatus, decode.RoleChecksum, decode.RoleStart, decode.RoleEnd} {
		f.Roles = append(f.Roles, optionLine{Value: string(r), Label: roleWords[r]})
	}
	for i := range f.Units {
		f.Units[i].On = f.Units[i].Value == chosen.Unit
	}
	f.Point = slices.ContainsFunc([]byte(last.Value.Digits), func(b byte) bool { return b == '.' || b == ',' })
	if !f.Point {
		f.Places = append(f.Places, optionLine{Label: "as the bytes say"})
		for n := range 6 {
			o := optionLine{Value: fmt.Sprint(n), Label: tell.Counted(n, "digit", "digits")}
			o.On = chosen.Places != nil && *chosen.Places == n
			f.Places = append(f.Places, o)
		}
	}
	return f
}

// identify shows the search.
func (s *server) identify(c *site.Request) error {
	return c.Show(http.StatusOK, "identify", "Identify a gauge", s.learnPageOf(s.search.now(s.opt.Now()), c.Unit()))
}

// identifyNow is what moves on that page.
func (s *server) identifyNow(c *site.Request) error {
	p := s.learnPageOf(s.search.now(s.opt.Now()), c.Unit())
	return c.ShowPart("learn-now", map[string]any{"Data": p, "Unit": c.Unit()})
}
