package batches

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"sagitta/station/web/webtest"
)

// The quality manager's questions on the batch's page, asked in a browser: every chart is drawn, a point leads to its neck,
// the limits can be moved without anything being saved, and a phone shows it all.
func TestBatchPageInBrowser(t *testing.T) {
	t.Parallel()
	s := shop(t)
	ctx, url := webtest.Browser(t), s.Serve()
	for i := range 27 {
		s.Inspect(fmt.Sprintf("QM-2611-%04d", i+4), 0.26+0.005*float64(i*7%13), 0)
	}
	t.Run("charts are drawn", func(t *testing.T) { chartsDrawn(t, ctx, url) })
	t.Run("a point leads to its neck", func(t *testing.T) { pointLeads(t, ctx, s, url) })
	t.Run("limits move", func(t *testing.T) { limitsMove(t, ctx, s, url) })
	t.Run("phone", func(t *testing.T) { fitPhone(t, ctx, url) })
}

func fitPhone(t *testing.T, ctx context.Context, url string) {
	webtest.FitsPhone(t, ctx, url, "/batches", "/batches/QM-2611", "/batches/QM-2611/necks", "/batches/QM-2611/reasons", "/batches/QM-2611/characteristics", "/batches/QM-2611/charts", "/batches/QM-2611/limits", "/batches/QM-2611/people", "/batches/QM-2611/rework")
	webtest.Does(t, ctx, chromedp.Navigate(url+"/batches/QM-2611/necks"))
	if right := webtest.Says[float64](t, ctx, `Math.max(...[...document.querySelectorAll("#necks td.state")].map(e => e.firstElementChild.getBoundingClientRect().right))`); right > 390 {
		t.Errorf("a neck's disposition begins %.0f px from the left of a phone of 390 px", right)
	}
}

func chartsDrawn(t *testing.T, ctx context.Context, url string) {
	webtest.Does(t, ctx, chromedp.EmulateViewport(1280, 800))
	for _, chart := range [][2]string{{"reasons", "reasons-chart"}, {"reasons", "failing-chart"}, {"charts", "control"}, {"charts", "average"}, {"charts?kind=ranges", "ranges"}, {"charts", "histogram"}} {
		layer, id := chart[0], chart[1]
		webtest.Does(t, ctx, chromedp.Navigate(url+"/batches/QM-2611/"+layer))
		webtest.Settled(t, ctx, `document.querySelectorAll("figure.chart").length > 1 && document.querySelectorAll("figure.chart:not([data-drawn])").length === 0`)
		if n := webtest.Says[int](t, ctx, `document.querySelectorAll("#`+id+` svg path").length`); n < 3 {
			t.Errorf("the chart %s holds %d paths", id, n)
		}
		if said := webtest.Says[string](t, ctx, `document.querySelector("#`+id+` [role=img]").getAttribute("aria-label")`); said == "" {
			t.Errorf("the chart %s says nothing to a screen reader", id)
		}
	}
	for _, kind := range []string{"ranges", "cusum"} {
		webtest.Does(t, ctx, chromedp.Navigate(url+"/batches/QM-2611/charts?kind="+kind))
		webtest.Settled(t, ctx, `document.querySelector("#control")?.dataset.drawn === "yes"`)
	}
}

// points are the middles of a chart's symbols, in the order of its series.
const points = `(() => { const at = [...document.querySelectorAll("#control svg path")].map(p => p.getBoundingClientRect()).filter(r => r.width > 4 && r.width < 24 && Math.abs(r.width - r.height) < 4);
	return at.map(r => [r.x + r.width / 2, r.y + r.height / 2]); })()`

func pointLeads(t *testing.T, ctx context.Context, s *webtest.Shop, url string) {
	webtest.Does(t, ctx, chromedp.Navigate(url+"/batches/QM-2611/charts"))
	webtest.Settled(t, ctx, `document.querySelector("#control")?.dataset.drawn === "yes"`)
	webtest.Says[bool](t, ctx, `document.querySelector("#control").scrollIntoView({ block: "center" }), true`)
	at := webtest.Says[[][2]float64](t, ctx, points)
	if len(at) != 30 {
		t.Fatalf("%d points are drawn, want 30", len(at))
	}
	serial := recount(s)[4].serial
	webtest.Does(t, ctx, chromedp.MouseClickXY(at[4][0], at[4][1]))
	webtest.Settled(t, ctx, `location.pathname === "/necks/`+serial+`"`)
}

func limitsMove(t *testing.T, ctx context.Context, s *webtest.Shop, url string) {
	webtest.Does(t, ctx, chromedp.Navigate(url+"/batches/QM-2611/limits?of=relief/bass//7"))
	webtest.Settled(t, ctx, `document.querySelector("#what-if-form")?.classList.contains("scripted")`)
	before := webtest.Says[string](t, ctx, `document.querySelector("#what-if-answer .answer").textContent`)
	webtest.Says[bool](t, ctx, `(() => { const s = document.querySelector("#what-upper"); s.value = "0.300"; s.dispatchEvent(new Event("input")); return true; })()`)
	webtest.Settled(t, ctx, `document.querySelector("#what-if-answer .answer").textContent.includes("fewer")`)
	would := 0
	for _, f := range recount(s) {
		if g, h := 1.645*f.u, 1.645*f.tu; f.value >= 0.2+g && f.value <= 0.3-g && f.treble >= 0.2+h && f.treble <= 0.3-h && f.others == 0 {
			would++
		}
	}
	if said := webtest.Says[string](t, ctx, `document.querySelector("#what-if-answer .answer").textContent`); !strings.Contains(said, fmt.Sprintf(": %d instead of", would)) {
		t.Errorf("the page says %q, recounted %d", said, would)
	}
	if shown := webtest.Says[string](t, ctx, `document.querySelector("output[for=what-upper]").value`); shown != "0.300 (−0.060)" {
		t.Errorf("the slider shows %s", shown)
	}
	webtest.Says[bool](t, ctx, `document.querySelector("[data-reset]").click(), true`)
	webtest.Settled(t, ctx, fmt.Sprintf(`document.querySelector("#what-if-answer .answer").textContent === %q`, before))
}
