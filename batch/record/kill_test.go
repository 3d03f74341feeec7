//go:build unix

package record

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/sampling"
	"sagitta/inspect"
)

const (
	childPath  = "RECORD_TEST_CHILD" // the record that a child process inspects a neck in
	childSteps = 14
)

func TestMain(m *testing.M) {
	if path := os.Getenv(childPath); path != "" {
		inspectInChild(path)
		return
	}
	if path := os.Getenv(openerPath); path != "" {
		openInChild(path)
		return
	}
	os.Exit(m.Run())
}

// inspectInChild inspects a neck step by step, prints each step once it is acknowledged and waits for a word to go on.
func inspectInChild(path string) {
	fail := func(err error) {
		if err != nil {
			fmt.Println("failed:", err)
			os.Exit(1)
		}
	}
	ctx := context.Background()
	db, err := Open(path, Options{Station: "bench 1"})
	fail(err)
	in := bufio.NewScanner(os.Stdin)
	ack := func(format string, args ...any) {
		fmt.Printf(format+"\n", args...)
		if !in.Scan() {
			os.Exit(0)
		}
	}
	n, err := db.Neck(ctx, "QM-2611-0001")
	fail(err)
	open, err := db.OpenInspections(ctx)
	fail(err)
	var i batch.Inspection
	if len(open) > 0 { // goes on where the one before was killed
		i = open[0]
	} else {
		i, err = db.StartInspection(ctx, batch.Inspection{NeckID: n.ID, Inspector: "Ossian Reed"})
		fail(err)
	}
	ack("start %s", i.ID)
	taken, err := db.Readings(ctx, i.ID)
	fail(err)
	for fret := len(taken) + 1; fret <= 5; fret++ {
		r, err := db.AppendReading(ctx, crown(i, fret, float64(fret)/8))
		fail(err)
		ack("reading %s", r.ID)
	}
	v, err := db.AppendVerdict(ctx, verdictOf(i, inspect.Rework, 0.5, 0.5))
	fail(err)
	ack("verdict %s", v.ID)
	if len(taken) <= 5 { // the newest reading is taken back once, which opens the inspection again
		taken, err = db.Readings(ctx, i.ID)
		fail(err)
		last := taken[len(taken)-1]
		back, err := db.TakeBack(ctx, "Ossian Reed", i.ID, []batch.Reading{{InspectionID: i.ID, Point: last.Point, Round: last.Round, By: "Ossian Reed",
			Withdrawn: true, Supersedes: last.ID, Reason: "taken back"}})
		fail(err)
		ack("reading %s", back[0].ID)
		v, err = db.AppendVerdict(ctx, verdictOf(i, inspect.Rework, 0.5, 0.5))
		fail(err)
		ack("verdict %s", v.ID)
	}
	a, err := db.AppendRework(ctx, batch.ReworkAction{NeckID: n.ID, InspectionID: i.ID, By: "Ossian Reed", What: "truss rod", Turns: 0.25, Direction: "tighten"})
	fail(err)
	ack("rework %s", a.ID)
	fail(auditInChild(ctx, db, n.BatchID, ack))
	fmt.Println("end")
}

// auditInChild audits the two necks that may ship; it goes on with an audit that is open.
func auditInChild(ctx context.Context, db *DB, batchID string, ack func(string, ...any)) error {
	all, err := db.OutgoingAudits(ctx, batchID)
	if err != nil {
		return err
	}
	var a batch.OutgoingAudit
	if len(all) > 0 && all[0].State == batch.OutgoingOpen {
		a, err = db.OutgoingAudit(ctx, all[0].ID)
	} else {
		a, err = db.DrawOutgoing(ctx, batch.OutgoingAudit{By: "Mara Quill", BatchID: batchID, AQL: 10, Level: "II", Severity: sampling.Normal})
	}
	if err != nil {
		return err
	}
	ack("draw %s", a.ID)
	for _, d := range a.Necks {
		if d.Finding != nil {
			continue
		}
		f, err := db.AppendOutgoingFindings(ctx, batch.OutgoingFinding{By: "Mara Quill", AuditID: a.ID, NeckID: d.NeckID, Conforms: true})
		if err != nil {
			return err
		}
		ack("finding %s", f[0].ID)
	}
	if a, err = db.SignOutgoing(ctx, "Mara Quill", a.ID, false, false, ""); err != nil {
		return err
	}
	ack("sign %s", a.ID)
	return nil
}

