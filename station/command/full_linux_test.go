package command

import (
	"bufio"
	"bytes"
	"cmp"
	"database/sql"
	"fmt"
	"html"
	"io"
	"maps"
	"mime/multipart"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"golang.org/x/sys/unix"

	"sagitta/batch/record/recordtest"
)

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
	file  []byte // sent as the field cert_file, or as the one named
	field string
	told  bool // the answer tells what the bench said: the status is 507 or, where only its words are known, 500
}

// fullDisk is a station whose disk can be filled: a limit on the size of the files that it writes.
type fullDisk struct {
	*process
	log     *gather
	rows    *sql.DB
	tables  []string
	covered map[string]bool
	browser http.Client
}

// startOnDisk starts the demo in a folder, with its log at hand, and returns what it printed before it said where it is.
func startOnDisk(t *testing.T, dir string, flags ...string) (*fullDisk, string) {
	t.Helper()
	d := &fullDisk{process: &process{t: t, cmd: exec.Command(os.Args[0])}, log: &gather{}, covered: map[string]bool{}}
	d.browser = http.Client{Jar: recordtest.Must(cookiejar.New(nil))(t), CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	d.cmd.Env = append(os.Environ(), "SAGITTA_RUN="+strings.Join(append([]string{"demo", "--out", dir, "--listen", "127.0.0.1:0"}, flags...), "\n"))
	d.cmd.Stderr = d.log
	out := recordtest.Must(d.cmd.StdoutPipe())(t)
	if err := d.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(d.kill)
	printed := ""
	for lines := bufio.NewReader(out); d.url == ""; {
		line, err := lines.ReadString('\n')
		if err != nil {
			t.Fatalf("%v: %s", err, d.log)
		}
		printed += line
		d.url = regexp.MustCompile(`http://[^ ]+/`).FindString(line)
	}
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
	return d, printed
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
		part := recordtest.Must(w.CreateFormFile(cmp.Or(s.field, "cert_file"), "certificate.pdf"))(d.t)
		_, _ = part.Write(s.file)
		_ = w.Close()
		content, kind = &b, w.FormDataContentType()
	}
	req := recordtest.Must(http.NewRequest(http.MethodPost, strings.TrimSuffix(d.url, "/")+s.path, content))(d.t)
	req.Header.Set("Content-Type", kind)
	if strings.HasPrefix(s.path, "/bench/") {
		req.Header.Set("X-From", "module")
	}
	resp := recordtest.Must(d.browser.Do(req))(d.t)
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
	follows := http.Client{Jar: d.browser.Jar}
	resp := recordtest.Must(follows.Get(strings.TrimSuffix(d.url, "/") + path))(d.t)
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
	d.post(s) // behind what was being committed when the disk filled
	before, logged := d.count(), len(d.log.String())
	status, _, body := d.post(s)
	if status != http.StatusInsufficientStorage && !(s.told && status == http.StatusInternalServerError) {
		d.t.Errorf("%s: status %d, want %d: %s", s.route, status, http.StatusInsufficientStorage, sentences(body))
	}
	if !unrecorded.MatchString(sentences(body)) {
		d.t.Errorf("%s: the answer does not say that nothing was recorded: %s", s.route, sentences(body))
	}
	until(d.t, s.route+" is in the log", func() bool {
		return regexp.MustCompile(`level=ERROR msg="not done" method=POST path=` + regexp.QuoteMeta(s.path) + fmt.Sprint(" status=", status)).MatchString(d.log.String()[logged:])
	})
	if after := d.count(); !maps.Equal(before, after) {
		d.t.Errorf("%s: rows were %v and are %v", s.route, before, after)
	}
	if !strings.HasPrefix(s.path, "/bench/") { // the bench's module keeps its fields until it is answered well
		for name, values := range s.form {
			if slices.Contains(secrets, name) {
				continue
			}
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

// secrets are the fields of which no page holds what was typed.
var secrets = []string{"password", "again", "old", "new", "pin"}

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

// keeps ends the station as a power cut does and reads its record: every row that was there is there, and it verifies.
func (d *fullDisk) keeps(dir string, said ...string) {
	d.t.Helper()
	last := d.count()
	d.kill()
	if code, out, errs := sagitta(d.t, "", "verify", "--data", dir); code != exitDone {
		d.t.Errorf("verify ends with %d: %s%s", code, out, errs)
	}
	again, _ := startOnDisk(d.t, dir)
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
