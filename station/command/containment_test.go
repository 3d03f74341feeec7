package command

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"sagitta/batch"
	"sagitta/batch/record/recordtest"
	"sagitta/batch/tell"
	"sagitta/devices/simulate"
	"sagitta/inspect"
	"sagitta/station/app"
	"sagitta/station/bench"
	"sagitta/station/demo"
)

// drill is a demo's station with a gauge that is knocked, and what is true of the necks measured with it.
type drill struct {
	*demo.Station
	t      *testing.T
	dir    string
	before map[string]bool // readings taken before the knock
	spec   *inspect.Spec
}

const (
	drillBatch = "QM-2611"
	knockMM    = 0.125 // the height gauge reads so much too high after it
)

// startDrill opens the demo, its pages and its batch.
func startDrill(t *testing.T) *drill {
	t.Helper()
	d := &drill{t: t, dir: t.TempDir(), before: map[string]bool{}}
	d.Station = recordtest.Must(demo.Open(t.Context(), app.Options{Dir: d.dir, Name: "bench 1", Listen: "127.0.0.1:0", Demo: true}, 1))(t)
	served := make(chan error, 1)
	go func() { served <- d.Serve(t.Context()) }()
	t.Cleanup(func() {
		if err := d.Close(); err != nil {
			t.Error(err)
		}
		<-served
	})
	d.spec = recordtest.Must(d.Record.Batch(t.Context(), drillBatch))(t).Spec.Spec.WithDefaults()
	return d
}

// do sends a command of the bench or a form, which is done.
func (d *drill) do(path string, form url.Values) {
	d.t.Helper()
	if status, body := d.post(path, form); status >= 400 {
		d.t.Fatalf("POST %s: status %d: %s", path, status, sentences(body))
	}
}

func (d *drill) post(path string, form url.Values) (int, string) {
	d.t.Helper()
	client := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	resp := recordtest.Must(client.PostForm(strings.TrimSuffix(d.URL(), "/")+path, form))(d.t)
	defer resp.Body.Close()
	return resp.StatusCode, string(recordtest.Must(io.ReadAll(resp.Body))(d.t))
}

func (d *drill) page(path string) string {
	d.t.Helper()
	resp := recordtest.Must(http.Get(strings.TrimSuffix(d.URL(), "/") + path))(d.t)
	defer resp.Body.Close()
	body := string(recordtest.Must(io.ReadAll(resp.Body))(d.t))
	if resp.StatusCode != http.StatusOK {
		d.t.Fatalf("GET %s: status %d", path, resp.StatusCode)
	}
	return body
}

func serialOf(n int) string { return fmt.Sprintf("%s-%04d", drillBatch, n) }

// inspect measures a neck to its verdict.
func (d *drill) inspect(n int) {
	d.t.Helper()
	d.do("/bench/entry", url.Values{"text": {serialOf(n)}})
	d.finish()
}

// finish measures what is left of the neck on the bench, and clears the bench.
func (d *drill) finish() {
	d.t.Helper()
	d.do("/bench/demo/neck", nil)
	if s := d.Bench.Snapshot(); s.Stage != bench.Decided {
		d.t.Fatalf("%s ends %s", s.Serial, s.Stage)
	}
	d.do("/bench/next", nil)
}

// readings are those of a neck's newest inspection.
func (d *drill) readings(n int) (batch.Inspection, []batch.Reading) {
	d.t.Helper()
	neck := recordtest.Must(d.Record.Neck(d.t.Context(), serialOf(n)))(d.t)
	all := recordtest.Must(d.Record.Inspections(d.t.Context(), neck.ID))(d.t)
	in := all[len(all)-1]
	return in, recordtest.Must(d.Record.Readings(d.t.Context(), in.ID))(d.t)
}

// noteBefore notes that a neck's readings so far were taken before the knock.
func (d *drill) noteBefore(necks ...int) {
	d.t.Helper()
	for _, n := range necks {
		_, rows := d.readings(n)
		for _, r := range rows {
			d.before[r.ID] = true
		}
	}
}

// conforms is the truth of a neck as it was measured: with the knock taken off the readings that hold it.
func (d *drill) conforms(n int) bool {
	d.t.Helper()
	in, rows := d.readings(n)
	for i := range rows {
		if rows[i].GaugeID == simulate.HeightID && !d.before[rows[i].ID] {
			rows[i].Value -= knockMM
		}
	}
	res := recordtest.Must(inspect.Evaluate(d.spec, batch.Assemble(d.spec, in, rows, nil), inspect.Options{}))(d.t)
	return res.Conforms
}

