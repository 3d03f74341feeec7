package command

import (
	"bufio"
	"bytes"
	"cmp"
	"context"
	"database/sql"
	"fmt"
	"html"
	"io"
	"maps"
	"mime/multipart"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"golang.org/x/sys/unix"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/batch/record/recordtest"
	"sagitta/inspect"
	"sagitta/testdata/demo"
)

// The people of the demo.
const (
	theInspector = "Wren Halloway"
	theManager   = "Ilse Marchetti-Roe"
)

// writesNothing are the forms that ask nothing of the disk, with the reason.
var writesNothing = map[string]string{
	"POST /unit":                  "sets a cookie",
	"POST /light":                 "sets a cookie",
	"POST /bench/batch":           "says which batch is on the bench, in memory",
	"POST /bench/inspector":       "says who works at the bench, in memory",
	"POST /bench/next":            "clears the bench, whose verdict is recorded",
	"POST /bench/choose":          "says which point is asked for, in memory",
	"POST /bench/discard":         "a questioned reading that is not used was never recorded",
	"POST /bench/check":           "begins a check, whose outcome is recorded at its end",
	"POST /bench/check-all":       "begins checks, whose outcomes are recorded at their ends",
	"POST /bench/cancel-check":    "ends a check without an outcome",
	"POST /bench/leave-study":     "takes a study off the bench, whose readings are recorded",
	"POST /bench/show-rework":     "leads to a form",
	"POST /bench/show-decide":     "leads to a form",
	"POST /bench/typed":           "hands keys to a gauge, of whose reading the bench tells as of any other's",
	"POST /bench/demo/press":      "presses a simulated key: the bench tells what became of the reading, and TestFullDiskAtTheBench asks it",
	"POST /bench/demo/unattended": "begins work, of which the bench tells",
	"POST /bench/demo/stop":       "ends work, in memory",
	"POST /bench/demo/pull":       "unplugs a simulated cable",
	"POST /bench/demo/plug":       "plugs a simulated cable in",
	"POST /gauges/:id/check":      "begins a check, whose outcome is recorded at its end",
	"POST /gauges/:id/which":      "listens to lines first; keeps the gauge's entry as POST /gauges/:id does, and its own test refuses it",
	"POST /gauges/identify":       "listens to a line",
	"POST /gauges/identify/stop":  "ends listening",
	"POST /studies/:study/bench":  "takes a study to the bench, in memory",
	"POST /studies/:study/leave":  "takes a study off the bench, in memory",
}

// The program as this test's child takes a limit on the size of the files that it writes as an error of the write, like a full disk,
// and has it from its start where the environment names one.
func init() {
	if os.Getenv("SAGITTA_RUN") == "" {
		return
	}
	signal.Ignore(unix.SIGXFSZ)
	if most, err := strconv.ParseUint(os.Getenv("SAGITTA_FILE_LIMIT"), 10, 64); err == nil {
		if err := unix.Setrlimit(unix.RLIMIT_FSIZE, &unix.Rlimit{Cur: most, Max: unix.RLIM_INFINITY}); err != nil {
			panic(err)
		}
	}
}

// sent is a form as a browser sends it.
type sent struct {
	route string // as the station registers it
	path  string
	form  url.Values
	file  []byte // sent as the field cert_file
	fails int    // status while the disk is full; 0: 507
}

// fullDisk is a station whose disk can be filled: a limit on the size of the files that it writes.
type fullDisk struct {
	*process
	log     *gather
	rows    *sql.DB
	tables  []string
	covered map[string]bool
}

