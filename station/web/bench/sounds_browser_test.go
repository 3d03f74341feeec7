package bench

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"reflect"
	"slices"
	"sync/atomic"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"sagitta/station/bench"
	"sagitta/station/web/webtest"
)

// recorder stands for the browser's audio and writes down what it is told to play; it may play nothing before it is resumed.
const recorder = `
window.played = [];
window.AudioContext = class extends EventTarget {
	constructor() { super(); this.state = "suspended"; this.currentTime = 0; window.audio = this; }
	async resume() { this.state = "running"; this.dispatchEvent(new Event("statechange")); }
	get destination() { return {}; }
	createGain() { return { gain: { setValueAtTime() {}, exponentialRampToValueAtTime() {} }, connect: (to) => to }; }
	createOscillator() {
		const note = { frequency: {}, connect: (to) => to, start(at) { this.at = at; }, stop(at) { window.played.push({ hz: this.frequency.value, at: this.at, for: Math.round(1000 * (at - this.at)) }); } };
		return note;
	}
};`

// recorded is the bench page with the recorder for its audio.
func recorded(t *testing.T, handler http.Handler) (ctx context.Context, url string, lose func()) {
	t.Helper()
	srv := httptest.NewServer(handler)
	t.Cleanup(srv.Close)
	t.Cleanup(srv.CloseClientConnections)
	ctx = webtest.Browser(t)
	webtest.Does(t, ctx) // the page is there before it is told anything
	if _, err := chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: recorder}); err != nil {
		t.Fatal(err)
	}
	return ctx, srv.URL, srv.CloseClientConnections
}

// hears waits until so many notes were played, forgets them, and returns which sound they are.
func hears(t *testing.T, ctx context.Context, want sound) {
	t.Helper()
	webtest.Settled(t, ctx, `window.played.length >= `+string(rune('0'+len(want.notes()))))
	var got []note
	text := webtest.Says[string](t, ctx, `JSON.stringify(window.played.splice(0).map((n, i, all) => ({ hz: n.hz, at: Math.round(1000 * (n.at - all[0].at)), for: n.for })))`)
	if err := json.Unmarshal([]byte(text), &got); err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(got, want.notes()) {
		t.Errorf("%s: played %v, want %v", want.Name, got, want.notes())
	}
}

// TestSoundsInBrowser: a page that may not play says so until it is touched, and plays each sound of the bench once, in its notes.
func TestSoundsInBrowser(t *testing.T) {
	t.Parallel()
	b, s := storybook(t)
	var cut atomic.Bool
	ctx, url, lose := recorded(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if cut.Load() {
			<-r.Context().Done()
			return
		}
		s.Handler.ServeHTTP(w, r)
	}))
	snap := idle(s)
	snap.Sounds = []bench.Heard{{ID: 3, Sound: bench.Passed}} // over when the page comes
	b.show(snap)
	webtest.Does(t, ctx, chromedp.Navigate(url+"/"))
	webtest.Settled(t, ctx, `!document.getElementById("muted").hidden && document.getElementById("muted").textContent.includes("No sound may be played yet")`)
	webtest.Settled(t, ctx, `document.getElementById("connection").hidden`)
	webtest.Does(t, ctx, chromedp.KeyEvent("x"))
	webtest.Settled(t, ctx, `document.getElementById("muted").hidden`)
	// The stream's first event is behind the page once a later one has changed it.
	snap.Notice = &bench.Notice{ID: 1, Text: "The live stream is there."}
	for b.watching() == 0 {
		webtest.Settled(t, ctx, `true`)
	}
	b.show(snap)
	webtest.Settled(t, ctx, `document.getElementById("notice").textContent.includes("The live stream is there.")`)
	id := uint64(3)
	for _, l := range language {
		if l.Name == bench.Lost {
			continue
		}
		id++
		snap.Sounds = append(snap.Sounds, bench.Heard{ID: id, Sound: l.Name})
		b.show(snap)
		hears(t, ctx, l)
	}
	cut.Store(true)
	lose()
	hears(t, ctx, language[len(language)-1])
}

// TestSoundCheckInBrowser plays each sound with its name.
func TestSoundCheckInBrowser(t *testing.T) {
	t.Parallel()
	b, s := storybook(t)
	ctx, url, _ := recorded(t, s.Handler)
	b.show(idle(s))
	webtest.Does(t, ctx, chromedp.Navigate(url+"/"))
	webtest.Says[bool](t, ctx, `(document.getElementById("sound-check").open = true)`)
	for _, l := range language {
		webtest.Says[bool](t, ctx, `(window.audio.currentTime += 10, document.querySelector('#sound-check [data-sound="`+string(l.Name)+`"]').click(), true)`)
		webtest.Settled(t, ctx, `document.querySelector("#sounds .sound-name").textContent === "`+string(l.Name)+`"`)
		hears(t, ctx, l)
	}
	webtest.Says[bool](t, ctx, `(window.audio.currentTime += 10, document.querySelector('#sound-check [data-sound="all"]').click(), true)`)
	webtest.Settled(t, ctx, `window.played.length > 0`)
	webtest.Settled(t, ctx, `document.querySelector("#sounds .sound-name").textContent === "`+string(language[0].Name)+`"`)
}

// TestSoundCheckWhereTheInspectorIsChosen: whoever signs on can hear every sound with its name, in the order of the language, before that.
func TestSoundCheckWhereTheInspectorIsChosen(t *testing.T) {
	t.Parallel()
	b, s := storybook(t)
	ctx, url, _ := recorded(t, s.Handler)
	unsigned := idle(s)
	unsigned.Inspector = ""
	b.show(unsigned)
	webtest.Does(t, ctx, chromedp.Navigate(url+"/"))
	webtest.Settled(t, ctx, `document.querySelector("#stage #pick-inspector") !== null`)
	webtest.Says[bool](t, ctx, `(Object.defineProperty(window.audio, "currentTime", { get: () => performance.now() / 1000 }), window.named = [],
		new MutationObserver((all) => { for (const { target } of all) if (target.matches("#stage .sound-name")) window.named.push(target.textContent); }).observe(document.body, { childList: true, subtree: true }),
		document.querySelector("#stage [data-sound=all]").click(), true)`)
	var names []string
	notes := 0
	for _, l := range language {
		names, notes = append(names, string(l.Name)), notes+len(l.notes())
	}
	webtest.Settled(t, ctx, `window.named.length >= `+fmt.Sprint(len(names)))
	if got := webtest.Says[[]string](t, ctx, `window.named`); !slices.Equal(got, names) {
		t.Errorf("named %q, want %q", got, names)
	}
	if got := webtest.Says[int](t, ctx, `window.played.length`); got != notes {
		t.Errorf("%d notes were played, want %d", got, notes)
	}
}