// check checks the height gauge, to its result.
func (d *drill) check() {
	d.t.Helper()
	d.do("/bench/check", url.Values{"gauge": {simulate.HeightID}})
	for i := 0; d.Bench.Snapshot().Check != nil; i++ {
		if i > 12 {
			d.t.Fatalf("the check does not end: %+v", d.Bench.Snapshot().Check)
		}
		if status, body := d.post("/bench/demo/press", nil); status >= 500 { // a reading that is asked about is refused, and counts when it comes again
			d.t.Fatalf("POST /bench/demo/press: status %d: %s", status, body)
		}
	}
}

// state is what every outlet must say at one step.
type state struct {
	passed  int // necks that passed, in doubt or not
	inDoubt int // necks in doubt
	withIt  int // of them, necks that passed and may not ship
	firsts  int // first measurements in doubt
}

// says compares page, workbook and command with the truth.
func (d *drill) says(step string, want state) {
	d.t.Helper()
	answer := fmt.Sprintf("%d of 30 may ship", want.passed-want.withIt)
	if want.passed == want.withIt {
		answer = "None of 30 may ship"
	}
	inStatistics := fmt.Sprintf("%d of ", want.firsts)
	page := d.page("/batches/" + drillBatch)
	if !strings.Contains(page, answer) {
		d.t.Errorf("%s: the batch's page does not say %q", step, answer)
	}
	for _, w := range []struct {
		what string
		said bool
		want bool
	}{
		{"necks in doubt", strings.Contains(page, "in doubt and may not ship"), want.inDoubt > 0},
		{"first measurements in doubt", strings.Contains(page, inStatistics) && strings.Contains(page, "in doubt by first measurements"), want.firsts > 0},
	} {
		if w.said != w.want {
			d.t.Errorf("%s: the batch's page tells of %s: %t, want %t", step, w.what, w.said, w.want)
		}
	}

	out, errs := new(bytes.Buffer), new(bytes.Buffer)
	file := filepath.Join(d.t.TempDir(), "report.xlsx")
	if code := Run(d.t.Context(), []string{"report", drillBatch, "--data", d.dir, "-o", file}, nil, out, errs); code != exitDone || errs.Len() > 0 {
		d.t.Fatalf("%s: report ends with %d: %s", step, code, errs)
	}
	if !strings.Contains(out.String(), answer) || strings.Contains(out.String(), "in doubt by first measurements") != (want.firsts > 0) {
		d.t.Errorf("%s: report prints %q", step, out)
	}
	book := recordtest.Must(excelize.OpenFile(file))(d.t)
	defer book.Close()
	found := map[string]string{}
	for _, row := range recordtest.Must(book.GetRows("Summary"))(d.t) {
		if len(row) > 1 {
			found[row[0]] = row[1]
		}
		if len(row) > 0 && strings.Contains(row[0], "may ship") && !strings.Contains(row[0], answer) {
			d.t.Errorf("%s: the workbook says %q", step, row[0])
		}
	}
	if found["In doubt"] != fmt.Sprint(want.inDoubt) || (found["First-pass yield without doubt"] != "") != (want.firsts > 0) {
		d.t.Errorf("%s: the workbook counts %q in doubt, and without doubt %q passed; want %+v", step, found["In doubt"], found["First-pass yield without doubt"], want)
	}
}