// startOnDisk starts the demo in a folder, with its log at hand.
func startOnDisk(t *testing.T, dir string) *fullDisk {
	t.Helper()
	d := &fullDisk{process: &process{t: t, cmd: exec.Command(os.Args[0])}, log: &gather{}, covered: map[string]bool{}}
	d.cmd.Env = append(os.Environ(), "SAGITTA_RUN=demo\n--out\n"+dir+"\n--listen\n127.0.0.1:0")
	d.cmd.Stderr = d.log
	out := recordtest.Must(d.cmd.StdoutPipe())(t)
	if err := d.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(d.kill)
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		t.Fatalf("%v: %s", err, d.log)
	}
	d.url = regexp.MustCompile(`http://[^ ]+/`).FindString(line)
	d.rows = recordtest.Must(sql.Open("sqlite", "file:"+filepath.Join(dir, "record.db")+"?mode=ro"))(t)
	t.Cleanup(func() { _ = d.rows.Close() })
	names := recordtest.Must(d.rows.Query(`SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%' AND name NOT LIKE 'serial_parts%'`))(t)
	defer names.Close()
	for names.Next() {
		var name string
		if err := names.Scan(&name); err != nil {
			t.Fatal(err)
		}
		d.tables = append(d.tables, name)
	}
	if err := names.Err(); err != nil || len(d.tables) < 20 {
		t.Fatalf("%d tables, %v", len(d.tables), err)
	}
	return d
}

// almostNothing is how much of a file there is room for, bytes: less than a page of the record with its head in the log of pages.
const almostNothing = 4096

// fill and empty set and lift the limit.
func (d *fullDisk) fill()  { d.limit(almostNothing) }
func (d *fullDisk) empty() { d.limit(unix.RLIM_INFINITY) }

func (d *fullDisk) limit(bytes uint64) {
	d.t.Helper()
	if err := unix.Prlimit(d.cmd.Process.Pid, unix.RLIMIT_FSIZE, &unix.Rlimit{Cur: bytes, Max: unix.RLIM_INFINITY}, nil); err != nil {
		d.t.Fatal(err)
	}
}

// count is the number of rows in each table of the record.
func (d *fullDisk) count() map[string]int {
	d.t.Helper()
	all := map[string]int{}
	for _, table := range d.tables {
		var n int
		if err := d.rows.QueryRow(`SELECT count(*) FROM "` + table + `"`).Scan(&n); err != nil {
			d.t.Fatal(err)
		}
		all[table] = n
	}
	return all
}

// post sends a form and returns the status, where the answer leads to, and the answer.
func (d *fullDisk) post(s sent) (status int, to, body string) {
	d.t.Helper()
	var content io.Reader = strings.NewReader(s.form.Encode())
	kind := "application/x-www-form-urlencoded"
	if s.file != nil {
		var b bytes.Buffer
		w := multipart.NewWriter(&b)
		for name, values := range s.form {
			_ = w.WriteField(name, values[0])
		}
		part := recordtest.Must(w.CreateFormFile("cert_file", "certificate.pdf"))(d.t)
		_, _ = part.Write(s.file)
		_ = w.Close()
		content, kind = &b, w.FormDataContentType()
	}
	req := recordtest.Must(http.NewRequest(http.MethodPost, strings.TrimSuffix(d.url, "/")+s.path, content))(d.t)
	req.Header.Set("Content-Type", kind)
	if strings.HasPrefix(s.path, "/bench/") {
		req.Header.Set("X-From", "module")
	}
	client := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	resp := recordtest.Must(client.Do(req))(d.t)
	defer resp.Body.Close()
	text := recordtest.Must(io.ReadAll(resp.Body))(d.t)
	return resp.StatusCode, resp.Header.Get("Location"), string(text)
}

// sentences are what an answer says at once: a page's alerts, else all of it.
func sentences(body string) string {
	if all := regexp.MustCompile(`role="alert"[^>]*>([^<]*)`).FindAllStringSubmatch(body, -1); all != nil {
		return fmt.Sprint(all)
	}
	return body
}

// get asks for a page.
func (d *fullDisk) get(path string) (status int, body string) {
	d.t.Helper()
	resp := recordtest.Must(http.Get(strings.TrimSuffix(d.url, "/") + path))(d.t)
	defer resp.Body.Close()
	text := recordtest.Must(io.ReadAll(resp.Body))(d.t)
	return resp.StatusCode, string(text)
}

// read gets a page, which is there.
func (d *fullDisk) read(path string) string {
	d.t.Helper()
	status, body := d.get(path)
	if status != http.StatusOK {
		d.t.Errorf("GET %s: status %d: %s", path, status, sentences(body))
	}
	return body
}

