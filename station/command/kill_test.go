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
	"strconv"
	"strings"
	"testing"
	"time"
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

// TestKilledStationGoesOn kills the program in the middle of a reading, again and again: each time it comes back with
// the neck where it was and every reading that was acknowledged, and the last time the neck is finished.
func TestKilledStationGoesOn(t *testing.T) {
	dir := t.TempDir()
	const serial = "QM-2611-0001"
	acknowledged := 0
	for round := range 3 {
		p := startProcess(t, dir)
		if round == 0 && !p.send("entry", url.Values{"text": {serial}}) {
			t.Fatal("the serial number was refused")
		}
		now, page := p.taken()
		if now < acknowledged || now > acknowledged+1 {
			t.Errorf("round %d: %d points are taken, want the %d acknowledged and at most the one in progress", round, now, acknowledged)
		}
		for _, want := range []string{serial + ", attempt 1", "live, zeroed"} {
			if !strings.Contains(page, want) {
				t.Errorf("round %d: the page does not say %q", round, want)
			}
		}
		acknowledged = now
		for range 4 {
			if !p.send("demo/press", nil) {
				t.Errorf("round %d: a press was refused after %d points", round, acknowledged)
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
	a := openStation(t, dir)
	defer func() { _ = a.Close() }()
	neck, err := a.Record.Neck(t.Context(), serial)
	if err != nil {
		t.Fatal(err)
	}
	all, err := a.Record.Inspections(t.Context(), neck.ID)
	if err != nil || len(all) != 1 {
		t.Fatalf("%d inspections, %v; want the one that was interrupted", len(all), err)
	}
	readings, err := a.Record.Readings(t.Context(), all[0].ID)
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, r := range readings {
		if key := fmt.Sprint(r.Point, r.Round); seen[key] {
			t.Errorf("%s was measured twice", key)
		} else {
			seen[key] = true
		}
	}
}
