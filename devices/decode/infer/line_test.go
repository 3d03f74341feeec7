package infer

import (
	"testing"
	"time"

	"sagitta/devices/decode"
	"sagitta/devices/simulate"
)

// TestReadable sends lines at every usual rate to a receiver at every usual rate: only where both are the same are they text, and a
// parity bit heard as the eighth is told and taken away.
func TestReadable(t *testing.T) {
	rates := []int{1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200}
	settings := []decode.Line{{DataBits: 8, Parity: "none", StopBits: 1}, {DataBits: 7, Parity: "even", StopBits: 1}, {DataBits: 7, Parity: "odd", StopBits: 1}, {DataBits: 7, Parity: "none", StopBits: 2}}
	for _, sent := range []string{" +0.123 mm\r\n", "+1.950mm\r\n", "-.01220in\r\n", "+000123\r", "\x02+0001.950mm5E\x03", "01A-0012.345\r\n", "0.987\r\n"} {
		for _, from := range rates {
			for _, s := range settings {
				s.Baud = from
				for _, to := range rates {
					line := decode.Line{Baud: to, DataBits: 8, Parity: "none", StopBits: 1}
					heard := simulate.Garble([]byte(sent), simulate.Setting(s), simulate.Setting(line))
					got, chunks, ok := Readable(line, []decode.Chunk{{At: time.Second, Bytes: heard}})
					switch {
					case ok != (from == to):
						t.Errorf("%q sent at %s, heard at %d: %q is readable: %v", sent, s.Words(), to, heard, ok)
					case ok && (got != s || string(chunks[0].Bytes) != sent || chunks[0].At != time.Second):
						t.Errorf("%q sent at %s is heard as %q at %s", sent, s.Words(), chunks[0].Bytes, got.Words())
					}
				}
			}
		}
	}
}
