package instruments

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"sagitta/station/web/webtest"
)

// TestChoicesProposeInBrowser: in a browser each choice that is changed changes what is proposed, without a button, and what was typed stays.
func TestChoicesProposeInBrowser(t *testing.T) {
	ctx := webtest.Browser(t)
	s, b := opened(t)
	address := s.Serve()
	webtest.Does(t, ctx, chromedp.Navigate(address+Path+"/new"))
	choose := func(name, value, proposes string) {
		t.Helper()
		webtest.Says[bool](t, ctx, `(() => { const e = document.querySelector("#wishes [name=`+name+`]"); e.value = "`+value+`"; e.dispatchEvent(new Event("input", {bubbles: true})); e.dispatchEvent(new Event("change", {bubbles: true})); return e.value === "`+value+`" })() || (() => { throw new Error("`+value+` is not offered") })()`)
		webtest.Settled(t, ctx, proposes)
		if wrong := webtest.Says[string](t, ctx, `document.querySelector("#wishes .error")?.textContent ?? ""`); wrong != "" {
			t.Errorf("%s %s: the form says %q", name, value, wrong)
		}
	}
	says := func(words string) string {
		return `document.querySelector(".comes-to").textContent.includes("` + words + `")`
	}
	webtest.Says[bool](t, ctx, `(() => { const e = document.querySelector("[name='e.neck.frets']"); e.value = "21"; e.dispatchEvent(new Event("input", {bubbles: true})); return true })()`)
	webtest.Settled(t, ctx, says("mm to")) // the module is there
	choose("action", "low", `document.querySelector("[name='was.action']").value === "low" && `+says("1.3 mm to 1.6 mm"))
	if told := webtest.Says[string](t, ctx, `document.querySelector("#wishes [name=hand]").closest("section").textContent`); !strings.Contains(told, "What the ruler can tell") {
		t.Errorf("at the choice it is not said what the ruler can tell: %s", told)
	}
	choose("hand", "light", `document.querySelector("[name='was.hand']").value === "light" && `+says("0.05 mm to 0.15 mm"))
	choose("set", "electric, .009 to .042", `document.querySelector("[name='e.string.1.diameter_mm']").value === "0.229"`)
	choose("with", "leaves", says("no gauge of yours measures"))
	choose("kind", "steel-acoustic", `document.querySelector("[name='was.kind']").value === "steel-acoustic"`)
	if frets := webtest.Says[string](t, ctx, `document.querySelector("[name='e.neck.frets']").value`); frets != "21" {
		t.Errorf("after the choices 21 frets, as typed, are %s", frets)
	}
	// A visit of an instrument that is on file has the same form.
	s.Post(Path+"/new", map[string][]string{"serial": {"A-7"}, "with": {"leaves"}, "by": {"Mara Quill"}, "kind": {"electric-bolt-on"}}, 303)
	if err := b.Abandon(t.Context(), "the player came for it"); err != nil {
		t.Fatal(err)
	}
	s.Post(Path+"/A-7/end", map[string][]string{"result": {"as it was"}, "by": {"Mara Quill"}}, 303)
	webtest.Does(t, ctx, chromedp.Navigate(address+Path+"/A-7/visit"))
	choose("set", "electric, .011 to .049", `document.querySelector("[name='e.string.1.diameter_mm']").value === "0.279"`)
}
