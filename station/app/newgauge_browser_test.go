package app

import (
	"context"
	"fmt"
	"io"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/creack/pty"
	"go.bug.st/serial"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/station/web/webtest"
)

// person does in a browser what somebody at the bench would, and counts it.
type person struct {
	t       *testing.T
	ctx     context.Context
	actions int
}

func (p *person) click(selector string) {
	p.t.Helper()
	p.actions++
	webtest.Settled(p.t, p.ctx, fmt.Sprintf("document.readyState === 'complete' && document.querySelector(%q) !== null", selector))
	webtest.Does(p.t, p.ctx, chromedp.Click(selector))
}

func (p *person) types(selector, text string) {
	p.t.Helper()
	p.actions++
	webtest.Settled(p.t, p.ctx, fmt.Sprintf("document.querySelector(%q) !== null", selector))
	webtest.Does(p.t, p.ctx, chromedp.SendKeys(selector, text))
}

func (p *person) chooses(selector, value string) {
	p.t.Helper()
	p.actions++
	webtest.Does(p.t, p.ctx, chromedp.SetValue(selector, value))
}

// reads waits until the page says something.
func (p *person) reads(text string) {
	p.t.Helper()
	webtest.Settled(p.t, p.ctx, fmt.Sprintf("document.querySelector('main') !== null && document.querySelector('main').innerText.includes(%q)", text))
}

// unitOnLine is a gauge on a pseudo-terminal: what it sends by itself, at a press, or answers to what it is asked.
type unitOnLine struct {
	path   string
	master *os.File
}

func newUnit(t *testing.T) unitOnLine {
	t.Helper()
	master, slave, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	raw, err := serial.Open(slave.Name(), &serial.Mode{BaudRate: 9600}) // raw mode, so that nothing is echoed
	if err != nil {
		t.Fatal(err)
	}
	_ = raw.Close()
	t.Cleanup(func() { _, _ = master.Close(), slave.Close() })
	return unitOnLine{slave.Name(), master}
}

// press sends one line.
func (u unitOnLine) press(line string) { _, _ = io.WriteString(u.master, line) }

// TestNewGaugesInBrowser enters four gauges into an empty record, by path: one that sends when its key is pressed, a line that no built-in
// decoder reads; one that sends all the time; one that answers only when asked; one that types. Each is then read by the station. The
// actions are counted, the seconds printed.
func TestNewGaugesInBrowser(t *testing.T) {
	t.Parallel()
	ctx := webtest.Browser(t)
	a, err := Open(t.Context(), Options{Dir: t.TempDir(), Name: "bench 1", Listen: "127.0.0.1:0", Retry: 20 * time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	serving, end := context.WithCancel(t.Context())
	served := make(chan error, 1)
	go func() { served <- a.Serve(serving, nil) }()
	defer func() {
		end()
		if err := <-served; err != nil {
			t.Error(err)
		}
		if err := a.Close(); err != nil {
			t.Error(err)
		}
	}()
	var mu sync.Mutex
	states := map[string]devices.State{}
	a.lines.health.show = func(h devices.Health) {
		mu.Lock()
		states[h.Gauge] = h.State
		mu.Unlock()
		a.Bench.Health(h)
	}
	if _, err := a.Record.AddPerson(t.Context(), "Wren Halloway", "Wren Halloway", batch.Inspector); err != nil {
		t.Fatal(err)
	}
	p := &person{t: t, ctx: ctx}
	// enter goes on from the page that shows what is read to the saved entry, and waits until the station reads the gauge.
	enter := func(kind string, most int, began time.Time, send func()) {
		t.Helper()
		p.click(fmt.Sprintf(`#learn-next a[href*="kind=%s"]`, kind))
		webtest.Settled(t, ctx, `document.querySelector('#entry [name="by"]') !== null`)
		p.chooses(`#entry [name="by"]`, "Wren Halloway")
		if webtest.Says[bool](t, ctx, `document.querySelector('[name="compared"]') !== null`) {
			p.click(`[name="compared"]`)
		}
		p.click(`#entry .keys .main`)
		webtest.Settled(t, ctx, `location.pathname.startsWith("/gauges/") && !location.pathname.endsWith("/new") && document.querySelector("h1") !== null`)
		id := webtest.Says[string](t, ctx, `location.pathname.split("/").pop()`)
		for until := time.Now().Add(time.Minute); ; time.Sleep(20 * time.Millisecond) {
			mu.Lock()
			state := states[id]
			mu.Unlock()
			if state == devices.StateLive {
				break
			}
			if time.Now().After(until) {
				t.Fatalf("%s: the gauge is %s; the page says %s", kind, state, webtest.Says[string](t, ctx, `document.querySelector("main").innerText.slice(0, 600)`))
			}
			send()
		}
		t.Logf("%s: %d actions, %.1f s", kind, p.actions, time.Since(began).Seconds())
		if p.actions > most {
			t.Errorf("%s took %d actions, want %d at most", kind, p.actions, most)
		}
	}
	begin := func(path string) time.Time {
		p.actions = 0
		webtest.Does(t, ctx, chromedp.Navigate(a.URL()+"gauges"))
		began := time.Now()
		p.click(`main a[href="/gauges/new"]`)
		if path != "" {
			p.types(`#ports [name="port"]:not([type=hidden])`, path)
			p.click(`#ports form.row button`)
			webtest.Settled(t, ctx, `location.pathname === "/gauges/identify"`)
			p.reads("Press the gauge's key three times")
		}
		return began
	}

	key := newUnit(t)
	began := begin(key.path)
	for i, line := range []string{" +0.123 mm\r\n", " +1.500 mm\r\n", " -0.020 mm\r\n"} {
		key.press(line)
		p.reads(strings.NewReplacer("-", "\u2212").Replace(strings.TrimSpace(line)))
		p.reads(fmt.Sprintf("%d of 3 presses read", i+1)) // the page moves by itself, though the form that led to it had a fragment
	}
	p.reads("That is enough")
	enter("height", 7, began, func() { key.press(" +2.000 mm\r\n") })

	stream := newUnit(t)
	began = begin(stream.path)
	streaming, stop := context.WithCancel(t.Context())
	defer stop()
	go func() {
		for n := 0; streaming.Err() == nil; n++ {
			stream.press([]string{"A0.120\r", "A1.000\r", "A-0.350\r"}[n%3])
			time.Sleep(100 * time.Millisecond)
		}
	}()
	p.reads("That is enough")
	enter("indicator", 8, began, func() {})
	stop()

	polled := newUnit(t)
	go func() {
		heights := []string{"0.50 mm\r\n", "0.75 mm\r\n", "-0.25 mm\r\n"}
		asked, buf := "", make([]byte, 64)
		for n := 0; ; {
			k, err := polled.master.Read(buf)
			if err != nil {
				return
			}
			if asked += string(buf[:k]); strings.HasSuffix(asked, "?\r") {
				asked = ""
				polled.press(heights[n/2%3])
				n++
			}
		}
	}()
	began = begin(polled.path)
	p.click(`form:has([name="ask"]) button`)
	p.reads("That is enough")
	enter("caliper", 8, began, func() {
		for _, g := range a.Bench.Snapshot().Gauges {
			_ = a.lines.ask(g.ID) // as Take does
		}
	})

	began = begin("")
	p.types(`#f-typed`, "0.123\r1.456\r-0.020\r") // its key, three times
	p.click(`form[action$="/typed"] button`)
	p.reads("That is enough")
	enter("caliper", 7, began, func() {
		a.lines.typed(devices.Burst{Text: "2.000", End: '\r', Gaps: make([]time.Duration, 5)})
	})
}
