package bench

import (
	"context"
	"fmt"
	"maps"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"sagitta/batch"
	"sagitta/station/bench"
	"sagitta/station/web/webtest"
)

// benchInBrowser opens the bench page, whose state the test chooses.
func benchInBrowser(t *testing.T) (context.Context, *stage, *webtest.Shop, string) {
	b, s := storybook(t)
	srv := httptest.NewServer(s.Handler)
	t.Cleanup(srv.Close)
	t.Cleanup(srv.CloseClientConnections)
	return webtest.Browser(t), b, s, srv.URL
}

func TestBenchInBrowser(t *testing.T) {
	t.Parallel()
	ctx, b, s, url := benchInBrowser(t)
	t.Run("keys", func(t *testing.T) { benchKeys(t, ctx, b, s, url) })
	t.Run("typed text survives an update", func(t *testing.T) { typedTextStays(t, ctx, b, s, url) })
	t.Run("typed forms survive an update", func(t *testing.T) { typedFormsStay(t, ctx, b, s, url) })
	t.Run("notices end", func(t *testing.T) { noticesEnd(t, ctx, b, s, url) })
	t.Run("states are labelled and fit", func(t *testing.T) { labelledAndFitting(t, ctx, b, s, url) })
}

// labelledAndFitting opens every state at a bench's screens, small and large, and on a phone, in light and in dark. SAGITTA_PICTURES names
// a folder to keep what the browser drew.
func labelledAndFitting(t *testing.T, ctx context.Context, b *stage, s *webtest.Shop, url string) {
	// Each check lists what breaks it.
	const checks = `Object.entries({
		"has no label": [...document.querySelectorAll("input:not([type=hidden]), select, textarea")].filter(e => !e.labels.length).map(e => e.outerHTML),
		"says nothing": [...document.querySelectorAll("button, a, [role=img]")].filter(e => !(e.textContent.trim() && e.getAttribute("role") !== "img" || e.getAttribute("aria-label"))).map(e => e.outerHTML.slice(0, 80)),
		"stands twice": [...document.querySelectorAll("[id]")].map(e => e.id).filter((id, i, all) => all.indexOf(id) !== i),
		"is less than 48 px": [...document.querySelectorAll("main button, main select, main summary")].filter(e => e.offsetParent && e.getBoundingClientRect().height < 48).map(e => e.textContent.trim()),
		"is cut by its key": [...document.querySelectorAll(".bigkey, .leaf")].filter(e => e.scrollHeight > e.clientHeight + 1 || e.scrollWidth > e.clientWidth + 1).map(e => e.textContent.trim()),
		"scrolls in its zone": [...document.querySelectorAll("#stage:has(.checked), .sofar")].filter(e => e.offsetParent && e.scrollHeight > e.clientHeight + 1).map(e => e.id + e.className),
		"is not five keys": document.querySelectorAll(".bigkey").length === 5 ? [] : ["the row of keys"],
		"lacks a state word": [...document.querySelectorAll("td.state")].filter(e => !e.querySelector("svg") || !e.textContent.trim()).map(e => e.outerHTML),
	}).filter(([, found]) => found.length).map(([what, found]) => what + ": " + found.join(" | "))`
	for _, size := range screens {
		places := map[string]string{}      // of the zones, by whether the simulated inspector stands below them
		least := map[string]letterHeight{} // of each kind of text
		for _, light := range []string{"light", "dark"} {
			webtest.Does(t, ctx, chromedp.EmulateViewport(size.width, size.height))
			for _, st := range append(stories(s), troubled(s)...) {
				b.show(st.snap)
				webtest.Does(t, ctx, chromedp.Navigate(url+"/"))
				webtest.Settled(t, ctx, `document.activeElement.id === "entry-text" || document.querySelector("#stage form") !== null`)
				webtest.Says[string](t, ctx, fmt.Sprintf("document.documentElement.dataset.light = %q", light))
				leave := func() {}
				if st.name == secondWindow {
					leave = otherWindow(t, ctx, url)
				}
				if st.name == pinPad {
					webtest.Says[bool](t, ctx, `document.querySelector("[data-action=show-hand]").click() ?? true`)
				}
				name := fmt.Sprintf("%s-%d-%s", st.name, size.width, light)
				if found := webtest.Says[[]string](t, ctx, checks); len(found) > 0 {
					t.Errorf("%s: %q", name, found)
				}
				covers := st.name == pinPad && size.width < 900 // what opens there covers the prompt too
				if found := webtest.Says[[]string](t, ctx, fmt.Sprintf(inItsZone, size.mm, size.away)); len(found) > 0 && !covers {
					t.Errorf("%s: %q", name, found)
				}
				place, group := webtest.Says[string](t, ctx, zones), fmt.Sprint(st.snap.Demo)
				if was, known := places[group]; known && was != place {
					t.Errorf("%s: the zones moved from %s to %s", name, was, place)
				}
				places[group] = place
				for _, l := range webtest.Says[[]letterHeight](t, ctx, fmt.Sprintf(letters, size.mm, size.away)) {
					if was, known := least[l.What]; !known || l.Minutes < was.Minutes {
						l.Story = st.name
						least[l.What] = l
					}
				}
				picture(t, ctx, name)
				leave()
			}
		}
		t.Logf("capitals at %d x %d, %g mm a pixel, read from %g mm:", size.width, size.height, size.mm, size.away)
		for _, what := range slices.Sorted(maps.Keys(least)) {
			l := least[what]
			t.Logf("  %-26s %5.1f px %5.2f mm %5.1f minutes of arc, least in %s", what[2:], l.Px, l.Px*size.mm, l.Minutes, l.Story)
		}
	}
}

