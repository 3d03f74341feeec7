package command

import (
	"bytes"
	"io"
	"math/rand/v2"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"filippo.io/age"

	"sagitta/batch/record/recordtest"
)

// page is one of the station's pages.
func (p *process) page(path string) string {
	p.t.Helper()
	resp, err := http.Get(p.url + path)
	if err != nil {
		p.t.Fatal(err)
	}
	defer resp.Body.Close()
	return string(recordtest.Must(io.ReadAll(resp.Body))(p.t))
}

// The record's file is deleted, replaced or written over under the station while its gauges measure. No reading is acknowledged from
// then on, every page says what happened and what to do, and what was acknowledged is brought back by what the page says.
func TestRecordTakenWhileGaugesMeasure(t *testing.T) {
	const serial = "QM-2611-0001"
	for name, c := range map[string]struct {
		take    func(t *testing.T, path, copied string)
		says    string
		rescued bool
	}{
		"deleted": {func(t *testing.T, path, _ string) {
			if err := os.Remove(path); err != nil {
				t.Fatal(err)
			}
		}, "was deleted or moved away", true},
		"replaced": {func(t *testing.T, path, copied string) {
			if err := os.Rename(copied, path); err != nil {
				t.Fatal(err)
			}
		}, "was replaced by another", true},
		"copied over": {func(t *testing.T, path, copied string) {
			if err := os.WriteFile(path, recordtest.Must(os.ReadFile(copied))(t), 0o640); err != nil {
				t.Fatal(err)
			}
		}, "was written over by another program", false},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			path := filepath.Join(dir, "record.db")
			p := startProcess(t, dir)
			p.cmd.Stderr = nil
			if !p.send("entry", url.Values{"text": {serial}}) {
				t.Fatal("the serial number was refused")
			}
			press := func() (acknowledged int) {
				p.send("demo/press", nil) // it is the page that says whether the reading was taken
				acknowledged, _ = p.taken()
				return acknowledged
			}
			for range 3 {
				press()
			}
			copied := filepath.Join(t.TempDir(), "copy.db")
			if code, _, errs := sagitta(t, "", "backup", copied, "--data", dir); code != exitDone {
				t.Fatal(errs)
			}
			press()
			inTime := press()
			if inTime != 5 {
				t.Fatalf("%d readings were taken before anything happened", inTime)
			}
			c.take(t, path, copied)
			for range 3 {
				if n := press(); n > inTime { // fewer where the page itself can no longer be read from the file
					t.Errorf("%d readings were acknowledged after that", n-inTime)
				}
			}
			until(t, "the pages say it", func() bool {
				return strings.Contains(p.page("health"), c.says) && strings.Contains(p.page(""), c.says)
			})
			for _, at := range []string{"", "health"} {
				if page := p.page(at); !strings.Contains(page, "Nothing is recorded until this is put right") || !strings.Contains(page, "sagitta restore") && !c.rescued {
					t.Errorf("/%s does not say what to do: %s", at, page)
				}
			}
			back := copied
			if c.rescued {
				said := regexp.MustCompile(`All that was acknowledged before is in (\S+): end the station, and bring it back with sagitta restore`)
				until(t, "it says where the rest is", func() bool { return said.MatchString(p.page("health")) })
				back = said.FindStringSubmatch(p.page("health"))[1]
			}
			p.kill()
			if code, _, errs := sagitta(t, "", "restore", back, "--data", dir, "--replace"); code != exitDone {
				t.Fatal(errs)
			}
			if code, _, errs := sagitta(t, "", "verify", "--data", dir); code != exitDone {
				t.Error(errs)
			}
			want := inTime
			if !c.rescued {
				want = 3 // those of the copy
			}
			if n := len(measured(recorded(t, dir, serial))); n < want {
				t.Errorf("%d readings are there, want %d", n, want)
			}
			again := startProcess(t, dir)
			if !again.send("demo/neck", nil) {
				t.Error("the neck does not go on")
			}
		})
	}
}