// unrecorded matches what says that nothing was recorded.
var unrecorded = regexp.MustCompile(`(?i)not recorded|nothing was recorded`)

// refused sends a form while the disk is full.
func (d *fullDisk) refused(s sent) {
	d.t.Helper()
	d.fill()
	defer d.empty()
	before, logged := d.count(), len(d.log.String())
	status, _, body := d.post(s)
	want := cmp.Or(s.fails, http.StatusInsufficientStorage)
	if status != want {
		d.t.Errorf("%s: status %d, want %d: %s", s.route, status, want, sentences(body))
	}
	if !unrecorded.MatchString(sentences(body)) {
		d.t.Errorf("%s: the answer does not say that nothing was recorded: %s", s.route, sentences(body))
	}
	until(d.t, s.route+" is in the log", func() bool {
		return regexp.MustCompile(`level=ERROR msg="not done" method=POST path=` + regexp.QuoteMeta(s.path) + fmt.Sprint(" status=", want)).MatchString(d.log.String()[logged:])
	})
	if after := d.count(); !maps.Equal(before, after) {
		d.t.Errorf("%s: rows were %v and are %v", s.route, before, after)
	}
	if !strings.HasPrefix(s.path, "/bench/") { // the bench's module keeps its fields until it is answered well
		for name, values := range s.form {
			for _, v := range values {
				if !holds(body, name, v) {
					d.t.Errorf("%s: the form shown again does not hold %s = %q", s.route, name, v)
				}
			}
		}
	}
	d.read("/health")
	d.read("/")
}

// holds says whether a page's form has a value in a field.
func holds(page, name, value string) bool {
	n, v := regexp.QuoteMeta(html.EscapeString(name)), regexp.QuoteMeta(strings.NewReplacer("+", "&#43;").Replace(html.EscapeString(value)))
	for _, pattern := range []string{
		`<input[^>]*name="` + n + `" type="(?:text|date)" value="` + v + `"`,
		`<input(?: type="text")? name="` + n + `"[^>]* value="` + v + `"[^>]*>`,
		`(?s)<select[^>]* name="` + n + `"[^>]*>[^/]*?(?:</option>[^/]*?)*<option(?: value="` + v + `" selected| selected>` + v + `)`,
		`<input type="(?:checkbox|radio)" name="` + n + `" value="` + v + `" checked`,
		`<input type="hidden" name="` + n + `" value="` + v + `"`,
		`<textarea[^>]* name="` + n + `"[^>]*>\n?` + v + `</textarea>`,
	} {
		if regexp.MustCompile(pattern).MatchString(page) {
			return true
		}
	}
	return false
}

// both sends a form while the disk is full, which is refused, and again when there is room, which is done; it returns where the
// answer leads to.
func (d *fullDisk) both(s sent) string {
	d.t.Helper()
	d.covered[s.route] = true
	d.refused(s)
	return d.done(s)
}

// done sends a form, which is acknowledged.
func (d *fullDisk) done(s sent) string {
	d.t.Helper()
	status, to, body := d.post(s)
	if status != http.StatusSeeOther && status != http.StatusNoContent {
		d.t.Fatalf("%s with room on the disk: status %d: %s", s.route, status, sentences(body))
	}
	return to
}

// bench sends a command of the bench both ways.
func (d *fullDisk) bench(command string, form url.Values) {
	d.t.Helper()
	d.both(sent{route: "POST /bench/" + command, path: "/bench/" + command, form: form})
}

// room sends a command of the bench with room on the disk.
func (d *fullDisk) room(command string, form url.Values) {
	d.t.Helper()
	d.done(sent{route: "POST /bench/" + command, path: "/bench/" + command, form: form})
}

