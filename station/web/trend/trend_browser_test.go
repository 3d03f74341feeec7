package trend

import (
	"testing"

	"github.com/chromedp/chromedp"

	"sagitta/station/web/webtest"
)

// TestTrendInBrowser follows a point of the chart of yields to the batches behind it, and fits the pages on a phone.
func TestTrendInBrowser(t *testing.T) {
	t.Parallel()
	s := shop(t).Fill().Past()
	ctx, address := webtest.Browser(t), s.Serve()
	webtest.Does(t, ctx, chromedp.EmulateViewport(1280, 800), chromedp.Navigate(address+"/trend/reasons?from=2025-05&to=2025-10"))
	webtest.Settled(t, ctx, `document.querySelectorAll("figure.chart").length >= 2 && document.querySelectorAll("figure.chart:not([data-drawn])").length === 0`)
	webtest.Does(t, ctx, chromedp.Navigate(address+"/trend?from=2025-05&to=2025-10"))
	webtest.Settled(t, ctx, `document.querySelectorAll("figure.chart").length > 0 && document.querySelectorAll("figure.chart:not([data-drawn])").length === 0`)
	webtest.Says[bool](t, ctx, `document.querySelector("#yields").scrollIntoView({ block: "center" }), true`)
	at := webtest.Says[[][2]float64](t, ctx, `[...document.querySelectorAll("#yields svg path")].map(p => p.getBoundingClientRect())
		.filter(r => r.width > 4 && r.width < 24 && Math.abs(r.width - r.height) < 4).map(r => [r.x + r.width / 2, r.y + r.height / 2])`)
	if len(at) != 10 { // five months with inspections, first-pass and final
		t.Fatalf("%d points are drawn, want 10", len(at))
	}
	webtest.Does(t, ctx, chromedp.MouseClickXY(at[0][0], at[0][1]))
	webtest.Settled(t, ctx, `location.pathname === "/trend/batches" && (document.querySelector(".answer")?.textContent ?? "").includes("first inspected in May 2025")`)

	webtest.FitsPhone(t, ctx, address, "/trend", "/trend/reasons", "/trend/characteristics?model=QM+Bolt+648", "/trend/people", "/trend/batches", "/compare?a=QM-2505&b=QM-2509")
}
