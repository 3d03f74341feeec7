package demo

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"sagitta/station/web/webtest"
)

// Signing on at the bench, counted in what a hand does: a badge is one scan, also in mid-neck; name and PIN are eight taps, of which the last sends
// them. The seconds until the page says who is there are in the log; they are no part of the test.
func TestSigningOnAtTheBenchInBrowser(t *testing.T) {
	ctx, leave := context.WithTimeout(browser(t), 3*time.Minute)
	defer leave()
	d, end := startDemo(t, t.TempDir(), "127.0.0.1:0")
	defer end()
	if err := d.SignsOn(t.Context()); err != nil {
		t.Fatal(err)
	}
	webtest.Does(t, ctx, chromedp.EmulateViewport(1280, 800), chromedp.Navigate(d.URL()))
	webtest.Settled(t, ctx, `document.querySelector(".stage.nobody") !== null && document.activeElement.id === "entry-text"`)
	at := func(name string) string {
		return fmt.Sprintf(`document.getElementById("who-here").textContent === %q`, name+" is at the bench.")
	}
	actions := 0
	timed := func(what, name string, want int, do func()) {
		t.Helper()
		actions = 0
		from := time.Now()
		do()
		webtest.Settled(t, ctx, at(name))
		t.Logf("%s: %d actions, %.1f s until the page says so", what, actions, time.Since(from).Seconds())
		if actions != want {
			t.Errorf("%s takes %d actions, want %d", what, actions, want)
		}
	}
	scan := func(code string) func() {
		return func() {
			actions++
			webtest.Does(t, ctx, chromedp.KeyEvent(code+"\r"))
		}
	}
	tap := func(where string) {
		t.Helper()
		actions++
		webtest.Does(t, ctx, chromedp.Click(where))
	}
	timed("a badge", inspector, 1, scan("WH-01"))
	if err := d.Bench.Entry(t.Context(), "QM-2611-0001", "mm"); err != nil {
		t.Fatal(err)
	}
	webtest.Settled(t, ctx, `document.querySelector('[data-action=take]:not(:disabled)') !== null`)
	timed("another's badge in mid-neck", second, 1, scan("OR-01"))
	if err := d.Bench.SignOff(t.Context(), second); err != nil {
		t.Fatal(err)
	}
	webtest.Settled(t, ctx, `document.querySelector(".stage.nobody") !== null && document.querySelector(".stage.nobody .because").textContent.includes("QM-2611-0001 stays as it is")`)
	timed("name and PIN", inspector, 8, func() {
		tap(`[data-action="show-hand"]`)
		tap(fmt.Sprintf(`#hand-form [value=%q]`, inspector))
		for _, digit := range d.signers[1].pin {
			tap(fmt.Sprintf(`[data-digit="%c"]`, digit))
		}
	})
	if s := d.Bench.Snapshot(); s.Serial != "QM-2611-0001" || s.Inspector != inspector {
		t.Errorf("%s is at the bench with %q", s.Inspector, s.Serial)
	}
	webtest.Settled(t, ctx, `document.querySelector('[data-action=take]:not(:disabled)') !== null`) // its keys are theirs
}
