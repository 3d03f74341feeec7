package command

import (
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record/recordtest"
	"sagitta/inspect"
	"sagitta/station/bench/routine"
	"sagitta/testdata/demo"
)

// writesNothing are the forms that ask nothing of the disk, with the reason.
var writesNothing = map[string]string{
	"POST /record/looked":          "there is nothing that a verification found; station/copies has the test of what is noted",
	"POST /doubt/count":            "counts what a doubt would mark",
	"POST /unit":                   "sets a cookie",
	"POST /light":                  "sets a cookie",
	"POST /bench/batch":            "says which batch is on the bench, in memory",
	"POST /bench/inspector":        "says who works at the bench, in memory",
	"POST /bench/next":             "clears the bench, whose verdict is recorded",
	"POST /bench/choose":           "says which point is asked for, in memory",
	"POST /bench/discard":          "a questioned reading that is not used was never recorded",
	"POST /bench/check":            "begins a check, whose outcome is recorded at its end",
	"POST /bench/check-all":        "begins checks, whose outcomes are recorded at their ends",
	"POST /bench/cancel-check":     "ends a check without an outcome",
	"POST /bench/leave-study":      "takes a study off the bench, whose readings are recorded",
	"POST /bench/show-rework":      "leads to a form",
	"POST /bench/show-decide":      "leads to a form",
	"POST /bench/show-hand":        "leads to a form",
	"POST /bench/typed":            "hands keys to a gauge, of whose reading the bench tells as of any other's",
	"POST /bench/demo/press":       "presses a simulated key: the bench tells what became of the reading, and TestFullDiskAtTheBench asks it",
	"POST /bench/demo/unattended":  "begins work, of which the bench tells",
	"POST /bench/demo/stop":        "ends work, in memory",
	"POST /bench/demo/pull":        "unplugs a simulated cable",
	"POST /bench/demo/plug":        "plugs a simulated cable in",
	"POST /gauges/:id/check":       "begins a check, whose outcome is recorded at its end",
	"POST /gauges/:id/which":       "listens to lines first; saves the gauge as POST /gauges/:id does, and its own test refuses it",
	"POST /gauges/identify":        "listens to a line",
	"POST /specs/form":             "shows a specification again as it is filled in",
	"POST /gauges/identify/stop":   "ends listening",
	"POST /gauges/identify/choice": "says what bytes are, in memory",
	"POST /gauges/identify/typed":  "reads what was typed, in memory",
	"POST /studies/:study/bench":   "takes a study to the bench, in memory",
	"POST /share":                  "lets a device in where people sign on, as the trail tells or not at all: station/signon's own test refuses it",
	"POST /share/:token":           "lets a device in where people sign on, as the trail tells or not at all: station/signon's own test refuses it",
	"POST /studies/:study/leave":   "takes a study off the bench, in memory",
}

// TestFullDiskThroughEveryForm fills the disk before every form that writes is sent: it is refused as what the machine could not do,
// logged, says that nothing was recorded and keeps what was typed, no table has a row more, and the pages go on. Then there is
// room, and the same form is done. A form that is neither sent here nor listed with its reason fails the test.
func TestFullDiskThroughEveryForm(t *testing.T) {
	dir := t.TempDir()
	alarm, study := furnished(t, dir)
	d, _ := startOnDisk(t, dir)
	d.signOnForms()
	d.record(alarm, study)
	d.batches()
	d.inspection()
	d.carriedOver()
	d.byEye()
	d.firstSteps()
	d.instruments()
	d.photographs(dir)
	routes := recordtest.Must(os.ReadFile(filepath.Join("..", "web", "testdata", "routes.txt")))(t)
	for _, route := range strings.Split(strings.TrimSpace(string(routes)), "\n") {
		if !strings.HasPrefix(route, "POST ") {
			continue
		}
		if why := writesNothing[route]; d.covered[route] == (why != "") {
			t.Errorf("%s: sent %v, the reason not to is %q; a form that writes is sent here, any other is listed with its reason", route, d.covered[route], why)
		}
	}
	d.keeps(dir, "Odile Brandt", "LOT-3")
}