// letterHeight is how high the capitals of a kind of text are.
type letterHeight struct {
	What        string // begins with a letter that orders the kinds
	Px, Minutes float64
	Story       string
}

// letters measures the capitals of every kind of text at the bench, given mm a pixel and the eye's distance in mm.
const letters = `(() => {
	const mm = %g, away = %g, pen = document.createElement("canvas").getContext("2d");
	return Object.entries({
		"a what is asked": ".asked", "b the number": ".live .digits", "c what it is, in or out": ".meaning .of", "d the raw reading": ".meaning .raw", "e the answer": "#notice p", "f more of a long answer": "#notice .rest",
		"g why it is asked": ".because", "h the verdict": ".verdict .word", "i why": ".verdict .why", "j the first step": ".do", "k what comes of it": ".effect", "l the filled key": ".bigkey.main:not(:disabled) span",
		"m the other keys": ".bigkey:not(.main):not(:disabled) span", "n neck and count": ".strip .neck b, .strip .count", "o a gauge's trouble": ".strip .trouble:not(.well) summary > span", "p the neck so far": "table.front th", "q the caution": ".cautions", "r another window, no sound": "#windows strong, #muted",
	}).flatMap(([what, where]) => [...document.querySelectorAll(where)].filter(e => e.getClientRects().length && getComputedStyle(e).visibility !== "hidden").map(e => {
		const f = getComputedStyle(e);
		pen.font = f.fontWeight + " " + f.fontSize + " " + f.fontFamily;
		const px = pen.measureText("H").actualBoundingBoxAscent;
		return { What: what, Px: px, Minutes: 60 * 180 / Math.PI * Math.atan(px * mm / away) };
	}));
})()`

// otherWindow has another window open until it leaves.
func otherWindow(t *testing.T, ctx context.Context, url string) (leave func()) {
	other, end := context.WithCancel(t.Context())
	listen(t, other, url, "other")
	const says = `document.getElementById("windows").textContent.includes("Open in another window too")`
	webtest.Settled(t, ctx, says)
	return func() { end(); webtest.Settled(t, ctx, "!"+says) }
}

// screens are what a bench is seen on: CSS pixels, mm a pixel, and how far the eye is, mm. A pixel's size is that of common screens
// of these widths (common practice, no source).
var screens = []struct {
	width, height int64
	mm, away      float64
}{{1280, 800, 0.17, 700}, {1024, 600, 0.22, 700}, {390, 844, 0.165, 400}, {1920, 1080, 0.28, 700}}

