package webtest

import (
	"context"
	"net/http/httptest"
	"os"
	"os/exec"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// shared is the browser of a package's tests while one of them needs it.
var shared struct {
	sync.Mutex
	ctx   context.Context
	end   func()
	users int
}

// Browser opens a page in a headless browser, with cookies and a window of its own: several tests may use the browser at the
// same time. A machine without one cannot say anything here; where SAGITTA_BROWSER=required is set that is a failure.
func Browser(t *testing.T) context.Context {
	path, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("SAGITTA_BROWSER") == "required" {
			t.Fatal(err)
		}
		t.Skip("no browser: ", err)
	}
	shared.Lock()
	defer shared.Unlock()
	if shared.users == 0 {
		options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox, chromedp.DisableGPU, chromedp.ExecPath(path))
		ctx, stop := chromedp.NewExecAllocator(context.Background(), options...)
		ctx, leave := chromedp.NewContext(ctx)
		if err := chromedp.Do(ctx); err != nil { // starts it
			leave()
			stop()
			t.Fatal(err)
		}
		shared.ctx, shared.end = ctx, func() { leave(); stop() }
	}
	shared.users++
	t.Cleanup(func() {
		shared.Lock()
		defer shared.Unlock()
		if shared.users--; shared.users == 0 {
			shared.end()
		}
	})
	ctx, end := context.WithTimeout(shared.ctx, 5*time.Minute)
	t.Cleanup(end)
	ctx, end = chromedp.NewContext(ctx, chromedp.WithNewBrowserContext())
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

// FitsPhone opens pages on a phone of 390 px: none is wider, whatever is pressed is large enough, every field has a label.
func FitsPhone(t *testing.T, ctx context.Context, address string, paths ...string) {
	t.Helper()
	Does(t, ctx, chromedp.EmulateViewport(390, 844))
	for _, path := range paths {
		Does(t, ctx, chromedp.Navigate(address+path))
		if w := Says[int](t, ctx, "document.documentElement.scrollWidth"); w > 390 {
			t.Errorf("%s is %d px wide on a phone of 390 px", path, w)
		}
		if small := Says[[]string](t, ctx, `[...document.querySelectorAll("main button:not(.sort), main a.button, main select, main input:not([type=hidden], [type=checkbox], [type=radio])")].filter(e => e.getBoundingClientRect().height < 48 && e.offsetParent).map(e => e.outerHTML.slice(0, 80))`); len(small) > 0 {
			t.Errorf("%s: less than 48 px to press: %q", path, small)
		}
		if bare := Says[[]string](t, ctx, `[...document.querySelectorAll("input:not([type=hidden]), select")].filter(e => !e.labels.length).map(e => e.outerHTML)`); len(bare) > 0 {
			t.Errorf("%s: without a label: %q", path, bare)
		}
	}
}

// Serve serves the shop's pages to a browser; it returns their address.
func (s *Shop) Serve() string {
	srv := httptest.NewServer(s.Handler)
	s.Cleanup(srv.Close)
	s.Cleanup(srv.CloseClientConnections)
	return srv.URL
}