// record sends the forms of people, specifications, gauges, studies and alarms.
func (d *fullDisk) record(alarm, study string) {
	d.t.Helper()
	d.both(sent{route: "POST /people", path: "/people", form: url.Values{"name": {"Odile Brandt"}, "role": {"repairer"}}})
	d.both(sent{route: "POST /handover", path: "/handover", form: url.Values{"by": {theInspector}, "text": {"the flat is dusty"}}})
	d.both(sent{route: "POST /people/badge", path: "/people/badge", form: url.Values{"person": {"Odile Brandt"}, "badge": {"OB-1"}}})
	spec := strings.Replace(string(recordtest.Must(demo.Files.ReadFile("qm-bolt-648.toml"))(d.t)), `revision = "`, `revision = "Z`, 1)
	d.both(sent{route: "POST /specs", path: "/specs", form: url.Values{"text": {strings.TrimSpace(spec)}, "by": {theManager}, "reason": {"the customer wants it so"}}})

	entry := url.Values{"name": {"bench pen"}, "measures": {"nut height"}, "resolution": {"0.01"}, "sense": {"1"}, "zero_limit": {"0.02"}, "each_shift": {"no"},
		"path": {"/dev/ttyNONE"}, "decoder": {"channel and value"}, "capture": {"key"}, "u_reason": {"data sheet"}, "by": {theManager}}
	to := d.both(sent{route: "POST /gauges", path: "/gauges", form: entry})
	entry.Set("name", "bench pen, new tip")
	d.both(sent{route: "POST /gauges/:id", path: to, form: entry})
	d.both(sent{route: "POST /gauges/:id/drop", path: to + "/drop"})
	d.both(sent{route: "POST /gauges/:id/power", path: to + "/power"})
	d.both(sent{route: "POST /gauges/:id/certificates", path: to + "/certificates", file: make([]byte, 6<<20), form: url.Values{
		"cert_number": {"QL-9"}, "cert_laboratory": {"gauge room"}, "cert_issued": {"2026-01-05"}, "cert_due": {"2099-01-05"}, "cert_u": {"0.003"}, "cert_correction": {"1.000 0.002"}, "cert_by": {theManager}}})
	planned := d.both(sent{route: "POST /gauges/:id/studies", path: to + "/studies", form: url.Values{
		"kind": {"crossed"}, "about": {"crown of fret 7"}, "appraisers": {theInspector, theManager}, "trials": {"2"}, "parts": {"P1..P3"}, "by": {theManager}}})
	d.both(sent{route: "POST /studies/:study/give-up", path: planned + "/give-up", form: url.Values{"reason": {"the block was lost"}, "by": {theManager}}})
	d.both(sent{route: "POST /gauges/:id/retire", path: to + "/retire", form: entry})
	d.both(sent{route: "POST /studies/:study/use", path: "/studies/" + study + "/use", form: url.Values{"by": {theManager}}})
	d.both(sent{route: "POST /alarms/:id/acknowledge", path: "/alarms/" + alarm + "/acknowledge", form: url.Values{"by": {theManager}, "note": {"the saw was set"}}})
	over := url.Values{"batch": {"LOT-1"}, "reason": {"the flat was scratched"}, "by": {theManager}}
	_, _, page := d.post(sent{route: "POST /doubt/count", path: "/doubt/count", form: over})
	over.Set("shown", regexp.MustCompile(`name="shown" value="([^"]+)"`).FindStringSubmatch(page)[1])
	d.both(sent{route: "POST /doubt", path: "/doubt", form: over})
	for _, n := range regexp.MustCompile(`href="(/necks/[^"]+)"`).FindAllStringSubmatch(d.read("/callback?batch=LOT-1"), -1) {
		d.post(sent{route: "POST /necks/:serial/clear-doubt", path: n[1] + "/clear-doubt", form: url.Values{"by": {theManager}, "reason": {"the flat was sound"}, "seal": {d.seal(n[1])}}})
	}
	d.both(sent{route: "POST /necks/:serial/clear-doubt", path: "/necks/LOT-2-01/clear-doubt", form: url.Values{"by": {theManager}, "reason": {"measured with the beam"}, "seal": {d.seal("/necks/LOT-2-01")}}})
	d.both(sent{route: "POST /callback/clear", path: "/callback/clear", form: url.Values{"by": {theManager}, "reason": {"they conform with the shift found"}, "seal": {d.seal("/callback")}}})
}

// seal is that of the doubts which a page offers to clear.
func (d *fullDisk) seal(path string) string {
	d.t.Helper()
	seal := regexp.MustCompile(`name="seal" value="([^"]+)"`).FindStringSubmatch(d.read(path))
	if seal == nil {
		d.t.Fatalf("%s offers nothing to clear", path)
	}
	return seal[1]
}

