package bench

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"sagitta/batch"
	"sagitta/station/bench"
	"sagitta/station/web/webtest"
)

// lineFeed types a line feed as some scanners do: Ctrl with J.
func (k *typist) lineFeed(apart time.Duration) {
	k.t.Helper()
	k.at = k.at.Add(apart)
	stamp := input.TimeSinceEpoch(float64(k.at.UnixMicro()) / 1e6)
	webtest.Does(k.t, k.ctx, chromedp.KeyEvent("j", func(p *input.DispatchKeyEventParams) { p.Timestamp, p.Modifiers = stamp, 2 }))
}

// TestScannerInBrowser types as scanners do: fast, with each end of line, without one, into a half-typed line, while a button or a list has
// the focus. Each scan reaches the bench once, and the key after it is the bench's.
func TestScannerInBrowser(t *testing.T) {
	t.Parallel()
	ctx, b, s, address := benchInBrowser(t)
	const fast, slow = 6 * time.Millisecond, 120 * time.Millisecond
	// The driver sends key by key and may be held up between two of them: the pause that ends a scan is longer here.
	webtest.Does(t, ctx)
	if _, err := chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{
		Source: `{ const wait = window.setTimeout; window.setTimeout = (f, ms) => wait(f, ms === 400 ? 4000 : ms); }`}); err != nil {
		t.Fatal(err)
	}
	k := &typist{t: t, ctx: ctx, at: time.Now().Add(-time.Minute)}
	open := func(snap bench.Snapshot) {
		t.Helper()
		b.show(snap)
		webtest.Does(t, ctx, chromedp.Navigate(address+"/"))
		webtest.Settled(t, ctx, `document.activeElement.id === "entry-text"`)
		b.noted()
	}
	awaits := func(what string, want ...string) {
		t.Helper()
		var got []string
		for end := time.Now().Add(time.Minute); len(got) < len(want) && time.Now().Before(end); time.Sleep(5 * time.Millisecond) {
			got = append(got, b.noted()...)
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s: the bench got %q, want %q", what, got, want)
		}
		if left := webtest.Says[string](t, ctx, `document.getElementById("entry-text").value.trim()`); left != "" { // the driver sends Space's character whatever the page does
			t.Errorf("%s: the entry line holds %q", what, left)
		}
	}
	mid := measuring(s, crowned{relief: 0.3}, 12)
	open(mid)
	for i, end := range []string{"\r", "\t", "\r\r", "ctrl-j", "ctrl-m ctrl-j", ""} {
		code := fmt.Sprintf("]C0QM-2611-000%d", i)
		switch end {
		case "ctrl-j":
			k.keys(code, fast)
			k.lineFeed(fast)
		case "ctrl-m ctrl-j":
			k.keys(code+"\r", fast)
			k.lineFeed(fast)
		default:
			k.keys(code+end, fast)
		}
		awaits(fmt.Sprintf("ended by %q", end), fmt.Sprintf("entry %q mm", code))
		if got := webtest.Says[string](t, ctx, `document.activeElement.id`); got != "entry-text" {
			t.Errorf("ended by %q: the focus went to %q", end, got)
		}
		k.keys(" ", slow)
		awaits("the key after it", "take")
	}
	k.keys("QM 26 0001\r", fast) // a blank in a code presses nothing
	awaits("a code with blanks", `entry "QM 26 0001" mm`)
	k.keys("0.3", slow)
	k.keys("QM-2611-0009\r", fast)
	awaits("into a half-typed line", `entry "QM-2611-0009" mm`)
	k.keys("QM-26", fast)
	k.keys("11-0011\r", 60*time.Millisecond) // a slow scanner, or a slow line to it
	awaits("with a pause in the middle", `entry "QM-2611-0011" mm`)
	webtest.Says[bool](t, ctx, `document.querySelector("[data-code=F3]").focus(), true`)
	k.keys("QM-2611-0010\r", fast)
	awaits("while a button has the focus", `entry "QM-2611-0010" mm`)

	// A refused scan leaves nothing behind; a refused value stands to be mended, but keeps no key from the bench.
	b.refuse(batch.Absent.Errorf("nothing was done"))
	k.keys("QM-9\r", fast)
	awaits("a refused scan", `entry "QM-9" mm`)
	b.refuse(nil)
	k.keys(" ", slow)
	awaits("after a refused scan", "take")
	webtest.Says[string](t, ctx, `document.getElementById("entry-text").value = ""`)
	b.refuse(batch.Mendable.Errorf("nothing was done"))
	k.keys("0.3.1\r", slow)
	webtest.Settled(t, ctx, `document.getElementById("entry-text").value === "0.3.1"`)
	b.refuse(nil)
	b.noted()
	k.keys(" ", slow)
	awaits("after a refused value", "take")

	// Who measures is scanned while the list of people has the focus.
	nobody := idle(s)
	nobody.Inspector = ""
	open(nobody)
	webtest.Says[bool](t, ctx, `document.getElementById("pick-inspector").focus(), true`)
	chosen := webtest.Says[string](t, ctx, `document.getElementById("pick-inspector").value`)
	k.keys("TA-0001\r", fast)
	awaits("while the list has the focus", `entry "TA-0001" mm`)
	if got := webtest.Says[string](t, ctx, `document.getElementById("pick-inspector").value`); got != chosen {
		t.Errorf("the list changed from %q to %q", chosen, got)
	}
}
