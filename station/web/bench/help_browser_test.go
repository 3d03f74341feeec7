package bench

import (
	"testing"

	"github.com/chromedp/chromedp"

	"sagitta/station/web/webtest"
)

// TestQuestionMarkLeadsToHelp: with more behind it, as a scanner types it, a question mark is text of the entry line; alone it leads to the
// page that explains what is asked for, and leaves nothing behind.
func TestQuestionMarkLeadsToHelp(t *testing.T) {
	t.Parallel()
	ctx, b, s, url := benchInBrowser(t)
	b.show(measuring(s, crowned{relief: 0.3}, 12))
	webtest.Does(t, ctx, chromedp.Navigate(url+"/"))
	webtest.Settled(t, ctx, `document.activeElement.id === "entry-text"`)
	webtest.Does(t, ctx, chromedp.KeyEvent("?"), chromedp.KeyEvent("A"))
	webtest.Settled(t, ctx, `document.getElementById("entry-text").value === "?A" && location.pathname === "/"`)
	webtest.Does(t, ctx, chromedp.KeyEvent("\u001b"))
	webtest.Settled(t, ctx, `document.getElementById("entry-text").value === ""`)
	if to := webtest.Says[string](t, ctx, `document.querySelector(".help-here").pathname`); to != "/help/carriage" {
		t.Fatalf("help leads to %q", to)
	}
	webtest.Does(t, ctx, chromedp.KeyEvent("?"))
	webtest.Settled(t, ctx, `location.pathname === "/help/carriage"`)
}
