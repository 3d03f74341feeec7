package command

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/devices/simulate"
	"sagitta/inspect"
	"sagitta/station/app"
	"sagitta/station/web/webtest"
)

// stranger opens the station for the first time, in a browser. What they do is counted: a press of a button or a key, or a field filled.
type stranger struct {
	t       *testing.T
	ctx     context.Context
	app     *app.App
	actions int
	began   time.Time
}

// firstDay serves an empty record.
func firstDay(t *testing.T) *stranger {
	ctx := webtest.Browser(t)
	a, err := app.Open(t.Context(), app.Options{Dir: t.TempDir(), Name: "bench 1", Listen: "127.0.0.1:0"})
	if err != nil {
		t.Fatal(err)
	}
	serving, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- a.Serve(serving, nil) }()
	t.Cleanup(func() {
		stop()
		if err := <-ended; err != nil {
			t.Error(err)
		}
		if err := a.Close(); err != nil {
			t.Error(err)
		}
	})
	s := &stranger{t: t, ctx: ctx, app: a}
	webtest.Does(t, ctx, chromedp.EmulateViewport(1280, 800), chromedp.Navigate(a.URL()))
	s.sees(`location.pathname === "/start" && document.activeElement.id === "f-name"`)
	s.began = time.Now()
	return s
}

// sees waits for what a page shows.
func (s *stranger) sees(condition string) {
	s.t.Helper()
	webtest.Settled(s.t, s.ctx, condition)
}

// types fills the field that has the cursor.
func (s *stranger) types(text string) {
	s.t.Helper()
	s.actions++
	webtest.Does(s.t, s.ctx, chromedp.KeyEvent(text))
}

// presses presses a button, or with "" the Enter key.
func (s *stranger) presses(button string) {
	s.t.Helper()
	s.actions++
	if button == "" {
		webtest.Does(s.t, s.ctx, chromedp.KeyEvent("\r"))
		return
	}
	webtest.Says[bool](s.t, s.ctx, fmt.Sprintf(`(document.querySelector(%q).click(), true)`, button))
}

// at the bench nothing is sent before the page hears the station.
const heard = `location.pathname === "/" && document.readyState === "complete" && !document.body.classList.contains("unheard")`

// begins enters a name, gauges by a press and a template, and takes a neck to the bench.
func (s *stranger) begins(with string) {
	s.t.Helper()
	s.types("Mara Quill")
	s.presses("")
	s.sees(`document.querySelector("#gauges.next") !== null`)
	s.picture("start")
	s.presses("form:has([value=" + with + "]) button")
	s.sees(`document.querySelector("#spec.next") !== null`)
	s.presses("#spec button.main")
	s.sees(`document.querySelector("#neck.next") !== null && document.activeElement.name === "serial"`)
	s.types("2026-014")
	s.presses("")
	s.sees(heard + ` && document.querySelector("#keys .main span").textContent === "Confirm"`)
	s.presses(".bigkey.main")
}

// fills puts a text into a field in place of what stands there.
func (s *stranger) fills(field, text string) {
	s.t.Helper()
	s.actions++
	webtest.Says[bool](s.t, s.ctx, fmt.Sprintf(`(document.querySelector(%q).value = %q, true)`, field, text))
}

// key presses a gauge's own key: its line sends a frame.
func (s *stranger) key(line *simulate.Line, frame string) {
	s.t.Helper()
	s.actions++
	until(s.t, "the line is open", line.Open)
	if err := line.Send([]byte(frame), time.Minute); err != nil {
		s.t.Fatal(err)
	}
}

// keyAtBench presses a gauge's own key until the bench has taken what it sends: the first line after the gauge was connected may lack its
// beginning, and the page asks for it again where the press came before the line had been quiet for long enough.
func (s *stranger) keyAtBench(line *simulate.Line, frame, condition string) {
	s.t.Helper()
	missed := func(since uint64) bool {
		n := s.app.Bench.Snapshot().Notice
		return n != nil && n.ID > since && strings.Contains(n.Text, "may lack its beginning")
	}
	for actions, taken := s.actions+1, false; !taken; s.actions = actions {
		var since uint64
		if n := s.app.Bench.Snapshot().Notice; n != nil {
			since = n.ID
		}
		s.key(line, frame)
		until(s.t, condition, func() bool {
			shows, err := chromedp.Run(s.ctx, chromedp.Evaluate[bool](condition))
			taken = shows && err == nil
			return taken || missed(since)
		})
		if s.t.Failed() {
			s.t.FailNow()
		}
	}
}

