package decode

import (
	"bytes"
	"testing"
)

// Every built-in decoder can be given another line, and is the same apart from it.
func TestWithLine(t *testing.T) {
	want := Line{Baud: 2400, DataBits: 8, Parity: "even", StopBits: 2}
	for _, d := range Builtin() {
		text, err := WithLine(d.Name, want)
		if err != nil {
			t.Errorf("%s: %v", d.Name, err)
			continue
		}
		got, err := Load("set", text)
		if err != nil || got.Line != want || got.Name != d.Name || got.Checksum != d.Checksum || !bytes.Equal(got.Frame.End, d.Frame.End) || !bytes.Equal(got.Request.Bytes, d.Request.Bytes) {
			t.Errorf("%s with another line: %+v, %v", d.Name, got, err)
		}
	}
	if _, err := WithLine("nobody", want); err == nil {
		t.Error("an unknown decoder was set")
	}
	if _, err := WithLine(Builtin()[0].Name, Line{Baud: 2400, DataBits: 11, Parity: "even", StopBits: 2}); err == nil {
		t.Error("a line with eleven data bits was taken")
	}
}