// furnished is a record with something for every form: a batch of ten necks that passed, one of two in doubt, an alarm, and a
// finished study.
func furnished(t *testing.T, dir string) (alarm, study string) {
	t.Helper()
	ctx := context.Background()
	db := recordtest.Must(record.Open(filepath.Join(dir, "record.db"), record.Options{Station: "bench 2"}))(t)
	for name, role := range map[string]batch.Role{theInspector: batch.Inspector, theManager: batch.QualityManager, "Tobias Fennimore": batch.Repairer} {
		recordtest.Must(db.AddPerson(ctx, theManager, name, role))(t)
	}
	gauge := recordtest.Must(db.SaveGauge(ctx, theManager, batch.Gauge{Name: "spare indicator", Sense: 1, ResolutionMM: 0.001, Measures: []batch.Kind{batch.LeafPasses}, RepeatabilityU: 0.002, CalibrationU: 0.002,
		ZeroLimitMM: 0.02, Capture: "typed", Prefix: "%s", Decoder: "channel and value"}))(t)
	s := &recordtest.Shop{TB: t, DB: db, Gauge: gauge}
	s.Spec = recordtest.Must(db.AddSpec(ctx, theManager, "lot.toml", []byte(strings.Replace(recordtest.Spec, "QM Bolt 648", "QM Lot 648", 1))))(t)
	s.Batch = recordtest.Must(db.OpenBatch(ctx, theManager, batch.Batch{Number: "LOT-1", Spec: s.Spec}, lotSerials("LOT-1", 10)))(t)
	s.Pass(lotSerials("LOT-1", 10)...)
	alarmed := batch.Alarm{Kind: batch.YieldAlarm, Subject: "yield/" + s.Batch.ID, BatchID: s.Batch.ID, Seen: 10, Words: "The yield is low.", LookAt: "Look at the saw."}
	recordtest.Must(db.RaiseAlarm(ctx, alarmed))(t)
	alarm = recordtest.Must(db.OpenAlarms(ctx))(t)[0].ID
	recordtest.Must(db.OpenBatch(ctx, theManager, batch.Batch{Number: "LOT-2", Spec: s.Spec}, lotSerials("LOT-2", 2)))(t)
	s.Check(true)
	for _, serial := range lotSerials("LOT-2", 2) {
		in := s.Start(serial)
		s.Read(in, 1, 0.02)
		s.Verdict(in, inspect.Pass, 0.3)
	}
	s.Check(false)
	s.Check(true)
	plan := batch.StudyPlan{Kind: batch.CrossedStudy, About: "steel blocks", Parts: []string{"1", "2", "3"}, Appraisers: []string{theInspector, theManager}, Trials: 2, Seed: 5, ToleranceMM: 0.2}
	st := recordtest.Must(db.StartStudy(ctx, theManager, gauge.ID, plan))(t)
	for i, step := range recordtest.Must(plan.Steps())(t) {
		v := 0.3*float64(step.Part[0]-'0') + 0.004*float64(i%3)
		recordtest.Must(db.AppendStudyReading(ctx, batch.StudyReading{StudyID: st.ID, By: step.Appraiser, Part: step.Part, Appraiser: step.Appraiser, Trial: step.Trial, ValueMM: v}))(t)
	}
	if err := db.EndStudy(ctx, theManager, st.ID, batch.StudyFinished, ""); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	return alarm, st.ID
}

func lotSerials(number string, n int) []string {
	all := make([]string, n)
	for i := range all {
		all[i] = fmt.Sprintf("%s-%02d", number, i+1)
	}
	return all
}

