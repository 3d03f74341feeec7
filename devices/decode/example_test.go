package decode_test

import (
	"fmt"
	"os"
	"time"

	"sagitta/devices/decode"
)

func ExampleLoad() {
	_, err := decode.Load("dial.toml", []byte(`
name = "dial"
family = "text"
[line]
baud = 9600
parity = "evn"
[frame]
end = "\r\n"
[text]
pattern = '(?P<digits>\d+\.\d{3})'
`))
	fmt.Println(err)
	// Output:
	// dial.toml:6: line.parity: found "evn"; allowed: "none", "even", "odd", "mark", "space"; did you mean "even"?
	// dial.toml:9: text.default_unit: missing; the pattern has no group unit, so say "mm" or "in" here
}

func ExampleStream() {
	d, err := decode.Find("signed decimal with unit")
	if err != nil {
		fmt.Println(err)
		return
	}
	s := d.Stream(true)
	events := s.Feed(0, []byte("+0.0120in\r\n+1.9"))
	events = append(events, s.Idle(300*time.Millisecond)...)
	if err := decode.WriteJSON(os.Stdout, events); err != nil {
		fmt.Println(err)
	}
	// Output:
	// {"at_ms":0,"value":0.012,"unit":"in","value_mm":0.3048,"channel":"","status":""}
	// {"at_ms":0,"fault":"cut","bytes":"2b312e39"}
}