// A backup is killed at random moments: there is the whole copy or none of that name, the older ones are whole, and the next one works.
func TestKilledBackup(t *testing.T) {
	dir, out := t.TempDir(), t.TempDir()
	if err := openStation(t, dir).Close(); err != nil {
		t.Fatal(err)
	}
	older := filepath.Join(out, "older.zip")
	if code, _, errs := sagitta(t, "", "backup", older, "--data", dir); code != exitDone {
		t.Fatal(errs)
	}
	before := recordtest.Must(os.ReadFile(older))(t)
	began := time.Now()
	if code, _, errs := sagitta(t, "", "backup", filepath.Join(out, "timed.zip"), "--data", dir); code != exitDone {
		t.Fatal(errs)
	}
	took := time.Since(began)
	random := rand.New(rand.NewPCG(15, 4))
	for i := range 20 {
		name := []string{"copy.zip", "copy.db"}[i%2]
		path := filepath.Join(out, name)
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), "SAGITTA_RUN=backup\n"+path+"\n--data\n"+dir)
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Duration(random.Int64N(2 * int64(took))))
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		if _, err := os.Stat(path); err == nil { // it was done: then it is whole
			if code, _, errs := sagitta(t, "", "restore", path, "--data", filepath.Join(t.TempDir(), "new")); code != exitDone {
				t.Errorf("killed in round %d: %s", i, errs)
			}
		} else if code, _, errs := sagitta(t, "", "backup", path, "--data", dir); code != exitDone {
			t.Errorf("after a kill in round %d: %s", i, errs)
		}
		if err := os.Remove(path); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(before, recordtest.Must(os.ReadFile(older))(t)) {
		t.Error("the older copy changed")
	}
}

// A station that makes copies is killed at random moments, again and again: the copies that stand under their names are whole, and what was
// begun is cleared away by the next that runs to its end.
func TestKilledWhileItMakesCopies(t *testing.T) {
	dir, out := t.TempDir(), t.TempDir()
	if err := openStation(t, dir).Close(); err != nil {
		t.Fatal(err)
	}
	serve := func() *process {
		p := &process{t: t, cmd: exec.Command(os.Args[0])}
		p.cmd.Env = append(os.Environ(), strings.Join([]string{"SAGITTA_RUN=serve", "--data", dir, "--station", "bench 1", "--listen", "127.0.0.1:0", "--backup-to", out, "--copy-to", out, "--keep", "3"}, "\n"))
		if err := p.cmd.Start(); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(p.kill)
		return p
	}
	copies := func(ending string) []string {
		return recordtest.Must(filepath.Glob(filepath.Join(out, "sagitta-bench-1*"+ending)))(t)
	}
	began := time.Now()
	p := serve()
	until(t, "both copies are there", func() bool { return len(copies(".zip")) == 1 && len(copies(".db")) == 1 })
	took := time.Since(began)
	p.kill()
	random := rand.New(rand.NewPCG(15, 4))
	for range 12 {
		_ = os.Remove(filepath.Join(dir, "copies.json")) // as a new machine: the first at once
		p := serve()
		time.Sleep(time.Duration(random.Int64N(int64(took) + 1)))
		p.kill()
		for _, path := range append(copies(".zip"), copies(".db")...) {
			if code, _, errs := sagitta(t, "", "restore", path, "--data", filepath.Join(t.TempDir(), "new")); code != exitDone {
				t.Errorf("%s: %s", path, errs)
			}
		}
	}
	_ = os.Remove(filepath.Join(dir, "copies.json"))
	p = serve()
	until(t, "the station is well", func() bool {
		left := recordtest.Must(filepath.Glob(filepath.Join(out, ".sagitta*.part")))(t)
		return len(left) == 0 && len(copies(".zip")) > 0
	})
	p.kill()
	if n := len(copies(".zip")); n > 3 {
		t.Errorf("%d copies are kept", n)
	}
	if code, out, errs := sagitta(t, "", "restore", "--drill", out, "--data", dir); code != exitDone || !strings.Contains(out, "can be restored") {
		t.Errorf("the drill: %d, %s%s", code, out, errs)
	}
}

