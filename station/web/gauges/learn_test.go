package gauges

import (
	"context"
	"html"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/devices/decode"
	"sagitta/devices/decode/infer"
	"sagitta/station/web/webtest"
	"sagitta/testdata/usb"
)

// lesson is what was heard of presses a second apart, at 4800 baud with seven bits and even parity.
func lesson(lines ...string) devices.Lesson {
	l := devices.Lesson{Heard: infer.Heard{Line: decode.Line{Baud: 4800, DataBits: 7, Parity: "even", StopBits: 1}}, Settled: len(lines) > 0, Number: 2, Of: 16, Failed: 1}
	for i, line := range lines {
		l.Chunks = append(l.Chunks, decode.Chunk{At: time.Duration(i+1) * time.Second, Bytes: []byte(line)})
		l.Bytes += len(line)
	}
	return l
}

// sends fills a form as a page brought it: hidden and text inputs, areas, and what is chosen of selects and boxes.
func sends(page string) url.Values {
	v := url.Values{}
	for _, m := range regexp.MustCompile(`<input[^>]*? name="([^"]+)"[^>]*? value="([^"]*)"([^>]*)>`).FindAllStringSubmatch(page, -1) {
		if !strings.Contains(m[0], `type="checkbox"`) || strings.Contains(m[3], "checked") {
			v.Add(m[1], html.UnescapeString(m[2]))
		}
	}
	for _, m := range regexp.MustCompile(`(?s)<textarea[^>]*? name="([^"]+)"[^>]*>\n?(.*?)</textarea>`).FindAllStringSubmatch(page, -1) {
		v.Add(m[1], html.UnescapeString(m[2]))
	}
	for _, m := range regexp.MustCompile(`(?s)<select[^>]*? name="([^"]+)"[^>]*>(.*?)</select>`).FindAllStringSubmatch(page, -1) {
		options := regexp.MustCompile(`<option value="([^"]*)"( selected)?>`).FindAllStringSubmatch(m[2], -1)
		chosen := options[0][1]
		for _, o := range options {
			if o[2] != "" {
				chosen = o[1]
			}
		}
		v.Add(m[1], html.UnescapeString(chosen))
	}
	return v
}

// page is a page as it is read.
func (s *shop) page(path string) string {
	s.Helper()
	return strings.NewReplacer("&#43;", "+", "&#39;", "'").Replace(s.Get(path, 200))
}

// entryOf is the gauge's form on a page.
func entryOf(page string) url.Values { return sends(page[strings.Index(page, `id="entry"`):]) }

