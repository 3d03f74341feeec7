package bench

import (
	"fmt"
	"math"
	"net/http/httptest"
	"regexp"
	"strconv"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"sagitta/batch"
	"sagitta/batch/record/recordtest"
	"sagitta/inspect"
	"sagitta/station/bench"
	"sagitta/station/web/site"
	"sagitta/station/web/webtest"
)

// TestLifeByLeafOnAPhone takes a neck of planted relief from its serial number to its pass with taps alone, on a phone: every state fits, the
// question and what answers it are seen without scrolling, the rod's clock shows the turn that is advised, and after a turn relief is asked for first.
func TestLifeByLeafOnAPhone(t *testing.T) {
	t.Parallel()
	s := webtest.Open(t)
	recordtest.Must(s.Rec.AddPerson(t.Context(), "", "Ossian Reed", batch.Inspector))(t)
	recordtest.ByEye(t, s.Rec, "QM-2614", "leaves", batch.LeavesGauge, batch.RulerGauge)
	b := recordtest.Must(bench.New(t.Context(), bench.Options{Record: s.Rec}))(t)
	for _, err := range []error{b.SetInspector(t.Context(), "Ossian Reed"), b.OpenBatch(t.Context(), "QM-2614"), b.Entry(t.Context(), "QM-2614-0001", "mm")} {
		if err != nil {
			t.Fatal(err)
		}
	}
	s.Mount(func(k *site.Site) error { return Mount(k, Options{Bench: b, Record: s.Rec, Now: time.Now}) })
	srv := httptest.NewServer(s.Handler)
	t.Cleanup(srv.Close)
	t.Cleanup(srv.CloseClientConnections)
	ctx := webtest.Browser(t)
	webtest.Does(t, ctx, chromedp.EmulateViewport(390, 844), chromedp.Navigate(srv.URL+"/"))

	// Each lists what does not fit.
	const unfit = `(() => {
		const found = [], words = e => e.tagName + "." + (e.className.baseVal ?? e.className) + " " + e.textContent.trim().replace(/\s+/g, " ").slice(0, 50);
		const seen = e => { const r = e.getBoundingClientRect(); return e.getClientRects().length && r.width > 1 && r.height > 1; };
		if (document.documentElement.scrollWidth > 390 || document.documentElement.scrollHeight > innerHeight) found.push("the page scrolls");
		for (const e of document.querySelectorAll("main *")) {
			if (!seen(e) || e.closest(".unseen, svg svg, #drawings, .strip .trouble, #more")) continue;
			const r = e.getBoundingClientRect();
			if (r.right > 390.5 || r.left < -0.5) found.push("beyond the width: " + words(e));
		}
		for (const e of document.querySelectorAll("#stage .asked, #stage .word, #stage .because, .leaf, .do, .effect, .cautions, .bigkey, .hold svg, .first-step svg")) {
			if (!seen(e)) continue;
			const r = e.getBoundingClientRect();
			if (r.top < 0 || r.bottom > innerHeight + 0.5) found.push("beyond the height: " + words(e));
			for (let p = e.parentElement; p; p = p.parentElement) {
				const q = p.getBoundingClientRect();
				if (getComputedStyle(p).overflow !== "visible" && (r.top < q.top - 1 || r.bottom > q.bottom + 1)) found.push("to be scrolled: " + words(e));
			}
			if (e.matches(".leaf, .bigkey") && (r.width < 48 || r.height < 48)) found.push("less than 48 px: " + words(e));
		}
		return found;
	})()`
	shown, looked := uint64(0), map[string]bool{}
	// asks waits until the page shows what the bench asks now, and looks at it.
	asks := func(state string) *bench.Snapshot {
		t.Helper()
		snap := b.Snapshot()
		webtest.Settled(t, ctx, fmt.Sprintf(`document.querySelector("#seen [name=scene]")?.value === "%d"`, snap.Scene))
		if shown == snap.Version {
			t.Fatalf("%s: nothing happened", state)
		}
		shown = snap.Version
		if found := webtest.Says[[]string](t, ctx, unfit); len(found) > 0 {
			t.Errorf("%s: %q", state, found)
		}
		if !looked[state] {
			looked[state] = true
			picture(t, ctx, "life-"+state)
		}
		return snap
	}
	// taps presses what a selector finds, and waits until the bench has gone on.
	taps := func(selector string) {
		t.Helper()
		before := b.Snapshot().Version
		if !webtest.Says[bool](t, ctx, fmt.Sprintf(`(e => { if (!e || !e.getClientRects().length) return false; e.click(); return true; })(document.querySelector(%q))`, selector)) {
			t.Fatalf("nothing to tap: %s", selector)
		}
		for end := time.Now().Add(time.Minute); b.Snapshot().Version == before; time.Sleep(5 * time.Millisecond) {
			if time.Now().After(end) {
				t.Fatalf("a tap on %s did nothing: %s", selector, webtest.Says[string](t, ctx, `document.getElementById("notice").textContent`))
			}
		}
	}
	relief := 0.52 // limits from 0.1 to 0.3 mm; a turn takes 0.5
	action := map[int]string{1: "1.8", 2: "1.9", 3: "2.0", 4: "2.2", 5: "2.3", 6: "2.4"}
	// measures taps what is true of the neck until the verdict, and counts what was asked for.
	measures := func() map[batch.Kind]int {
		t.Helper()
		asked := map[batch.Kind]int{}
		for snap := b.Snapshot(); snap.Verdict == nil; snap = b.Snapshot() {
			p := snap.Points[snap.Next].Point
			asked[p.Kind]++
			asks(string(p.Kind))
			switch p.Kind {
			case batch.PitchDeclared:
				taps(`#keys [data-action="take"]`)
			case batch.LeafPasses:
				rung := 0
				for i, r := range snap.Leaves.Rungs {
					if bench.Thickness(r.Passes) <= relief+1e-9 {
						rung = i
					}
				}
				taps(fmt.Sprintf(`.leaves form:has([name=rung][value="%d"]) button`, rung))
			case batch.NutHeight:
				taps(`.leaves form:has([name=text][value="0.4 mm"]) button`)
			default:
				taps(fmt.Sprintf(`.leaves form:has([name=text][value="%s mm"]) button`, action[p.String]))
			}
		}
		return asked
	}
	first := measures()
	if first[batch.NutHeight] != 6 || first[batch.ActionHeight] != 6 {
		t.Errorf("the first inspection asks for %v", first)
	}
	arrow := regexp.MustCompile(`A62 62 0 0 [01] ([\d.]+) ([\d.]+)`)
	for turns := 1; b.Snapshot().Verdict.Disposition == inspect.Rework; turns++ {
		if turns > 6 {
			t.Fatalf("relief is %.3f mm after %d turns", relief, turns)
		}
		step := asks("rework").Result.Advice[0]
		if step.What != inspect.StepRod || step.Direction != "tighten" {
			t.Fatalf("at %.3f mm of relief the advice is %+v", relief, step)
		}
		m := arrow.FindStringSubmatch(webtest.Says[string](t, ctx, `document.querySelector(".first-step svg .arrow").getAttribute("d")`))
		x, _ := strconv.ParseFloat(m[1], 64)
		y, _ := strconv.ParseFloat(m[2], 64)
		if drawn := math.Atan2(x-80, 80-y) / (2 * math.Pi); math.Abs(drawn-*step.Turns) > 0.001 {
			t.Errorf("a turn of %g is advised, of %.4f drawn", *step.Turns, drawn)
		}
		webtest.Says[bool](t, ctx, `(document.querySelector('#keys [data-action="show-rework"]').click(), true)`)
		webtest.Settled(t, ctx, `!document.getElementById("rework-form").hidden`)
		picture(t, ctx, "life-rework-form")
		taps(`#rework-form button.main`)
		done := b.Snapshot().Rework
		if len(done) != 1 || done[0].Turns != *step.Turns || done[0].Direction != "tighten" {
			t.Fatalf("recorded as advised is %+v", done)
		}
		relief -= 0.5 * done[0].Turns
		asks("reworked")
		if said := webtest.Says[string](t, ctx, `document.querySelector(".done .effect").textContent`); said != "Now retune to pitch. Then relief is asked for, and the strings once it is right." {
			t.Errorf("after the turn: %q", said)
		}
		taps(`#keys [data-action="again"]`)
		asked := measures()
		right := b.Snapshot().Verdict.Disposition == inspect.Pass
		if heights := asked[batch.NutHeight] + asked[batch.ActionHeight]; right != (heights == 12) || !right && heights != 0 || asked[batch.PitchDeclared] != 1 || asked[batch.LeafPasses] < 2 {
			t.Errorf("after turn %d, relief %.3f mm, were asked for %v", turns, relief, asked)
		}
	}
	asks("pass")
	if d := b.Snapshot().Verdict.Disposition; d != inspect.Pass || relief < 0.1 || relief > 0.3 {
		t.Errorf("%s with a relief of %.3f mm", d, relief)
	}
}