// A damaged record is salvaged into a folder: the answer names the necks that are hurt, and no others.
func TestSalvageAnswer(t *testing.T) {
	dir, to := t.TempDir(), filepath.Join(t.TempDir(), "salvaged")
	furnished(t, dir)
	path := filepath.Join(dir, "record.db")
	code, out, errs := sagitta(t, "", "salvage", path, "--data", to)
	if code != exitDone || !strings.Contains(out, "Nothing of it is found to be missing") {
		t.Errorf("a whole one: %d, %s%s", code, out, errs)
	}
	if code, _, errs := sagitta(t, "", "salvage", path, "--data", to); code != exitFailed || !strings.Contains(errs, "--replace") {
		t.Errorf("over a record: %d, %s", code, errs)
	}
	content := recordtest.Must(os.ReadFile(path))(t)
	at := bytes.Index(content, []byte("LOT-1-03"))
	for i := at; i >= 0 && i < len(content); { // wherever the serial number stands, index and trail
		copy(content[i:], "LOT-1-0X")
		next := bytes.Index(content[i+1:], []byte("LOT-1-03"))
		if next < 0 {
			break
		}
		i += 1 + next
	}
	if err := os.WriteFile(path, content, 0o640); err != nil {
		t.Fatal(err)
	}
	code, out, errs = sagitta(t, "", "salvage", dir, "--data", dir, "--replace")
	if code != exitDone || !strings.Contains(out, "hurt") || !strings.Contains(out, "LOT-1-0X") || strings.Contains(out, "LOT-1-04") || !strings.Contains(out, "What was there is in ") {
		t.Errorf("a damaged one: %d, %s%s", code, out, errs)
	}
}

// The commands say what they did and what they refuse; a drill's finding is what doctor tells.
func TestBackupAndRestoreAnswer(t *testing.T) {
	dir, out := t.TempDir(), t.TempDir()
	if err := openStation(t, dir).Close(); err != nil {
		t.Fatal(err)
	}
	id := recordtest.Must(age.GenerateX25519Identity())(t)
	to, key := filepath.Join(out, "recipients"), filepath.Join(out, "identity")
	for path, text := range map[string]string{to: id.Recipient().String(), key: id.String()} {
		if err := os.WriteFile(path, []byte(text+"\n"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	plain, sealed, fresh := filepath.Join(out, "a.zip"), filepath.Join(out, "a.zip.age"), filepath.Join(out, "new")
	for _, c := range []struct {
		args []string
		code int
		says string
	}{
		{[]string{"backup", sealed, "--data", dir}, exitUsage, "has recipients"},
		{[]string{"backup", plain, "--data", dir, "--recipients", to}, exitUsage, "FILE.zip.age"},
		{[]string{"backup", sealed, "--data", dir, "--recipients", key}, exitFailed, "beginning with age1"},
		{[]string{"backup", sealed, "--data", dir, "--recipients", to}, exitDone, sealed},
		{[]string{"backup", plain, "--data", dir}, exitDone, plain},
		{[]string{"backup", plain, "--data", dir}, exitFailed, "never overwrites"},
		{[]string{"restore", plain, "--data", dir}, exitFailed, "--replace"},
		{[]string{"restore", sealed, "--data", fresh}, exitFailed, "--identity"},
		{[]string{"restore", sealed, "--data", fresh, "--identity", to}, exitFailed, "AGE-SECRET-KEY-1"},
		{[]string{"restore", sealed, "--data", fresh, "--identity", key}, exitDone, "Restored into " + fresh + ": the encrypted archive of "},
		{[]string{"restore", plain, "--data", fresh, "--replace"}, exitDone, "What was there is in " + filepath.Join(fresh, "replaced-")},
		{[]string{"restore", "--drill", out, "--data", dir}, exitFailed, "there is no copy in the folder"},
		{[]string{"restore", "--drill", plain, "--data", dir}, exitDone, plain + " can be restored"},
		{[]string{"serve", "--backup-at", "03:00", "--data", dir}, exitUsage, "--backup-to"},
		{[]string{"serve", "--backup-to", out, "--keep", "0", "--data", dir}, exitUsage, "--keep: found 0"},
	} {
		code, said, errs := sagitta(t, "", c.args...)
		if code != c.code || !strings.Contains(said+errs, c.says) {
			t.Errorf("%q ends with %d, want %d; it says %s%s, want %q", c.args, code, c.code, said, errs, c.says)
		}
	}
}
