package gauges

import (
	"cmp"
	"strings"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/station/web/form"
)

// captureWords say how readings come, for each of batch.Captures.
var captureWords = map[string]string{
	devices.CaptureKey:     "when its data key is pressed",
	devices.CaptureStream:  "all the time; Take or a foot switch keeps one",
	devices.CaptureSettled: "all the time; the first rest of every placement is kept",
	devices.CaptureRequest: "when it is asked; Take or a foot switch asks it",
	devices.CaptureFoot:    "never: it is a foot switch on a port of its own",
	devices.CaptureLamp:    "never: it is a lamp on a port of its own, RTS green and DTR red",
	devices.CaptureTyped:   "typed, as from a keyboard",
}

// KeepsZero says what becomes of its zero without power.
func (l gaugeLine) KeepsZero() string { return zeroWords[l.LosesZero] }

// Power says whether it is noticed that the gauge was switched off and on, after which it has to be checked.
func (l gaugeLine) Power() string {
	switch captureOf(l.Gauge) {
	case devices.CaptureStream, devices.CaptureSettled:
		return "After a silence of 2 s or more it may have been switched off: its check is then due."
	case devices.CaptureRequest:
		return "Where it did not answer and answers 2 s later or more, it may have been switched off: its check is then due. Between two questions nothing tells."
	}
	return "It sends only when its key is pressed, so that nothing tells whether it was switched off between two presses. Check it whenever it was: a zero that jumped is found by the check alone."
}

// captureOf is how a gauge's readings come, by its data key unless it says otherwise.
func captureOf(g batch.Gauge) string { return cmp.Or(g.Capture, devices.CaptureKey) }

func captureOptions(g batch.Gauge) []form.Option {
	options := make([]form.Option, len(batch.Captures))
	for i, c := range batch.Captures {
		options[i] = form.Option{Value: c, Label: captureWords[c], On: c == captureOf(g)}
	}
	return options
}

func footOptions(g batch.Gauge) []form.Option {
	options := []form.Option{{Value: "", Label: "none", On: g.FootSwitch == ""}}
	for _, l := range batch.FootSwitches {
		options = append(options, form.Option{Value: l, Label: "line " + l + " of this port", On: l == g.FootSwitch})
	}
	return options
}

// captureFits marks what does not go together with how the gauge's readings come.
func captureFits(f *form.Form, g batch.Gauge) {
	if g.OnlySwitch() && g.FootSwitch == "" {
		f.Field("foot_switch").Fail("No line is chosen. Choose the one that the foot switch is wired to.")
	}
	if g.Capture != devices.CaptureTyped {
		if g.Prefix != "" {
			f.Field("prefix").Fail("Only a gauge whose readings are typed has a prefix. Choose that above, or leave this empty.")
		}
		return
	}
	if g.FootSwitch != "" {
		f.Field("foot_switch").Fail("A gauge that types has no port to wire a foot switch to. Enter it with a gauge on a port, or use one that types F8.")
	}
	if strings.ContainsFunc(g.Prefix, func(r rune) bool { return r <= ' ' || r > '~' }) {
		f.Field("prefix").Fail("%q holds what no keyboard types at once. Allowed are letters, digits and signs without blanks.", g.Prefix)
	}
	if g.USBVendor != "" || g.Path != "" {
		f.Field("capture").Fail("A gauge that types is a keyboard to the computer and has no port. Leave its USB identity and port empty.")
	}
}
