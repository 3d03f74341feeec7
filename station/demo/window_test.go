package demo

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"sagitta/batch"
)

// patience is how long a page may take to show what a test waits for, on a busy machine too.
const patience = 30 * time.Second

// window is one browser window on a demo station.
type window struct {
	t   *testing.T
	ctx context.Context
	d   *Station
	end func() // of the station

	mu     sync.Mutex
	faults []string // exceptions of the pages' modules and what the browser refused to do for them
}

// browser starts one headless browser for all flows. A machine without one cannot say anything here; where
// SAGITTA_BROWSER=required is set that is a failure.
func browser(t *testing.T) context.Context {
	path, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("SAGITTA_BROWSER") == "required" {
			t.Fatal(err)
		}
		t.Skip("no browser: ", err)
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox, chromedp.DisableGPU, chromedp.ExecPath(path),
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true))
	ctx, end := chromedp.NewExecAllocator(t.Context(), options...)
	t.Cleanup(end)
	ctx, end = chromedp.NewContext(ctx)
	t.Cleanup(end)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	return ctx
}

// openWindow opens the bench page of a new demo in a window of its own, and wants no fault in it at the end.
func openWindow(t *testing.T, browser context.Context) *window {
	t.Helper()
	d, end := startDemo(t, t.TempDir(), "127.0.0.1:0")
	t.Cleanup(end)
	w := &window{t: t, d: d, end: end}
	ctx, leave := context.WithTimeout(browser, 3*time.Minute)
	t.Cleanup(leave)
	ctx, leave = chromedp.NewContext(ctx, chromedp.WithNewBrowserContext(), chromedp.WithListener(w.notice))
	t.Cleanup(leave)
	w.ctx = ctx
	t.Cleanup(func() {
		w.mu.Lock()
		defer w.mu.Unlock()
		if len(w.faults) > 0 {
			t.Errorf("the pages had faults:\n%s", strings.Join(w.faults, "\n"))
		}
	})
	w.do(chromedp.EmulateViewport(1280, 900))
	w.open("/")
	return w
}

// notice keeps exceptions and refusals; that a stopped station cannot be reached is none of the page's faults.
func (w *window) notice(ev any) {
	fault := ""
	switch ev := ev.(type) {
	case *runtime.EventExceptionThrown:
		fault = ev.ExceptionDetails.Text
		if e := ev.ExceptionDetails.Exception; e != nil {
			fault += " " + e.Description
		}
	case *log.EventEntryAdded:
		if ev.Entry.Level == "error" && ev.Entry.Source != "network" {
			fault = ev.Entry.Text
		}
	}
	if fault == "" {
		return
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	w.faults = append(w.faults, fault)
}

func (w *window) do(steps ...chromedp.Action[chromedp.Void]) {
	w.t.Helper()
	if err := chromedp.Do(w.ctx, steps...); err != nil {
		w.t.Fatal(err)
	}
}

func (w *window) open(path string) {
	w.t.Helper()
	w.do(chromedp.Navigate(strings.TrimSuffix(w.d.URL(), "/") + path))
}

// js evaluates an expression in the page.
func js[T any](w *window, expression string) T {
	w.t.Helper()
	v, err := chromedp.Run(w.ctx, chromedp.Evaluate[T](expression))
	if err != nil {
		w.t.Fatalf("%s: %v", expression, err)
	}
	return v
}

// text is what a person reads in an element, "" where there is none.
func (w *window) text(selector string) string {
	w.t.Helper()
	return js[string](w, reading(selector))
}

func reading(selector string) string {
	return fmt.Sprintf(`(document.querySelector(%q)?.innerText ?? "")`, selector)
}

// reads waits until an element's text holds what is wanted, whatever the case it is drawn in.
func (w *window) reads(selector, want string) {
	w.t.Helper()
	w.waits(fmt.Sprintf(`%s.toLowerCase().includes(%q)`, reading(selector), strings.ToLower(want)))
}

// waits waits until an expression is true in the page, also while another page comes in its place.
func (w *window) waits(expression string) {
	w.t.Helper()
	for end := time.Now().Add(patience); ; time.Sleep(15 * time.Millisecond) {
		is, err := chromedp.Run(w.ctx, chromedp.Evaluate[bool](expression))
		switch {
		case err == nil && is:
			return
		case time.Now().After(end):
			w.t.Fatalf("never true: %s (%v); the notice reads %q, the bench %q", expression, err, w.text("#notice"), w.text("#stage"))
		}
	}
}

// keys types text as a keyboard or a scanner does.
func (w *window) keys(text string) {
	w.t.Helper()
	w.do(chromedp.KeyEvent(text))
}

// f presses a function key.
func (w *window) f(n int) {
	w.t.Helper()
	w.keys(string(rune(0x0800 + n))) // the driver's name of the key
}

// click presses the button with a label with the pointer.
func (w *window) click(label string) {
	w.t.Helper()
	w.waits(fmt.Sprintf(`[...document.querySelectorAll("button")].some(b => b.offsetParent && b.innerText.includes(%q))`, label))
	js[bool](w, fmt.Sprintf(`[...document.querySelectorAll("button")].find(b => b.offsetParent && b.innerText.includes(%q)).click(), true`, label))
}

// scan brings a neck to the bench and confirms that it is at pitch.
func (w *window) scan(serial string) {
	w.t.Helper()
	w.keys(serial + "\r")
	w.reads("#strip .neck", serial+", attempt 1")
	w.keys(" ")
	w.taken(1)
}

// taken waits until so many points are taken and no more.
func (w *window) taken(points int) {
	w.t.Helper()
	w.waits(fmt.Sprintf(`document.querySelector("#strip .count")?.innerText.startsWith("%d of ")`, points))
}

// press takes points by the simulated gauge's data key.
func (w *window) press(from, points int) {
	w.t.Helper()
	for i := range points {
		w.f(7)
		took := fmt.Sprintf(`document.querySelector("#strip .count").innerText.startsWith("%d of ")`, from+i+1)
		w.waits(took + ` || document.querySelector("#stage .questioned") !== null`)
		if !js[bool](w, took) { // two neighbours may read the same to the last digit, which looks like a bouncing key
			w.f(3)
			w.taken(from + i + 1)
		}
	}
}

// verdict waits for the verdict of an attempt.
func (w *window) verdict(attempt int) string {
	w.t.Helper()
	w.waits(fmt.Sprintf(`document.querySelector(".verdict .word") !== null && document.querySelector("#strip .neck").innerText.includes("attempt %d")`, attempt))
	return strings.ToLower(strings.TrimSpace(w.text(".verdict .word")))
}

// inspections are the neck's in the record, in order.
func (w *window) inspections(serial string) []batch.Inspection {
	w.t.Helper()
	neck, err := w.d.Record.Neck(w.ctx, serial)
	if err != nil {
		w.t.Fatal(err)
	}
	all, err := w.d.Record.Inspections(w.ctx, neck.ID)
	if err != nil {
		w.t.Fatal(err)
	}
	return all
}

func (w *window) readings(in batch.Inspection) []batch.Reading {
	w.t.Helper()
	all, err := w.d.Record.Readings(w.ctx, in.ID)
	if err != nil {
		w.t.Fatal(err)
	}
	return all
}