// picture keeps what the browser drew where SAGITTA_PICTURES names a folder.
func (s *stranger) picture(name string) {
	if folder := os.Getenv("SAGITTA_PICTURES"); folder != "" {
		drawn, err := chromedp.Run(s.ctx, chromedp.CaptureScreenshot())
		if err == nil {
			err = os.WriteFile(filepath.Join(folder, "first-"+name+".png"), drawn, 0o600)
		}
		if err != nil {
			s.t.Fatal(err)
		}
	}
}

// leaf taps the leaf of so many hundredths of a millimetre.
func (s *stranger) leaf(label string) {
	s.t.Helper()
	s.actions++
	webtest.Says[bool](s.t, s.ctx, fmt.Sprintf(`([...document.querySelectorAll(".leaf")].find(b => b.querySelector("b").textContent === %q).click(), true)`, label))
}

// TestFirstVerdictByLeaf: from an empty folder to a verdict with a set of leaves, in ten actions at most and without a file.
func TestFirstVerdictByLeaf(t *testing.T) {
	t.Parallel()
	s := firstDay(t)
	s.begins("leaves")
	s.sees(`document.querySelector(".asked").textContent.startsWith("Bass side") && document.querySelector(".leaf") !== null`)
	s.picture("leaves")
	s.leaf("0.20")
	s.sees(`document.querySelector(".asked").textContent.startsWith("Treble side")`)
	s.leaf("0.25")
	s.sees(`document.querySelector(".verdict.pass .word") !== null`)
	s.picture("verdict")
	t.Logf("%d actions, %.1f s", s.actions, time.Since(s.began).Seconds())
	if s.actions > 10 {
		t.Errorf("%d actions to the first verdict, allowed are 10", s.actions)
	}
	snap := s.app.Bench.Snapshot()
	if snap.Batch.Number != "single-2026-014" || snap.Serial != "2026-014" || snap.Verdict.Disposition != inspect.Pass {
		t.Errorf("batch %q, neck %q, %+v", snap.Batch.Number, snap.Serial, snap.Verdict)
	}
	for _, c := range snap.Result.Characteristics {
		if c.Zone == inspect.NotMeasured {
			t.Errorf("%s is limited and not measured", c.Name)
		}
	}
	if why := webtest.Says[string](t, s.ctx, `document.querySelector(".verdict .why").textContent`); why == "" {
		t.Error("the verdict says nothing")
	} else {
		t.Log(why)
	}
}

// TestFirstValueByLeafAndRuler: with a ruler too the first value stands after ten actions at most, and the strings' heights follow.
func TestFirstValueByLeafAndRuler(t *testing.T) {
	t.Parallel()
	s := firstDay(t)
	s.begins("leaves-ruler")
	s.sees(`document.querySelector(".leaf") !== null`)
	s.leaf("0.20")
	s.sees(`document.querySelector("table.front tr.conforming td.number")?.textContent.startsWith("0.20 to 0.25")`)
	t.Logf("%d actions to the first value", s.actions)
	if s.actions > 10 {
		t.Errorf("%d actions to the first value, allowed are 10", s.actions)
	}
	s.leaf("0.20")
	s.sees(`document.querySelector(".asked").textContent.includes("type what it shows")`)
	for snap := s.app.Bench.Snapshot(); snap.Verdict == nil; snap = s.app.Bench.Snapshot() {
		p, text := snap.Points[snap.Next], "1/64"
		if p.Point.Kind == batch.ActionHeight {
			text = "1.6"
		}
		s.types(text)
		s.presses("")
		s.sees(fmt.Sprintf(`document.querySelector(".verdict .word") !== null || !document.querySelector(".asked").textContent.startsWith(%q)`, tell.Upper(p.Words)))
	}
	t.Logf("%d actions, %.1f s to the verdict", s.actions, time.Since(s.began).Seconds())
	if v := s.app.Bench.Snapshot().Verdict; v.Disposition != inspect.Pass {
		t.Errorf("verdict %+v", v)
	}
	s.picture("ruler")
}

