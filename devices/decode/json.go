package decode

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"io"
)

type readingLine struct {
	At      json.Number `json:"at_ms"`
	Value   *float64    `json:"value"`
	Unit    string      `json:"unit"`
	MM      *float64    `json:"value_mm"`
	Channel string      `json:"channel"`
	Status  string      `json:"status"`
}

type faultLine struct {
	At    json.Number `json:"at_ms"`
	Fault string      `json:"fault"`
	Bytes string      `json:"bytes"`
}

// WriteJSON writes one JSON line per event: a reading's value, unit, value in mm, channel and status, or a refused
// stretch's fault and bytes in hex, without its end mark. A status frame's value and value_mm are null.
func WriteJSON(w io.Writer, events []Event) error {
	var lines bytes.Buffer
	out := json.NewEncoder(&lines)
	for _, e := range events {
		at := json.Number(millis(e.At))
		var line any
		switch v := e.Value; {
		case v == nil:
			line = faultLine{at, e.Fault, hex.EncodeToString(e.Raw[:e.body])}
		case v.IsNumber():
			line = readingLine{at, &v.Value, v.UnitNorm, &v.MM, v.Channel, v.Status}
		default:
			line = readingLine{At: at, Channel: v.Channel, Status: v.Status}
		}
		if err := out.Encode(line); err != nil {
			return err
		}
	}
	_, err := w.Write(lines.Bytes())
	return err
}