// A gauge whose lines no built-in decoder reads is entered by pressing three times: the page says what to do at every press, shows the
// values beside the bytes, the form is filled in, and what is saved is the decoder that read them, also as a file.
func TestAGaugeIsEnteredByPressingThreeTimes(t *testing.T) {
	s := openShop(t)
	webtest.Wants(t, s.Get("/gauges/new", 200), "Listen to /dev/ttyUSB3", "A port that is not listed", "It types like a keyboard", "read by eye")
	if to := s.Post("/gauges/identify", url.Values{"port": {"/dev/ttyUSB3"}}, 303); to != "/gauges/identify" {
		t.Errorf("goes to %s", to)
	}
	webtest.Wants(t, s.page("/gauges/identify"), "Press the gauge's key three times", "0 of 3 presses")
	noise := lesson()
	noise.Noise = []byte{0xfe, 0x8c}
	s.lines.tells(noise)
	webtest.Wants(t, s.page("/gauges/identify"), "was set another way", "press the gauge's key again", "Setting 2 of 16: 4800 baud, 7 data bits, even parity", `\xfe\x8c`)
	presses := []string{" +0.123 mm\r\n", " +1.500 mm\r\n", " -0.020 mm\r\n"}
	for n := range presses {
		s.lines.tells(lesson(presses[:n+1]...))
		page := s.page("/gauges/identify")
		webtest.Wants(t, page, []string{"+0.123 mm", "+1.500 mm", "\u22120.020 mm"}[n], "what is it?", "<small>digits</small>", "<small>sign</small>", "<small>unit</small>")
		webtest.Wants(t, page, []string{"1 press of 3 read. Press again at another height", "2 presses of 3 read", "That is enough. Compare"}[n])
	}
	now := s.page("/gauges/identify/now")
	if webtest.Wants(t, now, "\u22120.020 mm", `id="learn-now"`); strings.Contains(now, "<html") {
		t.Error("what moves comes with a whole page")
	}
	page := s.page("/gauges/new?kind=height+gauge&learnt=yes")
	webtest.Wants(t, page, "+0.123 mm", "+1.500 mm", "\u22120.020 mm", "Add a gauge: height gauge", `value="0.001"`, "baud = 4800", usb.Serial)
	if strings.Contains(page, "compared") {
		t.Error("a comparison is asked for though nothing is open")
	}
	entry := entryOf(page)
	entry.Set("by", "Mara Quill")
	to := s.Post("/gauges", entry, 303)
	g := s.saved(to)
	d, err := decode.Load("saved", []byte(g.Decoder))
	if err != nil {
		t.Fatal(err)
	}
	events := (&decode.Capture{Chunks: []decode.Chunk{{At: 1, Bytes: []byte(" +9.876 mm\r\n")}}}).Decode(d)
	if len(events) != 1 || events[0].Value == nil || events[0].Value.MM != 9.876 || d.Line.Baud != 4800 || g.Kind != batch.HeightGauge || g.USBSerial != usb.Serial || g.ResolutionMM != 0.001 || g.Capture != "key" {
		t.Errorf("saved %+v, which reads %+v", g, events)
	}
	file, err := os.ReadFile(filepath.Join(s.folder, "height-gauge.toml"))
	if err != nil || string(file) != g.Decoder {
		t.Errorf("the decoder's file: %v\n%s", err, file)
	}
	webtest.Wants(t, s.page("/gauges/new?kind=caliper"), "(height-gauge.toml)")
	if left := s.page("/gauges/identify"); strings.Contains(left, ">Stop<") {
		t.Error("the port is still listened to")
	}
}

// saved is the gauge at a path.
func (s *shop) saved(path string) batch.Gauge {
	s.Helper()
	all, err := s.Rec.Gauges(context.Background())
	if err != nil {
		s.Fatal(err)
	}
	for _, g := range all {
		if "/gauges/"+g.ID == path {
			return g
		}
	}
	s.Fatalf("no gauge at %s", path)
	return batch.Gauge{}
}

// What the bytes leave open is asked: without the tick that the values were compared nothing is saved, and the refused page shows them; the
// choice of a unit and of the point's place changes what is read, and settles it.
func TestAWrongDecoderIsNotSavedUnseen(t *testing.T) {
	s := openShop(t)
	s.Post("/gauges/identify", url.Values{"port": {"/dev/ttyUSB3"}}, 303)
	s.lines.tells(lesson("+000012\r", "+001234\r", "-000456\r"))
	webtest.Wants(t, s.page("/gauges/identify"), "+1.234 mm", "No word of the line names the unit", "digits without a point", "byte by byte")
	page := s.page("/gauges/new?kind=indicator&learnt=yes")
	webtest.Wants(t, page, "+1.234 mm", `name="compared"`)
	entry := entryOf(page)
	entry.Set("by", "Mara Quill")
	before, _ := s.Rec.Gauges(context.Background())
	webtest.Wants(t, html.UnescapeString(s.Post("/gauges", entry, 422)), "were not compared with the gauge", "+1.234 mm", "+0.012 mm")
	if after, _ := s.Rec.Gauges(context.Background()); len(after) != len(before) {
		t.Fatal("it was saved")
	}
	if _, err := os.Stat(filepath.Join(s.folder, "indicator-on-a-carriage.toml")); err == nil {
		t.Error("its decoder was")
	}
	s.Post("/gauges/identify/choice", url.Values{"unit": {"in"}, "places": {"4"}}, 303)
	webtest.Wants(t, s.page("/gauges/identify"), "+0.1234 in", "3.13436 mm", "Leave it to the bytes")
	page = s.page("/gauges/new?kind=indicator&learnt=yes")
	if webtest.Wants(t, page, "+0.1234 in"); strings.Contains(page, `name="compared"`) {
		t.Error("what a person chose is asked for again")
	}
	s.Post("/gauges/identify/choice", url.Values{"anew": {"yes"}}, 303)
	webtest.Wants(t, s.page("/gauges/identify"), "+1.234 mm")
}

