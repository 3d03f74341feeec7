package shift

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"sagitta/batch"
	"sagitta/station/bench"
	"sagitta/station/web/webtest"
)

// TestWallIsLegible opens the wall page on a busy day, with gauges that are not well, alarms and necks that wait, on a screen 1.2 m wide, seen
// from five metres, and on a phone, seen from 0.4 m. On the screen nothing is below its edge; all capitals subtend 16 minutes of arc (ISO
// 9241-303 asks for so much at least), which is 23 mm at five metres.
func TestWallIsLegible(t *testing.T) {
	s := opened(t, time.Now, func(n *bench.Snapshot) {
		n.Gauges = []bench.GaugeLine{
			{ID: "a", Name: "carriage indicator", State: "locked out", Locked: true, Words: "carriage indicator locked out: it was unplugged at 22:59 and has not been checked since"},
			{ID: "b", Name: "carriage position", State: "unplugged", Words: "carriage position unplugged"},
			{ID: "c", Name: "height gauge", State: "silent", Words: "height gauge silent"},
		}
		n.Waiting.Parked = []bench.ParkedNeck{{Serial: "QM-2611-0007", BatchNumber: "QM-2611", Attempt: 1, Since: time.Now().Add(-time.Minute), Reason: "settling", Taken: 4, Of: 57}}
	})
	for _, subject := range []string{"one", "two"} {
		if _, err := s.Rec.RaiseAlarm(t.Context(), batch.Alarm{Subject: subject, BatchID: s.Batch.ID, Words: "Relief of QM-2611, bass side, has drifted upwards over the last 12 necks.", LookAt: "Look at the humidity."}); err != nil {
			t.Fatal(err)
		}
	}
	url, ctx := s.Serve(), webtest.Browser(t)
	const letters = `(() => {
		const pen = document.createElement("canvas").getContext("2d");
		return [...document.querySelectorAll("#wall p, #wall h2, #wall time")].filter(e => e.getClientRects().length).map(e => {
			const f = getComputedStyle(e);
			pen.font = f.fontWeight + " " + f.fontSize + " " + f.fontFamily;
			return pen.measureText("H").actualBoundingBoxAscent;
		});
	})()`
	for _, screen := range []struct {
		width, height int64
		mm, needs     float64 // a pixel; of a capital
		scrolls       bool
	}{{1920, 1080, 1200.0 / 1920, 23, false}, {1366, 768, 1200.0 / 1366, 23, false}, {3840, 2160, 1200.0 / 3840, 23, false}, {390, 844, 0.165, 1.86, true}} {
		webtest.Does(t, ctx, chromedp.EmulateViewport(screen.width, screen.height), chromedp.Navigate(url+"/wall"))
		least := 1e9
		for _, px := range webtest.Says[[]float64](t, ctx, letters) {
			least = min(least, px*screen.mm)
		}
		t.Logf("%d x %d: capitals of %.1f mm at least, %.1f are needed", screen.width, screen.height, least, screen.needs)
		if least < screen.needs {
			t.Errorf("%d x %d: capitals of %.1f mm, want %.1f", screen.width, screen.height, least, screen.needs)
		}
		if w := webtest.Says[int64](t, ctx, "document.documentElement.scrollWidth"); w > screen.width {
			t.Errorf("%d x %d: %d px wide", screen.width, screen.height, w)
		}
		if h := webtest.Says[int64](t, ctx, "document.documentElement.scrollHeight"); h > screen.height && !screen.scrolls {
			t.Errorf("%d x %d: %d px high, what is below the edge is never seen", screen.width, screen.height, h)
		}
		said := webtest.Says[string](t, ctx, `document.getElementById("wall").innerText`)
		for _, text := range []string{"has not been checked since", "3 gauges are not well in all", "has drifted upwards", "2 alarms in all", "Parked: 1 neck"} {
			if !strings.Contains(said, text) {
				t.Errorf("%d x %d: the wall does not say %q: %s", screen.width, screen.height, text, said)
			}
		}
		if folder := os.Getenv("SAGITTA_PICTURES"); folder != "" {
			picture, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
			if err == nil {
				err = os.WriteFile(filepath.Join(folder, fmt.Sprintf("wall-%d.png", screen.width)), picture, 0o644)
			}
			if err != nil {
				t.Fatal(err)
			}
		}
	}
}