// zones are the places of the bench's zones.
const zones = `JSON.stringify(["#strip", ".prompt", ".picture", "#keys"].map(z => { const r = document.querySelector(z).getBoundingClientRect(); return [z, r.left, r.top, r.right, r.bottom].map(v => v.toFixed ? Math.round(v) : v) }))`

// inItsZone lists what scrolls, lies outside the screen or its zone, is covered or too small to be read, given mm a pixel and the eye's
// distance in mm. Capitals that are read while measuring subtend 16 minutes of arc (ISO 9241-303 asks for so much at least).
const inItsZone = `(() => {
	const mm = %g, away = %g, found = [];
	const root = document.documentElement;
	if (root.scrollHeight > innerHeight || root.scrollWidth > innerWidth) found.push("the page scrolls: " + root.scrollWidth + " x " + root.scrollHeight);
	const words = e => (e.className.baseVal ?? e.className) + " " + e.textContent.trim().replace(/\s+/g, " ").slice(0, 60);
	const shown = s => [...document.querySelectorAll(s)].filter(e => e.getClientRects().length);
	for (const e of shown(".strip .neck b, .strip .count, .strip .trouble summary svg, .strip [data-more], .asked, .because, .live, .meaning .of, .meaning .raw, .due, #notice p, #entry-text, .verdict .word, .verdict .why, .do, .effect, .cautions, .bigkey span, .bigkey kbd, #board svg, #profile svg, .leaf, .leaf b, .leaf span, .feet input, .feet button, .hold svg, table.front tr, #cautions, .demo button")) {
		const r = e.getBoundingClientRect();
		if (r.width === 0 || r.height === 0) continue;
		if (r.left < -0.5 || r.top < -0.5 || r.right > innerWidth + 0.5 || r.bottom > innerHeight + 0.5) found.push("outside the screen: " + words(e));
		if (e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0) found.push("wider than its place: " + words(e));
		for (let p = e.parentElement; p; p = p.parentElement) {
			if (getComputedStyle(p).overflow === "visible") continue;
			const q = p.getBoundingClientRect();
			if (r.left < q.left - 1 || r.top < q.top - 1 || r.right > q.right + 1 || r.bottom > q.bottom + 1) found.push("cut by " + (p.id || p.className) + ": " + words(e));
		}
		const at = document.elementFromPoint(r.left + r.width / 2, r.top + r.height / 2);
		if (at && !e.contains(at) && !at.contains(e)) found.push("covered by " + words(at) + ": " + words(e));
	}
	const pen = document.createElement("canvas").getContext("2d");
	for (const e of shown(".asked, #notice p, .live .digits, .meaning .of, .meaning .raw, .verdict .word, .verdict .why, .do, .effect, .bigkey:not(:disabled) span, .strip .neck b, .strip .count")) {
		const f = getComputedStyle(e);
		pen.font = f.fontWeight + " " + f.fontSize + " " + f.fontFamily;
		const minutes = 60 * 180 / Math.PI * Math.atan(pen.measureText("H").actualBoundingBoxAscent * mm / away);
		if (minutes < 16) found.push(minutes.toFixed(1) + " minutes of arc: " + words(e));
	}
	return found;
})()`

// picture keeps what the browser drew where SAGITTA_PICTURES names a folder.
func picture(t *testing.T, ctx context.Context, name string) {
	folder := os.Getenv("SAGITTA_PICTURES")
	if folder == "" {
		return
	}
	picture, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, name+".png"), picture, 0o644); err != nil {
		t.Fatal(err)
	}
}

// fKey is the browser driver's name of a function key.
func fKey(n int) string { return string(rune(0x0800 + n)) }

// The browser driver's names of the arrows.
const arrowLeft, arrowRight = "\u0302", "\u0303"