// TestFullDiskThroughEveryForm fills the disk before every form that writes is sent: it is refused as what the machine could not do,
// logged, says that nothing was recorded and keeps what was typed, no table has a row more, and the pages go on. Then there is
// room, and the same form is done. A form that is neither sent here nor listed with its reason fails the test.
func TestFullDiskThroughEveryForm(t *testing.T) {
	dir := t.TempDir()
	alarm, study := furnished(t, dir)
	d := startOnDisk(t, dir)
	d.record(alarm, study)
	d.batches()
	d.inspection()
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
	spec := strings.Replace(string(recordtest.Must(demo.Files.ReadFile("qm-bolt-648.toml"))(d.t)), `revision = "`, `revision = "Z`, 1)
	d.both(sent{route: "POST /specs", path: "/specs", form: url.Values{"text": {strings.TrimSpace(spec)}, "by": {theManager}}})

	entry := url.Values{"name": {"bench pen"}, "measures": {"nut height"}, "resolution": {"0.01"}, "sense": {"1"}, "zero_limit": {"0.02"}, "only_digits": {"yes"}, "each_shift": {"no"},
		"path": {"/dev/ttyNONE"}, "decoder": {"channel and value"}, "capture": {"key"}, "u_reason": {"data sheet"}, "by": {theManager}}
	to := d.both(sent{route: "POST /gauges", path: "/gauges", form: entry})
	entry.Set("name", "bench pen, new tip")
	d.both(sent{route: "POST /gauges/:id", path: to, form: entry})
	d.both(sent{route: "POST /gauges/:id/drop", path: to + "/drop"})
	d.both(sent{route: "POST /gauges/:id/certificates", path: to + "/certificates", file: make([]byte, 6<<20), form: url.Values{
		"cert_number": {"QL-9"}, "cert_laboratory": {"gauge room"}, "cert_issued": {"2026-01-05"}, "cert_due": {"2099-01-05"}, "cert_u": {"0.003"}, "cert_correction": {"1.000 0.002"}, "cert_by": {theManager}}})
	planned := d.both(sent{route: "POST /gauges/:id/studies", path: to + "/studies", form: url.Values{
		"kind": {"crossed"}, "about": {"crown of fret 7"}, "appraisers": {theInspector, theManager}, "trials": {"2"}, "parts": {"P1..P3"}, "by": {theManager}}})
	d.both(sent{route: "POST /studies/:study/give-up", path: planned + "/give-up", form: url.Values{"reason": {"the block was lost"}, "by": {theManager}}})
	d.both(sent{route: "POST /gauges/:id/retire", path: to + "/retire", form: entry})
	d.both(sent{route: "POST /studies/:study/use", path: "/studies/" + study + "/use", form: url.Values{"by": {theManager}}})
	d.both(sent{route: "POST /alarms/:id/acknowledge", path: "/alarms/" + alarm + "/acknowledge", form: url.Values{"by": {theManager}, "note": {"the saw was set"}}})
	d.both(sent{route: "POST /necks/:serial/clear-doubt", path: "/necks/LOT-2-01/clear-doubt", form: url.Values{"by": {theManager}, "reason": {"measured with the beam"}}})
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
	d.room("entry", url.Values{"text": {"9.9 mm"}})
	d.bench("use", nil)
	d.room("undo", nil)
	d.room("undo", nil)
	d.both(sent{route: "POST /bench/demo/neck", path: "/bench/demo/neck", fails: http.StatusInternalServerError}) // tells what the bench said
	d.bench("decide", url.Values{"disposition": {"rework"}, "by": {theManager}, "reason": {"the customer wants it lower"}})
	d.bench("rework", url.Values{"what": {inspect.StepRod}, "direction": {"tighten"}, "sixteenths": {"1"}, "note": {"by hand"}})
	d.bench("again", nil)
	d.room("park", nil)
}

// keeps ends the station as a power cut does and reads its record: every row that was there is there, and it verifies.
func (d *fullDisk) keeps(dir string, said ...string) {
	d.t.Helper()
	last := d.count()
	d.kill()
	if code, out, errs := sagitta(d.t, "", "verify", "--data", dir); code != exitDone {
		d.t.Errorf("verify ends with %d: %s%s", code, out, errs)
	}
	again := startOnDisk(d.t, dir)
	for table, n := range again.count() {
		if n < last[table] {
			d.t.Errorf("%s has %d rows, had %d", table, n, last[table])
		}
	}
	page := again.read("/people") + again.read("/batches") + again.read("/necks?q=LOT-2-01") + again.read("/gauges")
	for _, want := range said {
		if !strings.Contains(page, want) {
			d.t.Errorf("%q is gone", want)
		}
	}
	again.kill()
}

