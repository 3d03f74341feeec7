package gauges

import (
	"bytes"
	"encoding/hex"
	"slices"
	"strconv"
	"strings"

	"sagitta/batch/tell"
	"sagitta/devices/decode"
	"sagitta/devices/decode/infer"
	"sagitta/inspect/unit"
	"sagitta/station/web/show"
)

// candidateWords says what decoder a candidate is.
func candidateWords(c infer.Candidate) string {
	if c.Builtin != "" {
		return "the built-in decoder " + c.Builtin
	}
	return "a decoder made of what came"
}

// readLine is one frame beside what is read of it.
type readLine struct {
	Parts []markedPart
	Raw   string // for a screen reader
	Value string // what it reads, in the gauge's unit; a status, or why it was refused
	Also  string // the same in the page's unit, "" where that is the gauge's
}

// markedPart is a field of a frame.
type markedPart struct {
	Role  decode.Role
	Words string // of the role
	Text  string
}

// roleWords are the roles in words.
var roleWords = map[decode.Role]string{
	decode.RoleStart: "start", decode.RoleChannel: "channel", decode.RoleSign: "sign", decode.RoleDigits: "digits", decode.RoleUnit: "unit",
	decode.RoleStatus: "status", decode.RoleChecksum: "checksum", decode.RoleEnd: "end", decode.RoleText: "no meaning",
}

// mostRead is how many of the newest frames are shown.
const mostRead = 6

// readLines are the newest frames, the newest first.
func readLines(c infer.Candidate, lengths unit.Unit) []readLine {
	var lines []readLine
	for _, e := range slices.Backward(c.Reads) {
		if len(lines) == mostRead {
			break
		}
		l := readLine{Raw: tell.Printable(e.Raw)}
		for _, p := range c.Decoder.Parts(e.Raw) {
			words := roleWords[p.Role]
			if p.Role == decode.RoleText && len(bytes.Trim(e.Raw[p.From:p.To], " ")) == 0 {
				words = "blank"
			}
			l.Parts = append(l.Parts, markedPart{p.Role, words, shown(e.Raw[p.From:p.To])})
		}
		switch {
		case e.Value == nil:
			l.Value = "refused: " + e.Why
		case !e.Value.IsNumber():
			l.Value = e.Value.Status
		default:
			l.Value, l.Also = valueWords(*e.Value, lengths)
		}
		lines = append(lines, l)
	}
	return lines
}

// valueWords writes a value with the decimals it was sent with, in the gauge's unit, and in the page's where that is another.
func valueWords(v decode.Value, lengths unit.Unit) (own, also string) {
	digits := func(number string) int {
		_, behind, _ := strings.Cut(strings.Replace(number, ",", ".", 1), ".")
		return len(behind)
	}
	places := max(digits(v.Digits), digits(strconv.FormatFloat(v.Value, 'f', -1, 64)))
	own = show.Fixed(v.Value, min(places, 9), true) + " " + v.UnitNorm
	if v.UnitNorm != lengths.String() {
		also = show.Exact(v.MM, lengths)
	}
	return own, also
}

// shown writes bytes so that each is seen: a blank as an open box, what cannot be printed by its name or number.
func shown(raw []byte) string {
	names := map[byte]string{' ': "␣", '\r': "CR ", '\n': "LF ", 2: "STX ", 3: "ETX ", '\t': "TAB ", 0: "NUL "}
	var b strings.Builder
	for _, v := range raw {
		switch name := names[v]; {
		case name != "":
			b.WriteString(name)
		case v < ' ' || v > '~':
			b.WriteString(strings.ToUpper(hex.EncodeToString([]byte{v})) + " ")
		default:
			b.WriteByte(v)
		}
	}
	return string(bytes.TrimRight([]byte(b.String()), " "))
}
