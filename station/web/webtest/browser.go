package webtest

import (
	"context"
	"os"
	"os/exec"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// Browser starts a headless browser. A machine without one cannot say anything here; where SAGITTA_BROWSER=required is
// set that is a failure.
func Browser(t *testing.T) context.Context {
	path, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("SAGITTA_BROWSER") == "required" {
			t.Fatal(err)
		}
		t.Skip("no browser: ", err)
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox, chromedp.DisableGPU, chromedp.ExecPath(path))
	ctx, end := context.WithTimeout(t.Context(), 5*time.Minute)
	t.Cleanup(end)
	ctx, end = chromedp.NewExecAllocator(ctx, options...)
	t.Cleanup(end)
	ctx, end = chromedp.NewContext(ctx)
	t.Cleanup(end)
	return ctx
}

// Says evaluates an expression in the page.
func Says[T any](t *testing.T, ctx context.Context, expression string) T {
	t.Helper()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression))
	if err != nil {
		t.Fatalf("%s: %v", expression, err)
	}
	return v
}

// Does runs steps in the browser.
func Does(t *testing.T, ctx context.Context, steps ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	if err := chromedp.Do(ctx, steps...); err != nil {
		t.Fatal(err)
	}
}

// Settled waits until the page shows what an expression asks for. While a page gives way to the next, nothing can be asked.
func Settled(t *testing.T, ctx context.Context, expression string) {
	t.Helper()
	for deadline := time.Now().Add(time.Minute); ; time.Sleep(10 * time.Millisecond) {
		shows, err := chromedp.Run(ctx, chromedp.Evaluate[bool](expression))
		switch {
		case shows && err == nil:
			return
		case time.Now().After(deadline) || ctx.Err() != nil:
			t.Fatalf("the page never shows %s (%v); the focus is on %s, keys are %s", expression, err, Says[string](t, ctx, `document.activeElement.outerHTML.slice(0, 200)`), Says[string](t, ctx, `[...document.querySelectorAll("[data-code]")].map(b => b.dataset.code + " " + b.dataset.action + b.disabled).join()`))
		}
	}
}