// A station is killed at step n of an inspection, n raised until the inspection completes. After each, the record opens,
// its chain verifies, every acknowledged step is there and nothing is there by half; then the next station goes on.
// Even n are killed the moment the step is acknowledged, odd n while the next one is being written.
func TestKilledAtEachStep(t *testing.T) {
	complete := false
	for n := 1; !complete && n <= childSteps+1; n++ {
		s := newShop(t, serials(3)...)
		s.verdict(s.start("QM-2611-0002"), inspect.Pass, 0.3, 0.3)
		s.verdict(s.start("QM-2611-0003"), inspect.Pass, 0.3, 0.3)
		s.ok(s.Close())
		acked, ended := runChild(t, s.path, n)
		complete = ended
		checkAfterKill(t, s.path, n, acked)
		if _, ended := runChild(t, s.path, 100); !ended {
			t.Errorf("killed at step %d: the next station could not complete the inspection", n)
		}
	}
	if !complete {
		t.Errorf("the inspection did not complete in %d steps", childSteps)
	}
}

// runChild starts a station and kills it at its nth acknowledgement.
func runChild(t *testing.T, path string, n int) (acked []string, ended bool) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), childPath+"="+path)
	to := must(cmd.StdinPipe())(t)
	from := must(cmd.StdoutPipe())(t)
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(from)
	for lines.Scan() {
		if lines.Text() == "end" {
			ended = true
			continue
		}
		if strings.HasPrefix(lines.Text(), "failed") {
			t.Errorf("step %d: %s", n, lines.Text())
		}
		acked = append(acked, lines.Text())
		if len(acked) == n && n%2 == 0 {
			break
		}
		if _, err := fmt.Fprintln(to, "go on"); err != nil {
			break
		}
		if len(acked) == n {
			break
		}
	}
	if !ended {
		if err := cmd.Process.Kill(); err != nil {
			t.Error(err)
		}
	}
	_ = cmd.Wait() // killed, or done
	return acked, ended
}

func checkAfterKill(t *testing.T, path string, n int, acked []string) {
	t.Helper()
	ctx := context.Background()
	db := must(Open(path, Options{Station: "bench 1"}))(t)
	defer func() { _ = db.Close() }()
	if err := db.VerifyAudit(ctx); err != nil {
		t.Errorf("killed at step %d: %v", n, err)
	}
	there := map[string]bool{}
	neck := must(db.Neck(ctx, "QM-2611-0001"))(t)
	for _, in := range must(db.Inspections(ctx, neck.ID))(t) {
		there["start "+in.ID] = true
		verdicts, back := must(db.Verdicts(ctx, in.ID))(t), 0
		for i, r := range must(db.Readings(ctx, in.ID))(t) {
			there["reading "+r.ID] = true
			if r.Withdrawn {
				back++
				continue
			}
			if r.Seq != int64(i+1) || r.Point.Fret != i+1 || r.Value != float64(i+1)/8 {
				t.Errorf("killed at step %d: reading %d came back as %+v", n, i+1, r)
			}
		}
		if finished := len(verdicts) > back; finished != (in.State == batch.Finished) {
			t.Errorf("killed at step %d: %d verdicts and %d readings taken back leave the inspection %s: half of taking back", n, len(verdicts), back, in.State)
		}
		for _, v := range verdicts {
			there["verdict "+v.ID] = true
			var rows int
			if err := db.reader.QueryRow(`SELECT count(*) FROM characteristics c JOIN verdicts v ON v.ord = c.verdict_ord WHERE v.id = ?`, v.ID).Scan(&rows); err != nil || rows != 2 {
				t.Errorf("killed at step %d: half a verdict: %d characteristics, %v", n, rows, err)
			}
		}
	}
	for _, a := range must(db.Rework(ctx, neck.ID))(t) {
		there["rework "+a.ID] = true
	}
	for _, a := range must(db.OutgoingAudits(ctx, neck.BatchID))(t) {
		a := must(db.OutgoingAudit(ctx, a.ID))(t)
		there["draw "+a.ID], there["sign "+a.ID] = true, a.State == batch.OutgoingAccepted
		if len(a.Necks) != 2 || a.State != batch.OutgoingOpen && a.Found != 2 {
			t.Errorf("killed at step %d: half an audit: %+v", n, a)
		}
		for _, d := range a.Necks {
			if d.Finding != nil {
				there["finding "+d.Finding.ID] = true
			}
		}
	}
	for _, a := range acked {
		if !there[a] {
			t.Errorf("killed at step %d: %q was acknowledged and is lost", n, a)
		}
	}
	if len(acked) < min(n, childSteps) {
		t.Errorf("killed at step %d: only %d steps were acknowledged", n, len(acked))
	}
}