// TestFirstVerdictByGauge: from an empty folder to a verdict with a gauge whose lines no built-in decoder names, in twenty-five actions at most
// and without a file.
func TestFirstVerdictByGauge(t *testing.T) {
	t.Parallel()
	line, err := simulate.OpenLine(filepath.Join(t.TempDir(), "beam"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = line.Close() })
	s := firstDay(t)
	s.types("Mara Quill")
	s.presses("")
	s.sees(`document.querySelector("#gauges.next") !== null`)
	s.fills("#f-port", line.Name())
	s.presses("form[action='/gauges/identify'] button")
	s.sees(`location.pathname === "/gauges/identify"`)
	for n, frame := range []string{" +0.123 mm\r\n", " +1.500 mm\r\n", " -0.020 mm\r\n"} {
		s.key(line, frame)
		s.sees(fmt.Sprintf(`document.querySelectorAll(".press.on").length > %d`, n))
	}
	s.sees(`document.querySelector("#learn-next a[href*='kind=beam']") !== null`)
	s.presses("#learn-next a[href*='kind=beam']")
	s.sees(`document.querySelector("#f-feet_first") !== null`)
	s.picture("beam")
	s.fills("#f-feet_first", "36.4")
	s.fills("#f-feet_second", "405.3")
	s.fills("#f-plunger", "215.5")
	s.presses("#entry button.main")
	s.sees(`location.pathname.startsWith("/gauges/") && location.pathname !== "/gauges/new" && document.querySelector("h1").textContent === "beam on two feet"`)
	s.presses("a.sign")
	s.sees(`document.querySelector("#check.next button") !== null`)
	s.presses("#check button")
	s.sees(heard + ` && document.querySelector(".asked").textContent.includes("flat reference")`)
	s.keyAtBench(line, " +0.001 mm\r\n", `document.querySelector("#stage a[href='/start']") !== null`)
	s.presses("#stage a[href='/start']")
	s.sees(`document.querySelector("#spec.next") !== null`)
	s.presses("#spec button.main")
	s.sees(`document.querySelector("#neck.next") !== null && document.activeElement.name === "serial"`)
	s.types("2026-014")
	s.presses("")
	s.sees(heard + ` && document.querySelector("#keys .main span").textContent === "Confirm"`)
	s.presses(".bigkey.main")
	s.sees(`document.querySelector(".asked").textContent.startsWith("Bass side")`)
	s.keyAtBench(line, " +0.241 mm\r\n", `document.querySelector(".asked").textContent.startsWith("Treble side")`)
	s.keyAtBench(line, " +0.261 mm\r\n", `document.querySelector(".verdict.pass .word") !== null`)
	t.Logf("%d actions, %.1f s", s.actions, time.Since(s.began).Seconds())
	if s.actions > 25 {
		t.Errorf("%d actions to the first verdict, allowed are 25", s.actions)
	}
}

// TestFirstNumberOfABuilder: from an empty folder a builder has the first number of an instrument in six actions, with leaves of their own.
func TestFirstNumberOfABuilder(t *testing.T) {
	t.Parallel()
	s := firstDay(t)
	s.types("Mara Quill")
	s.presses("#name button[name=house]")
	s.sees(`location.pathname === "/instruments/new" && document.activeElement.name === "serial"`)
	s.picture("instrument")
	s.types("2026-014")
	s.presses("")
	s.sees(heard + ` && document.querySelector("#keys .main span").textContent === "Confirm"`)
	s.presses(".bigkey.main")
	s.sees(`document.querySelector(".leaf") !== null`)
	s.leaf("0.20")
	s.sees(`document.querySelector("table.front tr.conforming td.number")?.textContent.startsWith("0.20 to 0.25")`)
	s.picture("number")
	t.Logf("%d actions, %.1f s", s.actions, time.Since(s.began).Seconds())
	if s.actions > 6 {
		t.Errorf("%d actions to the first number, allowed are 6", s.actions)
	}
	snap := s.app.Bench.Snapshot()
	if snap.Batch.Visit != 1 || snap.Serial != "2026-014" || snap.Inspector != "Mara Quill" {
		t.Errorf("visit %d, instrument %q, by %q", snap.Batch.Visit, snap.Serial, snap.Inspector)
	}
}