// benchKeys presses every key of the bench in the states where it means something.
func benchKeys(t *testing.T, ctx context.Context, b *stage, s *webtest.Shop, url string) {
	open := func(snap bench.Snapshot) {
		t.Helper()
		b.show(snap)
		webtest.Does(t, ctx, chromedp.Navigate(url+"/"))
		webtest.Settled(t, ctx, `document.activeElement.id === "entry-text"`)
		b.noted()
	}
	// noted is what the bench got, and whether it got anything before the page said that it does not hear the station: on a busy machine
	// a beat may come late, and then nothing is sent.
	noted := func() (got []string, heard bool) {
		t.Helper()
		for deadline := time.Now().Add(time.Minute); time.Now().Before(deadline); time.Sleep(5 * time.Millisecond) {
			if got = b.noted(); len(got) > 0 {
				return got, true
			}
			if webtest.Says[bool](t, ctx, `document.getElementById("notice").textContent.includes("The station is not heard")`) {
				webtest.Settled(t, ctx, `!document.body.classList.contains("unheard") && document.getElementById("notice").textContent === ""`)
				return nil, false
			}
		}
		return nil, true
	}
	does := func(what, want string, act func()) {
		t.Helper()
		act()
		got, heard := noted()
		for !heard {
			act()
			got, heard = noted()
		}
		if !slices.Equal(got, []string{want}) {
			t.Errorf("%q: the bench got %q, want %q; the page: %s", what, got, want, webtest.Says[string](t, ctx,
				`[document.getElementById("notice").textContent, document.getElementById("entry-text").value, document.activeElement.outerHTML.slice(0, 60), document.querySelector(".point.cursor")?.dataset.key, document.body.className].join(" | ")`))
		}
	}
	press := func(keys, want string) {
		t.Helper()
		does(keys, want, func() { webtest.Does(t, ctx, chromedp.KeyEvent(keys)) })
	}
	mid := measuring(s, crowned{relief: 0.3}, 12)
	open(mid)
	press(" ", "take")
	press(fKey(8), "foot false")
	press(fKey(2), "undo")
	press(fKey(3), "skip")
	press(fKey(4), "park ")
	press("0.31\r", `entry "0.31" mm`)
	press("QM-2611-0009\r", `entry "QM-2611-0009" mm`)
	// The arrows go from point to point, Enter chooses; a tap chooses the nearest point.
	asked := mid.Points[mid.Next]
	onCursor := func() string {
		return webtest.Says[string](t, ctx, `document.querySelector(".point.cursor")?.dataset.key ?? ""`)
	}
	webtest.Does(t, ctx, chromedp.KeyEvent(arrowRight))
	if got := onCursor(); got == "" || got == asked.Key {
		t.Errorf("the arrow stands on %q, the point asked for is %q", got, asked.Key)
	}
	webtest.Does(t, ctx, chromedp.KeyEvent(arrowLeft))
	if got := onCursor(); got != asked.Key {
		t.Errorf("right and left stand on %q, want %q", got, asked.Key)
	}
	webtest.Does(t, ctx, chromedp.KeyEvent(arrowLeft))
	press("\r", "choose "+mid.Points[mid.Next-1].Key)
	first := mid.Points[1]
	does("a tap beside a point", "choose "+first.Key, func() {
		webtest.Says[bool](t, ctx, fmt.Sprintf(`(() => { const r = document.querySelector('.point[data-key="%s"] .ring').getBoundingClientRect();
			document.querySelector("#board svg").dispatchEvent(new MouseEvent("click", { bubbles: true, clientX: r.left - 9, clientY: r.top - 4 })); return true })()`, first.Key))
	})
	// Space opens what it stands on and takes nothing behind More.
	webtest.Says[bool](t, ctx, `(document.querySelector("#trouble summary").focus(), true)`)
	webtest.Does(t, ctx, chromedp.KeyEvent(" "))
	webtest.Settled(t, ctx, `document.getElementById("trouble").open`)
	webtest.Says[bool](t, ctx, `(document.getElementById("trouble").open = false, document.querySelector("[data-more]").click(), true)`)
	webtest.Settled(t, ctx, `!document.getElementById("more").hidden`)
	webtest.Does(t, ctx, chromedp.KeyEvent(" "))
	webtest.Does(t, ctx, chromedp.KeyEvent("\u001b"))
	webtest.Settled(t, ctx, `document.getElementById("more").hidden`)
	if got := b.noted(); len(got) > 0 {
		t.Errorf("Space sent %q from a summary or behind More", got)
	}
	held := mid
	held.Question = &bench.Question{Asks: "Use it?"}
	open(held)
	webtest.Does(t, ctx, chromedp.KeyEvent(" ")) // the key that takes readings answers no question
	press(fKey(3), "use true")
	press(fKey(2), "use false")
	press("\u001b", "use false")
	open(decided(s, crowned{relief: 0.46}))
	press(fKey(6), "again")
	press(" ", "clear")
	webtest.Does(t, ctx, chromedp.KeyEvent(fKey(3)))
	webtest.Settled(t, ctx, `document.activeElement.closest("#rework-form")?.querySelector("[name=what]").value === "truss rod"`)
	press("\r", "rework truss rod tighten 0.25 turn 0.0000 mm") // as advised, without another key
	webtest.Settled(t, ctx, `document.activeElement.id === "entry-text"`)
	webtest.Does(t, ctx, chromedp.KeyEvent(fKey(3)))
	webtest.Settled(t, ctx, `document.activeElement.closest("#rework-form") !== null`)
	webtest.Does(t, ctx, chromedp.KeyEvent("\u001b"))
	webtest.Settled(t, ctx, `document.activeElement.id === "entry-text" && document.getElementById("rework-form").hidden`)
	if got := b.noted(); len(got) > 0 {
		t.Errorf("opening and closing the form sent %q", got)
	}
	open(decided(s, crowned{relief: 0.3})) // nothing is advised: the work is chosen first, Enter and Record send nothing
	webtest.Does(t, ctx, chromedp.KeyEvent(fKey(3)))
	webtest.Settled(t, ctx, `document.activeElement.matches("#rework-form [name=what]") && document.activeElement.value === ""`)
	webtest.Does(t, ctx, chromedp.KeyEvent("\r"))
	webtest.Says[bool](t, ctx, `(document.querySelector("#rework-form button.main").click(), true)`)
	does("the work that was chosen", "rework pitch  0 turn 0.0000 mm", func() {
		webtest.Says[bool](t, ctx, `(document.querySelector("#rework-form [name=what]").value = "pitch", document.querySelector("#rework-form button.main").click(), true)`)
	})
}

