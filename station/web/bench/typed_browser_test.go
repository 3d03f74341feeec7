package bench

import (
	"context"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"sagitta/devices"
	"sagitta/devices/decode"
	"sagitta/station/bench"
	"sagitta/station/web/webtest"
)

// typist types into the bench page with exact times between its keys.
type typist struct {
	t   *testing.T
	ctx context.Context
	at  time.Time // of the last key
}

func (k *typist) keys(text string, apart time.Duration) {
	k.t.Helper()
	lasting := time.Duration(len(text)) * apart
	time.Sleep(time.Until(k.at.Add(300*time.Millisecond + lasting))) // the browser takes no time that is still to come
	k.at = time.Now().Add(-lasting)
	for _, r := range text {
		k.at = k.at.Add(apart)
		stamp := input.TimeSinceEpoch(float64(k.at.UnixMicro()) / 1e6)
		webtest.Does(k.t, k.ctx, chromedp.KeyEvent(string(r), func(p *input.DispatchKeyEventParams) { p.Timestamp = stamp }))
	}
}

// keyboardBench serves the bench page of a station with one gauge that types; what it typed is noted.
func keyboardBench(t *testing.T, prefix string) (b *stage, s *webtest.Shop, url string, typed func() []string) {
	t.Helper()
	b, s = storybook(t)
	d, err := decode.Find("signed decimal with unit")
	if err != nil {
		t.Fatal(err)
	}
	var mu sync.Mutex
	var raw []string
	sup, err := devices.New([]devices.Gauge{{ID: "pen", Decoder: d, Capture: devices.CaptureTyped, Prefix: prefix}}, devices.Options{OnReading: func(r devices.Reading) {
		mu.Lock()
		defer mu.Unlock()
		raw = append(raw, string(r.Raw))
	}})
	if err != nil {
		t.Fatal(err)
	}
	mounted(s, Options{Bench: b, Record: s.Rec, Typed: sup.Typed})
	srv := httptest.NewServer(s.Handler)
	t.Cleanup(srv.Close)
	t.Cleanup(srv.CloseClientConnections)
	return b, s, srv.URL, func() []string {
		mu.Lock()
		defer mu.Unlock()
		got := raw
		raw = nil
		return got
	}
}

func TestGaugesThatTypeInBrowser(t *testing.T) {
	t.Parallel()
	ctx := webtest.Browser(t)
	b, s, address, typed := keyboardBench(t, "")
	const fast, slow = 6 * time.Millisecond, 120 * time.Millisecond
	k := &typist{t: t, ctx: ctx, at: time.Now().Add(-time.Minute)}
	entry := func() string { return webtest.Says[string](t, ctx, `document.getElementById("entry-text").value`) }
	awaits := func(what string, got func() []string, want ...string) {
		t.Helper()
		var all []string
		for end := time.Now().Add(time.Minute); len(all) < len(want) && time.Now().Before(end); time.Sleep(5 * time.Millisecond) {
			all = append(all, got()...)
		}
		if !slices.Equal(all, want) {
			t.Errorf("%s: got %q, want %q", what, all, want)
		}
	}
	open := func(snap bench.Snapshot, prefix string) {
		t.Helper()
		snap.Typing = []string{prefix}
		b.show(snap)
		webtest.Does(t, ctx, chromedp.Navigate(address+"/"))
		webtest.Settled(t, ctx, `document.querySelector(".typing") !== null`)
		for b.watching() == 0 {
			time.Sleep(5 * time.Millisecond)
		}
		snap.Notice = &bench.Notice{ID: 1, Text: "The live stream is there."}
		b.show(snap) // the parts that the stream sends at its beginning have been put in place before this
		webtest.Settled(t, ctx, `document.getElementById("notice").textContent.includes("The live stream is there.")`)
		b.noted()
		typed()
	}

	mid := measuring(s, crowned{relief: 0.3}, 12)
	open(mid, "")
	k.keys("QM-2", slow)
	k.keys("+0.310mm\r", fast)
	awaits("the gauge", typed, "+0.310mm\r")
	if got := entry(); got != "QM-2" {
		t.Errorf("the entry line holds %q, want what stood there", got)
	}
	k.keys("+0.320mm\t", fast)
	awaits("ended by Tab", typed, "+0.320mm\t")
	if got := webtest.Says[string](t, ctx, `document.activeElement.id`); got != "entry-text" {
		t.Errorf("the focus went to %q", got)
	}
	if got := b.noted(); len(got) > 0 {
		t.Errorf("the bench got %q", got)
	}

	open(mid, "")
	k.keys("0.31\r", slow)
	awaits("a person", b.noted, `entry "0.31" mm`)
	k.keys("QM-2611-0009\r", fast)
	awaits("the scanner", b.noted, `entry "QM-2611-0009" mm`)
	k.keys("QM 2611 9\r", fast) // a blank within a burst presses nothing
	awaits("a serial number with blanks", b.noted, `entry "QM 2611 9" mm`)
	webtest.Says[bool](t, ctx, `document.querySelector("[data-code=F3]").focus(), true`)
	k.keys("+0.330mm\r", fast) // its Enter presses no button
	awaits("while a button has the focus", typed, "+0.330mm\r")
	if got, calls := entry(), b.noted(); got != "" || len(calls) > 0 {
		t.Errorf("the entry line holds %q, the bench got %q", got, calls)
	}
	k.keys(" ", slow)
	awaits("Space alone", b.noted, "take")

	open(decided(s, crowned{relief: 0.46}), "")
	webtest.Says[bool](t, ctx, `document.querySelector("[data-show=decide-form]").click(), document.querySelector("#decide-form [name=reason]").focus(), true`)
	reason := func() string {
		return webtest.Says[string](t, ctx, `document.querySelector("#decide-form [name=reason]").value`)
	}
	k.keys("agreed", slow)
	k.keys("+0.340mm\r", fast)
	awaits("while a reason is written", typed, "+0.340mm\r")
	if got := reason(); got != "agreed" {
		t.Errorf("the reason reads %q, want what was written", got)
	}
	k.keys("QM-2611-0002\r", fast)
	webtest.Settled(t, ctx, `document.querySelector("#decide-form [name=reason]").value === "agreedQM-2611-0002"`)
	webtest.Says[bool](t, ctx, `document.querySelector("#decide-form [name=disposition]").focus(), true`)
	before := webtest.Says[string](t, ctx, `document.querySelector("#decide-form [name=disposition]").value`)
	k.keys("r", slow) // chooses by its first letter
	webtest.Settled(t, ctx, `document.querySelector("#decide-form [name=disposition]").value !== `+`"`+before+`"`)
	chosen := webtest.Says[string](t, ctx, `document.querySelector("#decide-form [name=disposition]").value`)
	k.keys("+0.350mm\r", fast)
	awaits("while a list has the focus", typed, "+0.350mm\r")
	if got := webtest.Says[string](t, ctx, `document.querySelector("#decide-form [name=disposition]").value`); got != chosen {
		t.Errorf("the list changed from %q to %q", chosen, got)
	}
	if got := b.noted(); len(got) > 0 {
		t.Errorf("the bench got %q", got)
	}

	b, s, address, typed = keyboardBench(t, "%p")
	open(measuring(s, crowned{relief: 0.3}, 12), "%p")
	k.keys("%p+0.360mm\r", slow)
	awaits("a slow gauge with its prefix", typed, "%p+0.360mm\r")
	k.keys("+0.370mm\r", fast)
	awaits("without its prefix", b.noted, `entry "+0.370mm" mm`)
	if got := entry(); got != "" {
		t.Errorf("the entry line holds %q", got)
	}
}

