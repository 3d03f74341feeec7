package simulate

import (
	"fmt"

	"sagitta/inspect/unit"
)

// Format is how a gauge writes its lines.
type Format struct {
	Decoder    string                             // the generic decoder that reads it
	Number     func(mm float64, key bool) []byte  // one whole frame; key when its data key sent it
	Word       func(word string, key bool) []byte // a status word in place of a number; nil when it has none
	StepMM     float64                            // the value of its last digit
	Channel    string                             // of live frames, "" when frames have none
	KeyChannel string                             // of pressed frames
	Line       Setting                            // how the gauge's line is set; zero: as the program sets it
}

// eightNone is the usual setting of a gauge's line.
var eightNone = Setting{Baud: 9600, DataBits: 8, Parity: "none", StopBits: 1}

// The three formats the demo's gauges speak.
var (
	// ChannelValue: "L:+0.123mm" live, "K:+0.123mm" pressed.
	ChannelValue = Format{
		Decoder: "channel and value", Line: eightNone, StepMM: 0.001, Channel: "L", KeyChannel: "K",
		Number: func(mm float64, key bool) []byte {
			return fmt.Appendf(nil, "%s:%+.3fmm\r\n", letter(key), unsignedZero(mm, 0.0005))
		},
		Word: func(word string, key bool) []byte { return fmt.Appendf(nil, "%s:%s\r\n", letter(key), word) },
	}
	// SignedMillimetres: "+1.950mm", or a word.
	SignedMillimetres = Format{
		Decoder: "signed decimal with status words", Line: eightNone, StepMM: 0.001,
		Number: func(mm float64, _ bool) []byte { return fmt.Appendf(nil, "%+.3fmm\r\n", unsignedZero(mm, 0.0005)) },
		Word:   func(word string, _ bool) []byte { return fmt.Appendf(nil, "%s\r\n", word) },
	}
	// InchNoLeadingZero: "+.01220in".
	InchNoLeadingZero = Format{
		Decoder: "decimal inch without leading zero", Line: eightNone, StepMM: 0.00001 * unit.MMPerInch,
		Number: func(mm float64, _ bool) []byte {
			s := fmt.Sprintf("%+.5f", unsignedZero(unit.Inch.From(mm), 0.000005))
			if s[1] == '0' {
				s = s[:1] + s[2:]
			}
			return []byte(s + "in\r\n")
		},
	}
)

// placeChannel is the channel of the carriage's position encoder.
const placeChannel = "X"

// placeFrame is "X:+123.45mm".
func placeFrame(mm float64) []byte {
	return fmt.Appendf(nil, "%s:%+.2fmm\r\n", placeChannel, unsignedZero(mm, 0.005))
}

func letter(key bool) string {
	if key {
		return "K"
	}
	return "L"
}

// unsignedZero keeps what rounds to nothing from being written as minus nothing.
func unsignedZero(v, half float64) float64 {
	if v < 0 && v > -half {
		return 0
	}
	return v
}