// TestFullDiskAtTheBench presses a gauge's key while the disk is full: the reading is refused loudly and does not count, pages go on, and
// with room again the same press counts. So it is with the last reading of a check.
func TestFullDiskAtTheBench(t *testing.T) {
	dir := t.TempDir()
	d := startOnDisk(t, dir)
	d.room("entry", url.Values{"text": {"QM-2611-0001"}})
	d.room("demo/press", nil)
	before, _ := d.taken()
	if before != 1 {
		t.Fatalf("%d points are taken, want 1", before)
	}
	pressed := func(says string) string {
		t.Helper()
		page := ""
		until(t, says, func() bool {
			d.room("demo/press", nil)
			if page = d.read("/"); strings.Contains(page, "came twice within") { // so soon that it may be the key's bounce
				d.room("discard", nil)
			}
			return strings.Contains(page, says)
		})
		return page
	}
	d.fill()
	rows := d.count()
	for range 2 {
		if page := pressed("was NOT recorded"); !strings.Contains(page, `class="refused"`) {
			t.Error("the refusal is not shown as one")
		}
		if now, _ := d.taken(); now != before {
			t.Errorf("%d points are taken, were %d", now, before)
		}
	}
	if after := d.count(); !maps.Equal(rows, after) {
		t.Errorf("rows were %v and are %v", rows, after)
	}
	until(t, "the log tells of the refused commit", func() bool { return strings.Contains(d.log.String(), `msg="commit refused"`) })
	for _, page := range []string{"/", "/health", "/batches", "/batches/QM-2611", "/necks", "/necks/QM-2611-0001", "/gauges", "/people", "/specs", "/alarms", "/trend"} {
		d.read(page)
	}
	if status, body := d.get("/batches/QM-2611/workbook.xlsx"); status != http.StatusInternalServerError || !strings.Contains(body, "make room on the disk") { // it is written before it is sent
		t.Errorf("the workbook: status %d, %s", status, sentences(body))
	}
	d.empty()
	until(t, "the same point is taken", func() bool {
		d.room("demo/press", nil)
		now, page := d.taken()
		if strings.Contains(page, "came twice within") {
			d.room("discard", nil)
		}
		return now > before
	})
	if now, _ := d.taken(); now != before+1 {
		t.Errorf("%d points are taken, want %d", now, before+1)
	}
	d.room("park", nil)

	gauge := url.Values{"gauge": {"height"}}
	d.fill()
	d.room("check", gauge)
	rows = d.count()
	pressed("was NOT recorded")
	if after := d.count(); !maps.Equal(rows, after) {
		t.Errorf("rows were %v and are %v", rows, after)
	}
	d.empty()
	pressed("is checked")
	if after := d.count(); after["gauge_checks"] != rows["gauge_checks"]+1 {
		t.Errorf("%d checks, want %d", after["gauge_checks"], rows["gauge_checks"]+1)
	}
	d.keeps(dir)
}

// fails runs a command in a process of its own whose files have room for so many bytes; it ends with 1. It returns what was printed
// for people.
func fails(t *testing.T, room int, args ...string) (errs string) {
	t.Helper()
	var out, said bytes.Buffer
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), "SAGITTA_RUN="+strings.Join(args, "\n"), fmt.Sprint("SAGITTA_FILE_LIMIT=", room))
	cmd.Stdout, cmd.Stderr = &out, &said
	_ = cmd.Run()
	if code := cmd.ProcessState.ExitCode(); code != exitFailed {
		t.Errorf("%q ends with %d, want %d; it says %s%s", args, code, exitFailed, &out, &said)
	}
	return said.String()
}

// oneLine checks that a failed command says, in one line, each text.
func oneLine(t *testing.T, errs string, texts ...string) {
	t.Helper()
	if !strings.HasPrefix(errs, "sagitta: ") || strings.Count(errs, "\n") != 1 {
		t.Errorf("not one line: %q", errs)
	}
	for _, text := range texts {
		if !strings.Contains(errs, text) {
			t.Errorf("%q does not say %q", errs, text)
		}
	}
}

// filesIn lists a folder.
func filesIn(t *testing.T, dir string) []string {
	t.Helper()
	var names []string
	for _, e := range recordtest.Must(os.ReadDir(dir))(t) {
		names = append(names, e.Name())
	}
	return names
}

