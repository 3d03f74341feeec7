package demo

import (
	"context"
	"fmt"
	"math"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"sagitta/batch"
	"sagitta/station/app"
)

// startDemo runs the whole demo program on a folder; the returned func ends it.
func startDemo(t *testing.T, dir, listen string) (*Station, func()) {
	t.Helper()
	return startWith(t, app.Options{Dir: dir, Name: "bench 1", Listen: listen, Demo: true, Retry: 20 * time.Millisecond})
}

func startWith(t *testing.T, opt app.Options) (*Station, func()) {
	t.Helper()
	d, err := Open(t.Context(), opt, 1)
	if err != nil {
		t.Fatal(err)
	}
	ctx, end := context.WithCancel(t.Context())
	served := make(chan error, 1)
	go func() { served <- d.Serve(ctx) }()
	return d, sync.OnceFunc(func() {
		end()
		if err := <-served; err != nil {
			t.Error(err)
		}
		if err := d.Close(); err != nil {
			t.Error(err)
		}
	})
}

func TestDemoInBrowser(t *testing.T) {
	ctx := browser(t)
	for _, flow := range []struct {
		name string
		run  func(w *window)
	}{
		{"a neck by keyboard alone, a neck reworked until it passes, and every page after them", keyboardFlow},
		{"values typed in inches and a questioned one", typedFlow},
		{"park and resume, reload, and a station that is started again", interruptedFlow},
		{"a gauge is pulled in mid-neck", pulledFlow},
		{"the simulated inspector works alone and is stopped", unattendedFlow},
		{"a batch opened and a specification imported by their forms", formsFlow},
	} {
		t.Run(flow.name, func(t *testing.T) { flow.run(openWindow(t, ctx)) })
	}
}

// keyboardFlow inspects a sound neck and a bowed one without the pointer, then reads about them on the other pages.
func keyboardFlow(w *window) {
	const sound, bowed = "QM-2611-0001", "QM-2611-0004"
	w.scan(sound)
	w.press(1, 3)
	legibleInBothLights(w, "measuring")
	before := w.readings(w.inspections(sound)[0])
	last := before[len(before)-1]
	w.f(2)
	w.reads("#notice", "taken back")
	w.taken(3)
	after := w.readings(w.inspections(sound)[0])
	if n := len(before); len(after) != n+1 || after[n-1].ID != last.ID || after[n].Supersedes != last.ID || !after[n].Withdrawn {
		w.t.Errorf("after F2 the record holds %d readings, want the %d taken and one that takes the last of them back", len(after), n)
	}
	w.f(9)
	if word := w.verdict(1); word != "pass" {
		w.t.Errorf("%s: %s (%s), want pass", sound, word, w.text(".verdict .why"))
	}
	legibleInBothLights(w, "pass")
	w.keys(" ")
	w.reads("#stage .asked", "Scan the next serial number")

	w.scan(bowed)
	w.f(9)
	attempts := 1
	for word := w.verdict(1); word != "pass"; word = w.verdict(attempts) {
		if word != "rework" || attempts == 6 {
			w.t.Fatalf("%s, attempt %d: %s (%s)", bowed, attempts, word, w.text(".verdict .why"))
		}
		w.reads("#next", "Tighten the truss rod")
		w.reads("#cautions", "Local rules come first")
		legibleInBothLights(w, "rework")
		w.f(3)
		w.waits(`document.activeElement.closest("#rework-form") !== null`)
		w.keys("\r")
		w.reads("#next", "Recorded since the verdict")
		w.reads("#next", "Truss rod, tighten")
		w.f(6)
		attempts++
		w.reads("#strip .neck", fmt.Sprintf("attempt %d", attempts))
		w.f(9)
	}
	if n := len(w.inspections(bowed)); n != attempts || attempts < 2 {
		w.t.Errorf("%s passed at attempt %d; the record holds %d inspections", bowed, attempts, n)
	}
	w.keys(" ")
	w.reads("#stage .because", "2 of 30 necks inspected, 1 passed at their first inspection")
	pages(w, sound, bowed)
	workbook(w, sound, bowed)
}

