package specs

import (
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"sagitta/batch"
	"sagitta/batch/record/recordtest"
	"sagitta/station/web/webtest"
)

// The form in a browser, by keyboard: what changes is told as it is typed, a row comes and the caret is in it, a reload loses nothing, and
// what is saved is kept no longer.
func TestFormInBrowser(t *testing.T) {
	t.Parallel()
	s := shop(t).Fill()
	ctx, at := webtest.Browser(t), s.Serve()
	form := "/specs/" + s.Spec.ID + "/form"
	fill := func(name, text string) {
		t.Helper()
		webtest.Says[bool](t, ctx, `(e => { const d = e.closest("details"); if (d) d.open = true; e.focus(); e.select(); return true; })(document.querySelector('[name="`+name+`"]'))`)
		webtest.Does(t, ctx, chromedp.KeyEvent(text))
	}
	const review = `(document.querySelector('button[value="review"]').click(), true)`
	ready := `document.getElementById("sheet")?.dataset.ready === "yes"`
	webtest.Does(t, ctx, chromedp.EmulateViewport(1280, 800), chromedp.Navigate(at+form))
	webtest.Settled(t, ctx, ready)
	lasts := webtest.Says[string](t, ctx, `document.querySelector(".lasts strong").textContent`)

	// A fret less, typed; the page follows without being sent.
	fill("spec.neck.frets", "21")
	webtest.Settled(t, ctx, `document.querySelector(".lasts")?.textContent.includes("as opened: `+lasts+`")`)
	if focus := webtest.Says[string](t, ctx, `document.activeElement.name + " " + document.activeElement.value`); focus != "spec.neck.frets 21" {
		t.Errorf("the focus is on %q", focus)
	}
	if after := webtest.Says[string](t, ctx, `document.querySelector(".lasts strong").textContent`); after == lasts {
		t.Errorf("the routine is still said to be %s", after)
	}

	// What is wrong stands at its field and stays as typed.
	fill("spec.neck.scale_mm", "6480")
	webtest.Settled(t, ctx, `document.getElementById("spec.neck.scale_mm-error")?.textContent.includes("6480")`)
	fill("spec.neck.scale_mm", "640")
	webtest.Settled(t, ctx, `!document.querySelector("#sheet .error")`)

	// A limit by keyboard: the button is pressed with Enter, the caret is in the new row, its fields follow what is chosen.
	rows := webtest.Says[int](t, ctx, `document.querySelectorAll('[name="rows.limit"]').length`)
	webtest.Says[bool](t, ctx, `document.querySelector('details[id="at-spec.limit"]').open = true`)
	webtest.Says[bool](t, ctx, `(document.querySelector('button[value="add limit"]').focus(), true)`)
	webtest.Does(t, ctx, chromedp.KeyEvent("\r"))
	webtest.Settled(t, ctx, `document.querySelectorAll('[name="rows.limit"]').length === `+strconv.Itoa(rows+1))
	webtest.Settled(t, ctx, `document.activeElement.name?.endsWith(".characteristic") && document.activeElement.value === ""`)
	field := webtest.Says[string](t, ctx, `document.activeElement.name`)
	webtest.Does(t, ctx, chromedp.KeyEvent("twist")) // a list goes to what is typed
	upper := strings.TrimSuffix(field, "characteristic") + "upper"
	webtest.Settled(t, ctx, `document.querySelector('[name="`+upper+`"]')?.closest(".inside")?.textContent.trim() === "deg"`)
	fill(upper, "0.5")
	webtest.Settled(t, ctx, `document.querySelector(".on-neck")?.textContent.includes("twist")`)

	// A reload brings all of it again, with its row.
	webtest.Does(t, ctx, chromedp.Reload())
	webtest.Settled(t, ctx, ready+` && document.querySelector('[name="`+upper+`"]')?.value === "0.5"`)
	if got := webtest.Says[string](t, ctx, `document.querySelector('[name="spec.neck.frets"]').value + document.querySelector("main").textContent.includes("not saved yet")`); got != "21true" {
		t.Errorf("after a reload: %s", got)
	}

	// A review that is refused brings the form from another address; what is typed there is kept too, and is there where the form was.
	fill("spec.neck.scale_mm", "64")
	webtest.Says[bool](t, ctx, review)
	webtest.Settled(t, ctx, `location.pathname === "/specs/form" && `+ready)
	fill("spec.neck.scale_mm", "640")
	fill("spec.neck.rod_turns_left", "3")
	webtest.Settled(t, ctx, `!document.querySelector("#sheet .error")`)
	webtest.Does(t, ctx, chromedp.Navigate(at+form))
	webtest.Settled(t, ctx, ready+` && document.querySelector('[name="spec.neck.rod_turns_left"]').value === "3" && document.querySelector('[name="`+upper+`"]')?.value === "0.5"`)

	// Reviewed, refused without a reason, saved with one.
	webtest.Says[bool](t, ctx, review)
	webtest.Settled(t, ctx, `document.querySelector("table.changes")?.textContent.includes("twist")`)
	fill("reason", "the saw was set\r") // the only quality manager is chosen already
	webtest.Settled(t, ctx, `location.pathname.startsWith("/specs/") && document.querySelector("h1")?.textContent === "QM Bolt 648, revision C"`)
	all := recordtest.Must[[]batch.SpecRevision](s.Rec.Specs(t.Context()))(t)
	saved := all[len(all)-1]
	if saved.Reason != "the saw was set" || saved.Spec.Neck.Frets != 21 || saved.Spec.Neck.ScaleMM != 640 {
		t.Errorf("saved for %q: %+v", saved.Reason, saved.Spec.Neck)
	}
	webtest.Does(t, ctx, chromedp.Navigate(at+form))
	webtest.Settled(t, ctx, ready)
	if got := webtest.Says[string](t, ctx, `document.querySelector('[name="spec.neck.frets"]').value`); got != "22" {
		t.Errorf("what was saved is still kept: %s frets", got)
	}
	webtest.FitsPhone(t, ctx, at, form, "/specs/new", "/specs/new?template=bass-set-five")
}