// TestPageThatHearsNothing takes the station away: the page says so, stops its clock and sends nothing; when it is heard again all is
// well.
func TestPageThatHearsNothing(t *testing.T) {
	t.Parallel()
	b, s := storybook(t)
	var cut atomic.Bool // nothing comes through, and nothing is refused
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if cut.Load() {
			<-r.Context().Done()
			return
		}
		s.Handler.ServeHTTP(w, r)
	}))
	t.Cleanup(srv.Close)
	t.Cleanup(srv.CloseClientConnections)
	ctx := webtest.Browser(t)
	const heard = `!document.body.classList.contains("unheard") && document.getElementById("connection").hidden`
	clock := func() string {
		return webtest.Says[string](t, ctx, `document.querySelector(".clock").textContent`)
	}
	snap := measuring(s, crowned{relief: 0.3}, 12)
	b.show(snap)
	webtest.Does(t, ctx, chromedp.Navigate(srv.URL+"/"))
	webtest.Settled(t, ctx, heard)
	cut.Store(true)
	srv.CloseClientConnections()
	webtest.Settled(t, ctx, `document.body.classList.contains("unheard") && !document.getElementById("connection").hidden`)
	before := clock()
	b.noted()
	webtest.Does(t, ctx, chromedp.KeyEvent(fKey(3)))
	webtest.Settled(t, ctx, `document.getElementById("notice").textContent === "The station is not heard. Nothing was sent."`)
	webtest.Says[bool](t, ctx, `(window.since = performance.now()) > 0`)
	webtest.Settled(t, ctx, `performance.now() - since > 2100`) // its clock would have gone on
	if after := clock(); after != before {
		t.Errorf("the clock went on from %q to %q", before, after)
	}
	cut.Store(false)
	srv.CloseClientConnections()
	webtest.Settled(t, ctx, heard)
	if got := b.noted(); len(got) > 0 {
		t.Errorf("the bench got %q afterwards", got)
	}
}

