package necks

import (
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"

	"sagitta/station/web/webtest"
)

// TestSheetOpensOfflineInBrowser: the file for a phone, opened from a disk with the network off, shows all of it and asks for nothing.
func TestSheetOpensOfflineInBrowser(t *testing.T) {
	ctx := webtest.Browser(t)
	s := shop(t).Fill()
	file := filepath.Join(t.TempDir(), "sheet.html")
	if err := os.WriteFile(file, []byte(s.Get("/necks/QM-2611-0001/sheet.html", 200)), 0o600); err != nil {
		t.Fatal(err)
	}
	var asked sync.Map
	if err := chromedp.Listen(ctx, func(event any) {
		if e, is := event.(*network.EventRequestWillBeSent); is && !strings.HasPrefix(e.Request.URL, "data:") {
			asked.Store(e.Request.URL, true)
		}
	}); err != nil {
		t.Fatal(err)
	}
	_, err := chromedp.Call(ctx, network.Enable, network.EnableParams{})
	if err == nil {
		_, err = chromedp.Call(ctx, network.EmulateNetworkConditionsByRule, network.EmulateNetworkConditionsByRuleParams{MatchedNetworkConditions: []*network.Conditions{{Offline: true, DownloadThroughput: -1, UploadThroughput: -1}}})
	}
	if err != nil {
		t.Fatal(err)
	}
	for _, size := range [][2]int64{{390, 844}, {1280, 800}} {
		webtest.Does(t, ctx, chromedp.EmulateViewport(size[0], size[1]), chromedp.Navigate("file://"+file))
		if words := webtest.Says[string](t, ctx, `document.body.innerText`); !strings.Contains(words, "QM-2611-0001") || !strings.Contains(words, "0.29") {
			t.Errorf("at %d: %s", size[0], words)
		}
		if wide := webtest.Says[int64](t, ctx, `document.documentElement.scrollWidth`); wide > size[0] {
			t.Errorf("it is %d px wide in a window of %d", wide, size[0])
		}
		if drawn := webtest.Says[int](t, ctx, `[...document.querySelectorAll("svg")].filter(s => s.getBoundingClientRect().width > 40).length`); drawn < 2 {
			t.Errorf("at %d: %d drawings are seen", size[0], drawn)
		}
	}
	if _, heard := asked.Load("file://" + file); !heard {
		t.Error("what the browser asks for is not heard")
	}
	asked.Range(func(address, _ any) bool {
		if address != "file://"+file {
			t.Errorf("it asks for %s", address)
		}
		return true
	})
}