// The roles of the bytes are chosen one by one: here the second number is the reading.
func TestBytesAreGivenTheirRoles(t *testing.T) {
	s := openShop(t)
	s.Post("/gauges/identify", url.Values{"port": {"/dev/ttyUSB3"}}, 303)
	s.lines.tells(lesson("+0.012 +1.000\r\n", "+0.500 +2.000\r\n", "-0.100 +3.000\r\n"))
	page := s.page("/gauges/identify")
	webtest.Wants(t, page, "more than one number", "byte 15 is", "read another way")
	choice := sends(page[strings.Index(page, `id="learn-correct"`):])
	if len(choice["role"]) != 15 {
		t.Fatalf("%d roles", len(choice["role"]))
	}
	for i := range 7 {
		choice["role"][i] = "text"
	}
	choice["role"][7] = "sign"
	for i := 8; i < 13; i++ {
		choice["role"][i] = "digits"
	}
	choice.Del("anew")
	s.Post("/gauges/identify/choice", choice, 303)
	webtest.Wants(t, s.page("/gauges/identify"), "+3.000 mm", "+2.000 mm")
	for i := range choice["role"] {
		choice["role"][i] = "text"
	}
	s.Post("/gauges/identify/choice", choice, 303)
	webtest.Wants(t, s.page("/gauges/identify"), "Nothing can be read with these choices", "Leave it to the bytes")
}

// A gauge that types is learnt from what it typed into the page.
func TestATypingGaugeIsLearnt(t *testing.T) {
	s := openShop(t)
	s.Post("/gauges/identify/typed", url.Values{"typed": {"0.123\r\n1.456\r\n-0.020\r\n"}}, 303)
	webtest.Wants(t, s.page("/gauges/identify"), "a gauge that types", "+1.456 mm", "That is enough")
	entry := entryOf(s.page("/gauges/new?kind=caliper&learnt=yes"))
	entry.Set("by", "Mara Quill")
	entry.Set("compared", "yes")
	if g := s.saved(s.Post("/gauges", entry, 303)); g.Capture != "typed" || g.Path != "" || g.Kind != batch.CaliperGauge {
		t.Errorf("saved %+v", g)
	}
	anew := openShop(t) // the station, started anew: nobody sees what the decoder reads
	for range 2 {
		webtest.Wants(t, anew.Post("/gauges", entry, 409), "What was heard of this gauge is gone", `name="learnt"`)
	}
	webtest.Wants(t, s.Post("/gauges/identify/typed", url.Values{"typed": {strings.Repeat("+0.123 mm ", 1000)}}, 422), "a gauge")
	s.Post("/gauges/identify/typed", url.Values{"typed": {""}}, 303)
	webtest.Wants(t, s.page("/gauges/identify"), "Nothing was typed")
}

// A second search is refused beside the port that was typed while somebody looks at the first; a port that cannot be opened says why.
func TestIdentifyKeepsThePort(t *testing.T) {
	s := openShop(t)
	s.Post("/gauges/identify", url.Values{"port": {"/dev/ttyS0"}}, http.StatusSeeOther)
	s.page("/gauges/identify")
	webtest.Wants(t, s.Post("/gauges/identify", url.Values{"port": {"/dev/ttyS1"}}, http.StatusConflict), `value="/dev/ttyS1"`, "The gauge on /dev/ttyS0 is being identified", `id="port-error"`)
	s.Post("/gauges/identify/stop", nil, 303)
	s.lines.fails = &devices.Error{Kind: devices.Denied, Port: "/dev/ttyS1"}
	s.Post("/gauges/identify", url.Values{"port": {"/dev/ttyS1"}}, http.StatusSeeOther)
	page := ""
	for end := time.Now().Add(time.Minute); !strings.Contains(page, "may not open") && time.Now().Before(end); time.Sleep(5 * time.Millisecond) {
		page = s.page("/gauges/identify")
	}
	webtest.Wants(t, page, "this user may not open the port", "often dialout", "How to be given the right to a port")
}