// typedTextStays types half a value and lets the bench change under it.
func typedTextStays(t *testing.T, ctx context.Context, b *stage, s *webtest.Shop, url string) {
	b.show(idle(s))
	webtest.Does(t, ctx, chromedp.Navigate(url+"/"), chromedp.KeyEvent("QM-26"))
	b.show(measuring(s, crowned{relief: 0.3}, 30))
	webtest.Settled(t, ctx, `document.querySelector(".raw .digits")?.textContent === "−0.127"`)
	if got := webtest.Says[string](t, ctx, `document.getElementById("entry-text").value + "/" + document.activeElement.id`); got != "QM-26/entry-text" {
		t.Errorf("after an update the entry line holds %q, want what was typed and the cursor", got)
	}
}

// noticesEnd lets the bench take back what it says, and refuses a command: what a page said itself goes once it could be read.
func noticesEnd(t *testing.T, ctx context.Context, b *stage, s *webtest.Shop, url string) {
	const said = `document.getElementById("notice").textContent.trim()`
	quiet := measuring(s, crowned{relief: 0.3}, 12)
	says := quiet
	says.Notice = &bench.Notice{ID: 1, Refused: true, Text: "The gauge did not answer."}
	b.show(says)
	webtest.Does(t, ctx, chromedp.Navigate(url+"/"))
	webtest.Settled(t, ctx, said+` === "The gauge did not answer."`)
	b.show(quiet)
	webtest.Settled(t, ctx, said+` === ""`)
	b.refuse(batch.Conflict.Errorf("nothing has been taken"))
	defer b.refuse(nil)
	webtest.Does(t, ctx, chromedp.KeyEvent(fKey(2)))
	webtest.Settled(t, ctx, said+` === "Nothing has been taken."`)
	webtest.Settled(t, ctx, said+` === ""`)
	b.noted()
}

// typedFormsStay types into a form of the bench and lets the bench change under it; another neck's form is empty.
func typedFormsStay(t *testing.T, ctx context.Context, b *stage, s *webtest.Shop, url string) {
	snap := decided(s, crowned{relief: 0.46})
	b.show(snap)
	webtest.Does(t, ctx, chromedp.Navigate(url+"/"), chromedp.KeyEvent(fKey(3)))
	webtest.Settled(t, ctx, `document.activeElement.closest("#rework-form") !== null`)
	webtest.Says[bool](t, ctx, `document.querySelector("#rework-form [name=note]").focus(), true`)
	webtest.Does(t, ctx, chromedp.KeyEvent("turned hard"))
	snap.RodTaught = "Two turns of this neck are on record."
	b.show(snap)
	webtest.Settled(t, ctx, `document.getElementById("steps").textContent.includes("Two turns of this neck")`)
	if got := webtest.Says[string](t, ctx, `document.querySelector("#rework-form:not([hidden]) [name=note]").value + "/" + document.activeElement.name`); got != "turned hard/note" {
		t.Errorf("after an update the form holds %q, want what was typed and the cursor", got)
	}
	other := *snap.Inspection
	other.ID, snap.RodTaught, snap.Inspection = "another", "Nothing is on record.", &other
	b.show(snap)
	webtest.Settled(t, ctx, `document.getElementById("steps").textContent.includes("Nothing is on record")`)
	if got := webtest.Says[string](t, ctx, `document.querySelector("#rework-form [name=note]").value`); got != "" {
		t.Errorf("the form of another inspection holds %q", got)
	}
}