// batches sends the forms of batches and of their outgoing audits.
func (d *fullDisk) batches() {
	d.t.Helper()
	page := d.read("/batches")
	spec := regexp.MustCompile(`<option value="([^"]+)">QM Lot 648`).FindStringSubmatch(page)
	if spec == nil {
		d.t.Fatal("no specification to open a batch against")
	}
	d.both(sent{route: "POST /batches", path: "/batches", form: url.Values{"number": {"LOT-3"}, "spec": {spec[1]}, "planned": {"9"}, "serials": {"LOT-3-1\nLOT-3-2"}, "note": {"for the fair"}, "by": {theManager}}})
	d.both(sent{route: "POST /batches/:number/necks", path: "/batches/LOT-3/necks", form: url.Values{"serials": {"LOT-3-7..LOT-3-9"}, "by": {theManager}}})
	d.both(sent{route: "POST /batches/:number/close", path: "/batches/LOT-3/close", form: url.Values{"by": {theManager}}})
	d.both(sent{route: "POST /batches/:number/base", path: "/batches/LOT-1/base", form: url.Values{"first": {"2"}, "last": {"9"}, "reason": {"after the saw was set"}, "by": {theManager}}})

	draw := sent{route: "POST /batches/:number/audit", path: "/batches/LOT-1/audit", form: url.Values{"aql": {"10"}, "level": {"II"}, "severity": {"normal"}, "by": {theManager}}}
	audit := d.both(draw)
	found := url.Values{"by": {theManager}}
	for i, m := range regexp.MustCompile(`name="note-([^"]+)"`).FindAllStringSubmatch(d.read(audit), -1) {
		if found.Set("found-"+m[1], "conforming"); i < 2 {
			found.Set("found-"+m[1], "nonconforming")
			found.Set("note-"+m[1], "buzz at fret 3")
		}
	}
	d.both(sent{route: "POST /audits/:audit/findings", path: audit + "/findings", form: found})
	d.both(sent{route: "POST /audits/:audit/sign", path: audit + "/sign", form: url.Values{"by": {theManager}, "note": {"as agreed"}, "production": {"unsteady"}}})
	d.both(sent{route: "POST /audits/:audit/release", path: audit + "/release", form: url.Values{"by": {theManager}, "done": {"sorted by hand"}}})
	again := d.done(draw)
	d.both(sent{route: "POST /audits/:audit/give-up", path: again + "/give-up", form: url.Values{"by": {theManager}, "reason": {"the wrong level"}}})
}

// inspection inspects a neck of the demo's batch from its serial number to what is done with it.
func (d *fullDisk) inspection() {
	d.t.Helper()
	const serial = "QM-2611-0001"
	neck := url.Values{"text": {serial}}
	d.bench("entry", neck)
	d.room("take", nil)
	d.room("demo/press", nil)
	d.bench("moved", nil) // too few crowns to be linked: that they no longer count is recorded
	d.room("undo", nil)
	d.bench("handed", url.Values{"handed": {"left"}})
	d.room("handed", url.Values{"handed": {""}})
	d.bench("climate", url.Values{"temperature": {"20.5"}, "humidity": {"46"}})
	d.bench("park", url.Values{"reason": {"settling"}})
	d.bench("entry", neck)
	d.bench("abandon", url.Values{"reason": {"the wrong neck"}})
	d.room("entry", neck)
	d.bench("take", nil)
	d.bench("undo", nil)
	d.bench("foot", nil)
	d.bench("skip", nil)
	d.room("undo", nil)
	d.bench("entry", url.Values{"text": {"0.02 mm"}})
	d.room("choose", url.Values{"key": {routine.Key(batch.Point{Kind: batch.ActionHeight, String: 1, Fret: 12})}})
	d.room("entry", url.Values{"text": {"15 mm"}}) // no height of a string
	d.bench("use", nil)
	d.room("undo", nil)
	d.room("undo", nil)
	d.both(sent{route: "POST /bench/demo/neck", path: "/bench/demo/neck", told: true})
	d.bench("decide", url.Values{"disposition": {"rework"}, "by": {theManager}, "reason": {"the customer wants it lower"}})
	turn := url.Values{"what": {inspect.StepRod}, "direction": {"tighten"}, "sixteenths": {"1"}, "note": {"by hand"}}
	d.bench("rework", turn)
	d.bench("rework-back", url.Values{"id": {regexp.MustCompile(`name="id" value="([^"]+)"`).FindStringSubmatch(d.read("/"))[1]}})
	d.room("rework", turn)
	d.bench("again", nil)
	d.room("park", nil)
}

// byEye measures with a set of leaves, and with a beam of which nobody knows yet where its feet stand.
func (d *fullDisk) byEye() {
	d.t.Helper()
	d.room("batch", url.Values{"number": {"LOT-5"}})
	d.room("entry", url.Values{"text": {"LOT-5-0001"}})
	d.room("take", nil)
	d.bench("leaf", url.Values{"rung": {"9"}})
	d.room("park", nil)
	d.done(sent{route: "POST /gauges/:id/retire", path: "/gauges/beam/retire", form: url.Values{"by": {theManager}}})
	d.room("batch", url.Values{"number": {"LOT-6"}})
	d.room("entry", url.Values{"text": {"LOT-6-0001"}})
	d.room("take", nil)
	d.bench("feet", url.Values{"first": {"fret 1"}, "reads": {"fret 7"}, "second": {"403 mm"}})
	d.room("park", nil)
}