// typedFlow types values with the page in inches, one of them beyond what a neck's shape allows.
func typedFlow(w *window) {
	const serial = "QM-2611-0005"
	w.click("inch")
	w.waits(`document.querySelector("button[value=in]")?.ariaPressed === "true" && document.activeElement.id === "entry-text"`)
	w.scan(serial)
	w.keys("-0.001\r")
	w.taken(2)
	w.keys("0.1 mm\r") // the space is typed, for the line is not empty
	w.taken(3)
	w.keys("9mm\r")
	w.reads("#stage", "mm higher than the other crowns say: measure bass side, fret 2, once more")
	w.f(2)
	w.reads("#notice", "taken back")
	w.taken(3)
	w.keys("9mm\r")
	w.reads("#stage", "measure bass side, fret 2, once more")
	w.keys("0.1 mm\r")
	w.reads("#stage", "measure bass side, fret 3, once more")
	w.keys("9mm\r")
	w.reads("#stage", "is the fret so?")
	legibleInBothLights(w, "held")
	w.f(3)
	w.waits(`document.querySelector("#stage .questioned") === null`)
	w.taken(4)
	w.keys("5 cents\r") // as fast as a scanner: what was scanned is not kept
	w.reads("#notice", "is a length, in mm or in")
	w.waits(`document.getElementById("entry-text").value === ""`)
	js[bool](w, `(document.getElementById("entry-text").value = "7 cents", document.getElementById("entry").requestSubmit(), true)`)
	w.reads("#notice", "7 cents")
	w.waits(`document.getElementById("entry-text").value === "7 cents"`) // what was typed is
	w.taken(4)
	// 1 in is 25.4 mm exactly (international yard and pound agreement, 1959).
	want := []struct {
		mm         float64
		sent, unit string
	}{{-0.0254, "-0.001", "in"}, {0.1, "0.1", "mm"}, {9, "9", "mm"}}
	got := batch.Standing(w.readings(w.inspections(serial)[0]))[1:] // after the pitch
	if len(got) != len(want) {
		w.t.Fatalf("the record holds %d typed readings, want %d", len(got), len(want))
	}
	for i, r := range got {
		if math.Abs(r.Value-want[i].mm) > 1e-12 || r.Sent != want[i].sent || r.Unit != want[i].unit || r.By != inspector {
			w.t.Errorf("reading %d: %g mm of %q %s by %q, want %g of %q %s", i, r.Value, r.Sent, r.Unit, r.By, want[i].mm, want[i].sent, want[i].unit)
		}
	}
	if got[2].Reason == "" {
		w.t.Error("the record does not say that the questioned reading was used on purpose")
	}
}

// interruptedFlow leaves a neck in each way that happens and comes back to it.
func interruptedFlow(w *window) {
	const serial, other = "QM-2611-0002", "QM-2611-0003"
	w.scan(serial)
	w.press(1, 2)
	w.f(4)
	w.reads("#next", serial)
	w.reads("#next", "3 of ")
	w.scan(other)
	w.f(4)
	w.reads("#next", other)
	w.keys(serial + "\r")
	w.reads("#notice", "goes on with 1 of 57 points done. Another neck, "+other+", came to the bench after 2 crowns: they are measured again") // too few to be linked
	w.taken(1)
	w.press(1, 3)

	w.do(chromedp.Reload())
	w.taken(4)
	w.waits(`document.activeElement.id === "entry-text"`)
	w.keys("0.") // typed, not yet entered

	dir, address := w.d.dir, strings.TrimSuffix(strings.TrimPrefix(w.d.URL(), "http://"), "/")
	w.end()
	w.waits(`!document.getElementById("connection").hidden`)
	w.d, w.end = startDemo(w.t, dir, address)
	w.t.Cleanup(w.end)
	w.waits(`document.getElementById("connection").hidden`)
	w.taken(1)
	w.reads("#strip", inspector)
	if got := js[string](w, `document.getElementById("entry-text").value`); got != "0." {
		w.t.Errorf("after the station came back the entry line holds %q, want what was typed", got)
	}
	w.keys("\u001b")
	w.press(1, 8)
	w.f(1) // the carriage was moved: the crowns are linked
	w.reads("#stage", "so that what was read before can be used")
	w.f(9)
	w.verdict(1)
	all := w.inspections(serial)
	if len(all) != 1 || all[0].State != batch.Finished {
		w.t.Errorf("the record holds %+v, want one finished inspection", all)
	}
	seen := map[string]bool{}
	for _, r := range batch.Standing(w.readings(all[0])) {
		key := fmt.Sprint(r.Point, r.Round)
		if seen[key] {
			w.t.Errorf("%s was measured twice in one round", key)
		}
		seen[key] = true
	}
}