func TestFootSwitchThatTypesInBrowser(t *testing.T) {
	t.Parallel()
	ctx, b, s, address := benchInBrowser(t)
	held := measuring(s, crowned{relief: 0.3}, 12)
	b.show(held)
	webtest.Does(t, ctx, chromedp.Navigate(address+"/"))
	b.noted()
	key := func(kind string) {
		t.Helper()
		webtest.Says[bool](t, ctx, `document.activeElement.dispatchEvent(new KeyboardEvent("`+kind+`", { code: "F8", key: "F8", bubbles: true, cancelable: true })), true`)
	}
	awaits := func(want string) {
		t.Helper()
		var got []string
		for end := time.Now().Add(time.Minute); len(got) == 0 && time.Now().Before(end); time.Sleep(5 * time.Millisecond) {
			got = b.noted()
		}
		if !slices.Equal(got, []string{want}) {
			t.Errorf("the bench got %q, want %q", got, want)
		}
	}
	key("keydown")
	key("keydown") // repeated while it is held
	key("keyup")
	awaits("foot false")
	key("keydown")
	awaits("foot true") // told while the foot is still down
	key("keyup")
	key("keydown")
	key("keyup")
	awaits("foot false")
	if got := webtest.Says[string](t, ctx, `document.querySelector("[data-action=take]")?.innerText ?? ""`); !strings.Contains(got, "Take") {
		t.Errorf("the first key reads %q", got)
	}
}

func TestTypedForm(t *testing.T) {
	_, s, _, typed := keyboardBench(t, "")
	for _, c := range []struct {
		text, end, gaps string
		status          int
	}{
		{"+0.310mm", "Enter", "5 5.5 6 5 5 5 5 5", 204},
		{"+0.310mm", "Enter", "5 5 5 5 5 5 5 80", 404},
		{"QM-2611-0001", "Tab", "5 5 5 5 5 5 5 5 5 5 5 5", 404},
		{"+0.310mm", "F3", "5", 422},
		{"+0.310mm", "Enter", "soon", 422},
		{"+0.310mm", "Enter", "-1", 422},
		{"+0.310mm", "Enter", "NaN", 422},
	} {
		s.Post("/bench/typed", url.Values{"text": {c.text}, "end": {c.end}, "gaps": {c.gaps}}, c.status)
	}
	if got := typed(); !slices.Equal(got, []string{"+0.310mm\r"}) {
		t.Errorf("taken %q", got)
	}
}
