package demo

import (
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/xuri/excelize/v2"

	"sagitta/testdata/demo"
)

// pages opens every page, light and dark, at a bench's screen and on a phone.
func pages(w *window, serials ...string) {
	spec := w.d.Bench.Snapshot().Batch.Spec.ID
	paths := []string{"/", "/batches", "/batches/QM-2611", "/batches/QM-2612", "/batches/QM-2611/necks", "/batches/QM-2611/charts", "/necks", "/necks?q=QM-2611", "/specs", "/specs/" + spec,
		"/specs/" + spec + "/edit", "/gauges", "/gauges/carriage", "/gauges/new", "/people", "/about", "/no/such/page"}
	for _, s := range serials {
		paths = append(paths, "/necks/"+s)
	}
	papers := map[string]bool{}
	for _, light := range []string{"light", "dark"} {
		w.do(chromedp.EmulateViewport(1280, 900))
		w.open("/")
		if light == "dark" { // it is light until told otherwise
			w.click("Dark page")
			w.waits(`document.documentElement?.dataset.light === "dark"`)
		}
		for _, path := range paths {
			w.open(path)
			papers[light+js[string](w, `getComputedStyle(document.body).backgroundColor`)] = true
			for _, size := range [][2]int64{{1280, 900}, {390, 844}} {
				w.do(chromedp.EmulateViewport(size[0], size[1]))
				if over := js[int](w, `document.documentElement.scrollWidth - innerWidth`); over > 0 {
					w.t.Errorf("%s, %s: %d px wider than a window of %d px", path, light, over, size[0])
				}
			}
			if heads := js[int](w, `document.querySelectorAll("h1").length`); heads != 1 {
				w.t.Errorf("%s has %d first headings, want 1", path, heads)
			}
			legible(w, path+", "+light)
		}
	}
	if len(papers) != 2 {
		w.t.Errorf("the pages' backgrounds are %v, want one for each light", papers)
	}
	w.do(chromedp.EmulateViewport(1280, 900))
}

// legible looks for faint text in the page as it is drawn now.
func legible(w *window, where string) {
	w.t.Helper()
	if faint := js[[]string](w, faintText); len(faint) > 0 {
		w.t.Errorf("%s: less than 4.5:1 (WCAG 2.2, success criterion 1.4.3): %q", where, faint)
	}
}

// legibleInBothLights does so in the light page and, for a moment, in the dark one.
func legibleInBothLights(w *window, where string) {
	w.t.Helper()
	legible(w, where+", light")
	js[bool](w, `document.documentElement.dataset.light = "dark", true`)
	legible(w, where+", dark")
	js[bool](w, `delete document.documentElement.dataset.light, true`)
}

// faintText finds text whose contrast with what lies behind it is below 4.5:1, by the relative luminance of WCAG 2.2.
const faintText = `(() => {
  const canvas = new OffscreenCanvas(1, 1).getContext("2d", { willReadFrequently: true });
  const rgba = (colour) => { canvas.clearRect(0, 0, 1, 1); canvas.fillStyle = colour; canvas.fillRect(0, 0, 1, 1); return [...canvas.getImageData(0, 0, 1, 1).data].map((v) => v / 255); };
  const over = (top, under) => [0, 1, 2].map((i) => top[i] * top[3] + under[i] * (1 - top[3]));
  const luminance = (c) => { const [r, g, b] = c.map((v) => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
  const paper = (e) => e ? over(rgba(getComputedStyle(e).backgroundColor), paper(e.parentElement)) : [1, 1, 1];
  const found = new Set();
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const e = walk.currentNode.parentElement;
    const style = getComputedStyle(e);
    if (!walk.currentNode.data.trim() || !e.checkVisibility({ opacityProperty: true, visibilityProperty: true }) || e.closest("svg, .unseen, .skip, :disabled, noscript")) continue;
    const behind = paper(e);
    let seen = 1;
    for (let up = e; up; up = up.parentElement) seen *= Number(getComputedStyle(up).opacity);
    const ink = rgba(style.color);
    const [a, b] = [luminance(over([ink[0], ink[1], ink[2], ink[3] * seen], behind)), luminance(behind)].sort((x, y) => y - x);
    const ratio = (a + 0.05) / (b + 0.05);
    if (ratio < 4.5) found.add(e.tagName + "." + e.className + " " + ratio.toFixed(2) + " " + walk.currentNode.data.trim().slice(0, 30));
  }
  return [...found].slice(0, 5);
})()`