// TestFullDiskUnderCommands runs each command that writes where there is no room: it says what and what to do, and leaves nothing under the
// name that was asked for, nor beside it. With room it is done.
func TestFullDiskUnderCommands(t *testing.T) {
	dir, out := t.TempDir(), t.TempDir()
	furnished(t, dir)
	t.Run("import", func(t *testing.T) { importOnFullDisk(t, dir) })
	t.Run("demo", demoOnFullDisk)
	beside := openStation(t, dir) // both are made while the station runs
	defer func() { _ = beside.Close() }()
	for _, c := range []struct {
		name, file string
		room       int
		args       []string
	}{
		{"report", "LOT-1.xlsx", almostNothing, []string{"report", "LOT-1", "--data", dir, "-o", filepath.Join(out, "LOT-1.xlsx")}},
		{"backup", "copy.db", 100_000, []string{"backup", filepath.Join(out, "copy.db"), "--data", dir}},
	} {
		t.Run(c.name, func(t *testing.T) {
			oneLine(t, fails(t, c.room, c.args...), c.file, "room")
			if names := filesIn(t, out); len(names) > 0 {
				t.Errorf("left are %q", names)
			}
			if code, _, errs := sagitta(t, "", c.args...); code != exitDone {
				t.Errorf("with room it ends with %d: %s", code, errs)
			}
			if names := filesIn(t, out); len(names) != 1 || names[0] != c.file {
				t.Errorf("there are %q, want %s", names, c.file)
			}
			if err := os.Remove(filepath.Join(out, c.file)); err != nil {
				t.Fatal(err)
			}
		})
	}
}

// importOnFullDisk takes old inspections in where there is no room for all of them: none is.
func importOnFullDisk(t *testing.T, dir string) {
	db := recordtest.Must(record.Open(filepath.Join(dir, "record.db"), record.Options{Station: "bench 2"}))(t)
	spec := recordtest.Must(db.AddSpec(t.Context(), theManager, "bolt.toml", recordtest.Must(demo.Files.ReadFile("qm-bolt-648.toml"))(t)))(t)
	b := recordtest.Must(db.OpenBatch(t.Context(), theManager, batch.Batch{Number: "QM-2609", Spec: spec}, nil))(t)
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	old := filepath.Join("..", "..", "testdata", "import", "old-line")
	args := []string{"import", old + ".toml", old + ".csv", "--data", dir, "--batch", b.Number, "--by", theManager}
	const indexOnly = 33_000 // room for the index of the log of pages, and for the first few of these
	oneLine(t, fails(t, indexOnly, args...), "not recorded", "ake room")
	reader := recordtest.Must(record.Open(filepath.Join(dir, "record.db"), record.Options{ReadOnly: true}))(t)
	counts, err := reader.Counts(t.Context(), b.ID)
	if err != nil || counts.Registered != 0 || counts.Inspections != 0 {
		t.Errorf("%d necks, %d inspections, %v; want none", counts.Registered, counts.Inspections, err)
	}
	if err := reader.Close(); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{"verify", "--data", dir}, args} {
		if code, _, errs := sagitta(t, "", args...); code != exitDone {
			t.Errorf("%s ends with %d: %s", args[0], code, errs)
		}
	}
}

// demoOnFullDisk begins the demo where there is no room for its record, and where there is not enough: it says so in its last line
// and leaves no workbook, and what it kept verifies.
func demoOnFullDisk(t *testing.T) {
	for _, room := range []int{almostNothing, 600_000} {
		dir := t.TempDir()
		errs := fails(t, room, "demo", "--unattended", "--out", dir)
		lines := strings.Split(strings.TrimSpace(errs), "\n")
		if last := lines[len(lines)-1]; !strings.HasPrefix(last, "sagitta: ") || !strings.Contains(last, "ake room") {
			t.Errorf("room for %d bytes: the last line is %q", room, last)
		}
		for _, name := range filesIn(t, dir) {
			if strings.HasSuffix(name, ".xlsx") || strings.HasSuffix(name, ".part") {
				t.Errorf("room for %d bytes: %s is left", room, name)
			}
		}
		if room > almostNothing {
			if code, _, errs := sagitta(t, "", "verify", "--data", dir); code != exitDone {
				t.Errorf("verify ends with %d: %s", code, errs)
			}
		}
	}
}
