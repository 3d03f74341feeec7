package bench

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/chromedp/chromedp"

	"sagitta/batch"
	"sagitta/station/web/webtest"
)

// TestTwoWindows opens two pages of one bench: each says that the other is open, what is pressed in one is told in both, and when one is
// closed the other is alone. A page loaded anew is no second one.
func TestTwoWindows(t *testing.T) {
	t.Parallel()
	b, s := storybook(t)
	b.show(measuring(s, crowned{relief: 0.3}, 12))
	url := s.Serve()
	one, two := webtest.Browser(t), webtest.Browser(t)
	const said = `document.getElementById("windows").textContent`
	webtest.Does(t, one, chromedp.Navigate(url+"/"))
	webtest.Settled(t, one, `document.getElementById("connection").hidden && document.activeElement.id === "entry-text"`)
	webtest.Does(t, one, chromedp.Reload())
	webtest.Settled(t, one, `document.activeElement.id === "entry-text" && document.body.dataset.window !== undefined`)
	if got := webtest.Says[string](t, one, said); got != "" {
		t.Errorf("the only window says %q", got)
	}
	webtest.Does(t, two, chromedp.Navigate(url+"/"))
	webtest.Settled(t, two, said+`.includes("Open in another window too: keys count in both.")`)
	webtest.Settled(t, one, said+`.includes("Open in another window too: keys count in both.")`)
	b.noted()
	webtest.Does(t, two, chromedp.KeyEvent(fKey(2)))
	webtest.Settled(t, two, said+`.includes("The last key was pressed here.")`)
	webtest.Settled(t, one, said+`.includes("The last key was pressed elsewhere.")`)
	if got := b.noted(); !slices.Equal(got, []string{"undo"}) {
		t.Errorf("the bench got %q", got)
	}
	webtest.Does(t, two, chromedp.Navigate("about:blank"))
	webtest.Settled(t, one, said+` === ""`)
	// Once more, for the page that was there first: the answer to a reload is not "another window".
	webtest.Does(t, one, chromedp.Reload())
	webtest.Settled(t, one, `document.activeElement.id === "entry-text" && document.body.dataset.window !== undefined`)
	webtest.Settled(t, one, said+` === ""`)
}

// TestLostAnswers cuts the line of a command: before the station got it, after it was carried out, after it was refused, and with the
// station started anew. The page says what is true of each.
func TestLostAnswers(t *testing.T) {
	t.Parallel()
	b, s := storybook(t)
	b.show(measuring(s, crowned{relief: 0.3}, 12))
	const before, after = 1, 2
	var cut atomic.Int32
	var handler atomic.Value
	handler.Store(s.Handler)
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if cuts := cut.Load(); cuts != 0 && strings.HasPrefix(r.URL.Path, "/bench/") {
			if cuts == after {
				handler.Load().(http.Handler).ServeHTTP(httptest.NewRecorder(), r)
			}
			panic(http.ErrAbortHandler)
		}
		handler.Load().(http.Handler).ServeHTTP(w, r)
	}))
	t.Cleanup(srv.Close)
	t.Cleanup(srv.CloseClientConnections)
	ctx := webtest.Browser(t)
	webtest.Does(t, ctx, chromedp.Navigate(srv.URL+"/"))
	webtest.Settled(t, ctx, `document.activeElement.id === "entry-text" && document.getElementById("seen").children.length > 0`)
	says := func(text string) {
		t.Helper()
		webtest.Settled(t, ctx, fmt.Sprintf(`document.getElementById("notice").textContent.trim() === %q`, text))
	}
	// press does it until the page sends it: on a busy machine a beat may come late, and then it does not.
	const unheard = `document.getElementById("notice").textContent.includes("The station is not heard")`
	press := func(keys string) {
		t.Helper()
		for {
			webtest.Settled(t, ctx, `!document.body.classList.contains("unheard") && !`+unheard)
			webtest.Does(t, ctx, chromedp.KeyEvent(keys))
			webtest.Settled(t, ctx, `document.getElementById("notice").textContent.trim() !== "" || document.activeElement.value === ""`)
			if !webtest.Says[bool](t, ctx, unheard) {
				return
			}
		}
	}
	b.noted()

	cut.Store(before)
	press(fKey(2))
	says("It never reached the station: nothing was done. Press it again.")
	if got := b.noted(); len(got) > 0 {
		t.Errorf("the bench got %q", got)
	}

	cut.Store(after)
	press("QM-2611-0009\r")
	says("It was done: only its answer was lost.")
	if got := b.noted(); !slices.Equal(got, []string{`entry "QM-2611-0009" mm`}) {
		t.Errorf("the bench got %q", got)
	}
	if left := webtest.Says[string](t, ctx, `document.getElementById("entry-text").value`); left != "" {
		t.Errorf("what was carried out stands in the entry line to be sent again: %q", left)
	}

	b.refuse(batch.Conflict.Errorf("nothing has been taken"))
	press(fKey(2))
	says("Nothing has been taken.")
	b.refuse(nil)

	// Two answers are lost before either is known: both are told.
	webtest.Says[bool](t, ctx, `(() => {
		const tell = (name, detail) => document.dispatchEvent(new CustomEvent(name, { detail }));
		for (const press of ["1", "2"]) tell("bench-unanswered", new URLSearchParams({ press }));
		tell("bench-answers", { run: document.querySelector(".standing").dataset.run, answers: [{ press: 2, done: true, refused: "Nothing has been taken." }, { press: 1, done: true }] });
		return true;
	})()`)
	says("1. It was done: only its answer was lost. 2. Nothing has been taken.")

	// Another run of the station knows nothing of what the one before was sent.
	cut.Store(before)
	press(fKey(2))
	mounted(s, Options{Bench: b, Record: s.Rec, Demo: b})
	handler.Store(s.Handler)
	srv.CloseClientConnections()
	says("The station was started anew before it answered: what the page shows now is what it knows. Look before you press again.")
}