// workbook follows the batch page's link as the browser would and opens what comes.
func workbook(w *window, sound, bowed string) {
	w.open("/batches/QM-2611")
	w.reads("main", "2 of 30 may ship")
	href := js[string](w, `[...document.querySelectorAll("a")].find(a => a.innerText.includes("Workbook, mm")).href`)
	resp, err := http.Get(href)
	if err != nil {
		w.t.Fatal(err)
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusOK || !strings.Contains(resp.Header.Get("Content-Disposition"), "QM-2611") {
		w.t.Errorf("%s: %s, %v", href, resp.Status, resp.Header)
	}
	f, err := excelize.OpenReader(resp.Body)
	if err != nil {
		w.t.Fatal(err)
	}
	defer f.Close()
	rows, err := f.GetRows("Necks")
	if err != nil {
		w.t.Fatal(err)
	}
	passed := map[string]bool{}
	for _, row := range rows {
		for _, serial := range []string{sound, bowed} {
			if slices.Contains(row, serial) && slices.Contains(row, "pass") {
				passed[serial] = true
			}
		}
	}
	if len(passed) != 2 {
		w.t.Errorf("the workbook's sheet Necks shows as passed: %v, want %s and %s", passed, sound, bowed)
	}
}

// pulledFlow pulls the carriage's plug by the page's own button: the page says so, refuses what the gauge sends until it
// was checked, and the neck goes on, its two crowns measured again.
func pulledFlow(w *window) {
	const serial = "QM-2611-0003"
	w.scan(serial)
	w.press(1, 2)
	w.click("More")
	w.click("Pull the carriage")
	w.reads("#notice", "The carriage indicator and the carriage position are unplugged. Plug the gauge in again")
	w.reads("#notice", "The line of the carriage indicator was lost after 2 crowns: they are measured again, which is quicker than linking them, and they stay in the record")
	w.waits(`document.getElementById("strip").textContent.includes("Plug the gauge in again")`)
	legibleInBothLights(w, "unplugged")
	w.f(7)
	w.reads("#notice", "unplugged")
	w.taken(1) // two crowns are too few to be linked
	w.click("Plug the carriage")
	w.click("Close")
	w.reads("#strip", "carriage indicator locked out")
	w.waits(`document.getElementById("strip").textContent.includes("Check it: zero on the flat reference")`)
	legibleInBothLights(w, "locked out")
	js[bool](w, `document.querySelector("#trouble summary").click(), true`)
	w.click("Check now")
	w.reads("#stage", "step 1 of 3") // what the stage said before names the flat reference too
	step := func() string {
		if c := w.d.Bench.Snapshot().Check; c != nil {
			return c.Step
		}
		return ""
	}
	for asked := "zero"; asked != ""; asked = step() { // the first line after it was plugged in may not count
		w.f(7)
		for end := time.Now().Add(2 * time.Second); step() == asked && time.Now().Before(end); {
			time.Sleep(10 * time.Millisecond)
		}
	}
	w.reads("#notice", "is checked")
	w.waits(`!document.querySelector("#strip").innerText.includes("locked out")`)
	w.press(1, 1)
	w.f(9)
	if word := w.verdict(1); word != "pass" {
		w.t.Errorf("%s: %s (%s), want pass", serial, word, w.text(".verdict .why"))
	}
	if n := len(w.inspections(serial)); n != 1 {
		w.t.Errorf("the record holds %d inspections of %s, want 1", n, serial)
	}
}

// formsFlow imports a specification whose text has a mistake and then without it, and opens a batch on it.
func formsFlow(w *window) {
	file, err := demo.Files.Open("qm-bolt-648.toml")
	if err != nil {
		w.t.Fatal(err)
	}
	text, err := io.ReadAll(file)
	if err != nil {
		w.t.Fatal(err)
	}
	good := strings.Replace(string(text), `revision = "A"`, `revision = "B"`, 1)
	bad := strings.Replace(good, "joint_fret = 17", "join_fret = 17", 1)
	line := 1 + strings.Count(bad[:strings.Index(bad, "join_fret")], "\n")
	send := func(text string) {
		w.waits(fmt.Sprintf(`(() => { document.getElementById("f-text").value = %q; return true; })()`, text))
		js[bool](w, fmt.Sprintf(`(() => { const by = document.getElementById("f-by"); by.value = [...by.options].find(o => o.text.includes(%q)).value; return true; })()`, manager))
		w.click("Import")
	}
	w.open("/specs")
	send(bad)
	w.reads("main", "join_fret")
	for _, want := range []string{fmt.Sprintf("line %d", line), "joint_fret"} {
		if said := w.text("main"); !strings.Contains(said, want) {
			w.t.Errorf("the page does not say %q:\n%.600s", want, said)
		}
	}
	if kept := js[string](w, `document.getElementById("f-text").value`); strings.TrimSpace(kept) != strings.TrimSpace(bad) {
		w.t.Error("what was typed is not kept beside the error")
	}
	send(good)
	w.reads("main", "Save QM Bolt 648")
	w.reads(".changes", "revision")
	js[bool](w, `document.getElementById("f-reason").value = "the letter alone", true`)
	w.click("Save")
	w.waits(`location.pathname.startsWith("/specs/")`)
	w.reads("main", "revision B")

	w.open("/batches")
	for field, value := range map[string]string{"number": "QM-2699", "planned": "2", "serials": "QM-2699-0001..QM-2699-0002", "note": "opened by a form"} {
		js[bool](w, fmt.Sprintf(`document.getElementById("f-" + %q).value = %q, true`, field, value))
	}
	for field, option := range map[string]string{"spec": "B", "by": manager} {
		js[bool](w, fmt.Sprintf(`(() => { const s = document.getElementById("f-" + %q); s.value = [...s.options].find(o => o.text.includes(%q)).value; return true; })()`, field, option))
	}
	w.click("Open the batch")
	w.waits(`location.pathname === "/batches/QM-2699"`)
	w.reads("main", "None of 2 has been inspected yet")
	w.open("/batches/QM-2699/necks")
	w.reads("main", "QM-2699-0002")
}

// unattendedFlow lets the simulated inspector work alone, finds the bench's keys refused meanwhile, and stops it.
func unattendedFlow(w *window) {
	w.click("Inspect the rest unattended")
	w.reads("#demo", "Inspecting unattended")
	w.f(7)
	w.reads("#notice", "the simulated inspector is at work: stop it first")
	w.waits(`/: [1-9]\d? of 30 necks are done/.test(document.getElementById("demo").innerText)`)
	w.click("Stop")
	w.reads("#demo", "Inspect the rest unattended")
	w.open("/batches/QM-2611")
	w.reads("main", "of 30 may ship")
}