// carriedOver has everything measured of a neck of which some was to be carried over.
func (d *fullDisk) carriedOver() {
	d.t.Helper()
	d.room("entry", url.Values{"text": {"QM-2611-0002"}})
	d.done(sent{route: "POST /bench/demo/neck", path: "/bench/demo/neck"})
	d.room("decide", url.Values{"disposition": {"rework"}, "by": {theManager}, "reason": {"the slots are rough"}})
	d.room("rework", url.Values{"what": {inspect.StepNut}, "string": {"3"}})
	d.room("again", nil)
	d.bench("whole", nil)
	d.room("park", nil)
}

// firstSteps sends the forms of the page on which a station begins.
func (d *fullDisk) firstSteps() {
	d.t.Helper()
	d.both(sent{route: "POST /start/name", path: "/start/name", form: url.Values{"name": {"Tobias Grey"}}})
	d.both(sent{route: "POST /start/gauges", path: "/start/gauges", form: url.Values{"with": {"leaves-ruler"}}})
	d.both(sent{route: "POST /start/spec", path: "/start/spec", form: url.Values{"template": {"classical"}}})
	_, offered, _ := strings.Cut(d.read("/start"), `name="spec"`)
	_, offered, _ = strings.Cut(offered, `<option value="`)
	spec, _, _ := strings.Cut(offered, `"`)
	d.both(sent{route: "POST /start/neck", path: "/start/neck", form: url.Values{"serial": {"2026-014"}, "spec": {spec}}})
	d.room("park", nil)
	d.both(sent{route: "POST /start/house", path: "/start/house", form: url.Values{"house": {"builder"}}})
	d.both(sent{route: "POST /start/house", path: "/start/house", form: url.Values{"house": {"factory"}}})
}

// instruments sends the forms of single instruments.
func (d *fullDisk) instruments() {
	d.t.Helper()
	d.both(sent{route: "POST /necks/:serial/instrument", path: "/necks/LOT-2-01/instrument", form: url.Values{"kind": {"classical"}, "maker": {"17"}, "by": {theManager}}})
	d.both(sent{route: "POST /instruments/new", path: "/instruments/new", form: url.Values{"serial": {"2026-015"}, "owner": {"Ida Marsh"}, "words": {"low, please"}, "kind": {"classical"}, "by": {theManager}}})
	d.both(sent{route: "POST /instruments/:serial/owner", path: "/instruments/2026-015/owner", form: url.Values{"owner": {"Tam Reed"}, "by": {theManager}}})
	d.both(sent{route: "POST /instruments/:serial/strings", path: "/instruments/2026-015/strings", form: url.Values{"set": {""}, "name": {"our own"}, "diameters": {"0.71:0.42 0.81:0.55 1.02:0.9 0.75w:1.9 0.91w:3.1 1.12w:5"}, "fitted": {string(batch.DayOf(time.Now()))}, "by": {theManager}}})
	d.both(sent{route: "POST /instruments/:serial/notes", path: "/instruments/2026-015/notes", form: url.Values{"text": {"the seam opens"}, "by": {theManager}}})
	d.both(sent{route: "POST /instruments/:serial/promises", path: "/instruments/2026-015/promises", form: url.Values{"what": {"glue the seam"}, "due": {string(batch.DayOf(time.Now()))}, "by": {theManager}}})
	_, at, _ := strings.Cut(d.read("/instruments/2026-015"), `action="/instruments/2026-015/promises/`)
	at, _, _ = strings.Cut(at, "#")
	d.both(sent{route: "POST /instruments/:serial/promises/:promise", path: "/instruments/2026-015/promises/" + at, form: url.Values{"how": {"dropped"}, "words": {"it was sold"}, "by": {theManager}}})
	d.both(sent{route: "POST /instruments/:serial/bench", path: "/instruments/2026-015/bench"})
	d.room("abandon", url.Values{"reason": {"the player came for it"}})
	d.both(sent{route: "POST /instruments/:serial/end", path: "/instruments/2026-015/end", form: url.Values{"result": {"as it was"}, "by": {theManager}}})
	d.both(sent{route: "POST /instruments/:serial/visit", path: "/instruments/2026-015/visit", form: url.Values{"words": {"for slide"}, "by": {theManager}}})
}
