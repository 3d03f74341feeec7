package command

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/batch/tell"
	"sagitta/station/app"
)

// TestMain lets the test's own program be the station: with SAGITTA_RUN it is the command line given there.
func TestMain(m *testing.M) {
	if args := os.Getenv("SAGITTA_RUN"); args != "" {
		os.Exit(Run(context.Background(), strings.Split(args, "\n"), os.Stdin, os.Stdout, os.Stderr))
	}
	os.Exit(m.Run())
}

// process is the program in a process of its own.
type process struct {
	t   *testing.T
	cmd *exec.Cmd
	url string
}

// startProcess runs the demo and reads from what it prints where its pages are.
func startProcess(t *testing.T, dir string) *process {
	t.Helper()
	p := &process{t: t, cmd: exec.Command(os.Args[0])}
	p.cmd.Env = append(os.Environ(), "SAGITTA_RUN=demo\n--out\n"+dir+"\n--listen\n127.0.0.1:0")
	p.cmd.Stderr = os.Stderr
	out, err := p.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := p.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(p.kill)
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		t.Fatal(err)
	}
	p.url = regexp.MustCompile(`http://[^ ]+/`).FindString(line)
	if p.url == "" {
		t.Fatalf("the program says %q, not where it is", line)
	}
	return p
}

// kill ends the process as a power cut does: it is told nothing.
func (p *process) kill() {
	if p.cmd.ProcessState == nil {
		_ = p.cmd.Process.Kill()
		_ = p.cmd.Wait()
	}
}

// send gives a command as the page's module does; true means acknowledged.
func (p *process) send(command string, form url.Values) bool {
	req, err := http.NewRequest(http.MethodPost, p.url+"bench/"+command, strings.NewReader(form.Encode()))
	if err != nil {
		p.t.Error(err)
		return false
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("X-From", "module")
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		return false
	}
	_ = resp.Body.Close()
	return resp.StatusCode == http.StatusNoContent
}

// taken is the number of points that the bench page shows as taken, and the page.
func (p *process) taken() (int, string) {
	p.t.Helper()
	resp, err := http.Get(p.url)
	if err != nil {
		p.t.Fatal(err)
	}
	defer resp.Body.Close()
	page, err := io.ReadAll(resp.Body)
	if err != nil {
		p.t.Fatal(err)
	}
	m := regexp.MustCompile(`(\d+) of \d+ points`).FindSubmatch(page)
	if m == nil {
		return 0, string(page)
	}
	n, err := strconv.Atoi(string(m[1]))
	if err != nil {
		p.t.Fatal(err)
	}
	return n, string(page)
}

// recorded are the rows of a neck's only inspection, also while the station runs.
func recorded(t *testing.T, dir, serial string) (rows []batch.Reading) {
	t.Helper()
	if err := withRecord(app.Options{Dir: dir}, func(db *record.DB) error {
		neck, err := db.Neck(t.Context(), serial)
		if err != nil {
			return err
		}
		all, err := db.Inspections(t.Context(), neck.ID)
		if err != nil || len(all) != 1 {
			return fmt.Errorf("%d inspections, %w; want the one that was interrupted", len(all), err)
		}
		rows, err = db.Readings(t.Context(), all[0].ID)
		return err
	}); err != nil {
		t.Fatal(err)
	}
	return rows
}

// measured are the rows with a reading, those that no longer count included, but not those that take one back.
func measured(rows []batch.Reading) []batch.Reading {
	return slices.DeleteFunc(slices.Clone(rows), func(r batch.Reading) bool { return r.Withdrawn })
}

// TestKilledStationGoesOn kills the program in the middle of a reading, again and again: each time it comes back with
// the neck where it was and every reading that was acknowledged, and the last time the neck is finished. A restart ends the laying:
// few crowns are measured again, many are linked, and the readings before stay in the record.
func TestKilledStationGoesOn(t *testing.T) {
	dir := t.TempDir()
	const serial = "QM-2611-0001"
	var before []batch.Reading
	acknowledged, again := 0, 0
	for round, presses := range []int{4, 9, 2, 3} { // with fewer than six crowns, with more, within the links, and after
		p := startProcess(t, dir)
		if round == 0 && !p.send("entry", url.Values{"text": {serial}}) {
			t.Fatal("the serial number was refused")
		}
		shown, page := p.taken()
		rows := recorded(t, dir, serial)
		if n := len(measured(rows)); n < acknowledged || n > acknowledged+1 {
			t.Errorf("round %d: the record has %d readings, want the %d acknowledged and at most the one in progress", round, n, acknowledged)
		}
		if standing := batch.Standing(rows); shown != len(standing) {
			t.Errorf("round %d: the page shows %d points as taken, in the record stand %d", round, shown, len(standing))
		}
		for _, r := range before {
			if !slices.ContainsFunc(rows, func(o batch.Reading) bool { return o.ID == r.ID && o.Value == r.Value && o.Point == r.Point }) {
				t.Errorf("round %d: the reading of %s is not in the record any more", round, tell.Point(r.Point))
			}
		}
		for _, want := range []string{serial + ", attempt 1", "live, zeroed"} {
			if !strings.Contains(page, want) {
				t.Errorf("round %d: the page does not say %q", round, want)
			}
		}
		acknowledged, before = len(measured(rows)), rows
		for range presses {
			if !p.send("demo/press", nil) {
				t.Errorf("round %d: a press was refused after %d readings", round, acknowledged)
			}
			acknowledged++
		}
		inProgress := make(chan bool, 1)
		go func() { inProgress <- p.send("demo/press", nil) }()
		time.Sleep(time.Duration(round) * 5 * time.Millisecond)
		p.kill()
		if <-inProgress {
			acknowledged++
		}
	}
	p := startProcess(t, dir)
	if !p.send("demo/neck", nil) {
		t.Error("the rest could not be measured")
	}
	if _, page := p.taken(); !strings.Contains(page, `class="verdict pass"`) {
		t.Error("the neck has no verdict")
	}
	p.kill()
	code, out, errs := sagitta(t, "", "verify", "--data", dir)
	if code != exitDone {
		t.Errorf("verify ends with %d: %s%s", code, out, errs)
	}
	newest, standing := map[string]batch.Reading{}, map[string]bool{}
	for _, r := range measured(recorded(t, dir, serial)) {
		key := fmt.Sprint(r.Point, r.Round)
		if old, twice := newest[key]; twice {
			again++
			if r.Point.Kind != batch.Crown || r.Laying <= old.Laying {
				t.Errorf("%s was measured in laying %d and again in laying %d", tell.Point(r.Point), old.Laying, r.Laying)
			}
		}
		newest[key] = r
	}
	for _, r := range batch.Standing(recorded(t, dir, serial)) {
		if key := fmt.Sprint(r.Point, r.Round); standing[key] {
			t.Errorf("%s stands twice", tell.Point(r.Point))
		} else {
			standing[key] = true
		}
	}
	if again < 3+3 { // the crowns of the first laying, and links
		t.Errorf("%d crowns were measured again; each restart ends a laying", again)
	}
}