// TestContainment plants a knock in mid-neck that nobody saw, and goes through what a shop does about it: the check that fails, the necks
// in doubt, what the error means for each, the clearing of those that still conform, the call-back of the rest. At every step the pages,
// the workbook and the command say what is true, and what is told of a neck is true of it.
func TestContainment(t *testing.T) {
	d := startDrill(t)
	necks := []int{1, 2, 3, 7, 25}
	d.inspect(1)
	d.noteBefore(1)
	d.do("/bench/entry", url.Values{"text": {serialOf(2)}})
	for heights := 0; heights < 5; {
		s := d.Bench.Snapshot()
		if s.Next >= 0 && s.Points[s.Next].GaugeID == simulate.HeightID {
			heights++
		}
		d.do("/bench/demo/press", nil)
	}
	d.noteBefore(2)
	if err := d.Knock(simulate.HeightID, knockMM); err != nil {
		t.Fatal(err)
	}
	d.finish()
	for _, n := range necks[2:] {
		d.inspect(n)
	}
	judged := map[int]inspect.Disposition{}
	passed := 0
	for _, n := range necks {
		neck := recordtest.Must(d.Record.NeckStory(t.Context(), serialOf(n)))(t)
		if judged[n] = neck.Disposition; judged[n] == inspect.Pass {
			passed++
		}
	}
	t.Logf("judged with the knock in it: %v", judged)
	d.says("knocked", state{passed: passed})
	if judged[7] != inspect.Pass || d.conforms(7) {
		t.Fatalf("neck 7, cut too deep, is judged %s and conforms in truth: %t; the drill wants a pass that is not true", judged[7], d.conforms(7))
	}

	d.check()
	d.says("check failed", state{passed: passed, inDoubt: len(necks), withIt: passed, firsts: len(necks)})
	list := d.page("/callback?batch=" + drillBatch)
	outcomes := map[batch.ImpactOutcome]int{}
	back := []int{}
	for _, doubt := range recordtest.Must(d.Record.Doubts(t.Context(), batch.DoubtFilter{Standing: true, Impact: true}))(t) {
		n := 0
		if _, err := fmt.Sscanf(doubt.Neck.Serial, drillBatch+"-%d", &n); err != nil {
			t.Fatal(err)
		}
		outcome, truth := doubt.Impact.Outcome, d.conforms(n)
		t.Logf("%s: %s, %d of %d fail; conforms in truth: %t", doubt.Neck.Serial, outcome, doubt.Impact.Fail, doubt.Impact.Moments, truth)
		if outcome == batch.StillConforms && !truth || outcome == batch.WouldFail && truth {
			t.Errorf("%s is told that it %s; it conforms in truth: %t", doubt.Neck.Serial, outcome, truth)
		}
		if outcome != batch.StillConforms {
			back = append(back, n)
		}
		outcomes[outcome]++
		if !strings.Contains(list, doubt.Neck.Serial+"</a>") {
			t.Errorf("%s is not on the call-back list", doubt.Neck.Serial)
		}
	}
	if told := tell.Impacts(outcomes); !strings.Contains(list, told) {
		t.Errorf("the call-back list does not say %q", told)
	}
	for _, o := range batch.ImpactOutcomes {
		if outcomes[o] == 0 {
			t.Errorf("no neck is told that it %s: the drill goes through all three", o)
		}
	}

	group := outcomes[batch.StillConforms]
	seal := regexp.MustCompile(`name="seal" value="([^"]+)"`).FindStringSubmatch(list)
	if seal == nil || !strings.Contains(list, fmt.Sprintf("Clear %d neck", group)) {
		t.Fatalf("the list does not offer to clear %d", group)
	}
	d.do("/callback/clear?batch="+drillBatch, url.Values{"seal": {seal[1]}, "by": {"Ilse Marchetti-Roe"}, "reason": {"they conform with the shift found"}})
	passedBack := 0
	for _, n := range back {
		if judged[n] == inspect.Pass {
			passedBack++
		}
	}
	d.says("cleared", state{passed: passed, inDoubt: len(back), withIt: passedBack, firsts: len(back)})

	d.check() // its zero is the new one from now on
	if g := recordtest.Must(d.Record.LatestCheck(t.Context(), simulate.HeightID))(t); !g.Good {
		t.Fatalf("the second check: %s", g.Why)
	}
	for _, n := range back {
		crowns := 0
		_, rows := d.readings(n)
		for _, r := range rows {
			if r.Point.Kind == batch.Crown {
				crowns++
			}
		}
		d.inspect(n)
		in, rows := d.readings(n)
		for _, r := range rows[len(rows)-1:] {
			if r.GaugeID != simulate.HeightID {
				t.Errorf("%s: the newest reading is of %q; only what is in doubt is measured again", serialOf(n), r.Point.Kind)
			}
		}
		for _, r := range rows {
			if r.Point.Kind == batch.Crown {
				crowns--
			}
		}
		if crowns != 0 || in.Attempt != 1 {
			t.Errorf("%s: attempt %d, %d crowns more; want the same attempt with what is in doubt measured again", serialOf(n), in.Attempt, -crowns)
		}
	}
	passed = 0
	for _, n := range necks {
		neck := recordtest.Must(d.Record.NeckStory(t.Context(), serialOf(n)))(t)
		if neck.Disposition == inspect.Pass {
			passed++
		}
		if sound := n < 4; sound != (neck.Disposition == inspect.Pass) { // one is planted with a slot cut too deep, one with saddles set high
			t.Errorf("%s ends %s; it is planted sound: %t", serialOf(n), neck.Disposition, sound)
		}
	}
	d.says("called back", state{passed: passed})
	if page := d.page("/callback?batch=" + drillBatch); !strings.Contains(page, "Nothing is in doubt any more") {
		t.Error("the list does not say that nothing is in doubt any more")
	}
}
