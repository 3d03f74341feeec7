package record

import (
	"bytes"
	"fmt"
	"log/slog"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/sampling"
	"sagitta/inspect"
)

// Every refusal says whose it is: what was entered can be mended, it goes against what is so, or it is not there.
func TestErrorsHaveTheirKind(t *testing.T) {
	s := newShop(t, serials(3)...)
	in := s.start("QM-2611-0001")
	must(s.AddPerson(s.ctx, "", "Ossian Reed", batch.Inspector))(t)
	one := func(serial string) func(func(batch.Story, error) bool) {
		v := verdictOf(in, inspect.Pass, 0.3, 0.3)
		return func(yield func(batch.Story, error) bool) {
			yield(batch.Story{Serial: serial, Attempts: []batch.StoryAttempt{{Inspector: "x", StartedAt: time.Unix(1, 0), Verdicts: []batch.Verdict{v}}}}, nil)
		}
	}
	for _, c := range []struct {
		name string
		do   func() error
		want batch.ErrorKind
	}{
		{"nobody", func() error { _, err := s.AddPerson(s.ctx, "", " ", batch.Inspector); return err }, batch.Mendable},
		{"a pattern", func() error {
			_, err := s.OpenBatch(s.ctx, "x", batch.Batch{Number: "2", Spec: s.spec, Pattern: "("}, []string{"1"})
			return err
		}, batch.Mendable},
		{"a specification", func() error { _, err := s.AddSpec(s.ctx, "x", "", "x.toml", []byte("name = 3")); return err }, batch.Mendable},
		{"a gauge", func() error { _, err := s.SaveGauge(s.ctx, "x", batch.Gauge{}); return err }, batch.Mendable},
		{"a study", func() error { _, err := s.StartStudy(s.ctx, "x", "g", batch.StudyPlan{}); return err }, batch.Mendable},
		{"a reading of nothing", func() error { _, err := s.AppendReading(s.ctx, crown(batch.Inspection{ID: "x"}, 1, 1)); return err }, batch.Mendable},
		{"a level", func() error {
			_, err := s.DrawOutgoing(s.ctx, batch.OutgoingAudit{By: "x", BatchID: s.batch.ID, AQL: 1, Level: "IV", Severity: sampling.Normal})
			return err
		}, batch.Mendable},
		{"a story without an inspector", func() error {
			_, err := s.AppendStories(s.ctx, "x", batch.Import{BatchID: s.batch.ID, SHA256: "1"}, func(yield func(batch.Story, error) bool) { yield(batch.Story{Serial: "n"}, nil) })
			return err
		}, batch.Mendable},
		{"another role", func() error { _, err := s.AddPerson(s.ctx, "", "Ossian Reed", batch.Repairer); return err }, batch.Conflict},
		{"a number that is taken", func() error {
			_, err := s.OpenBatch(s.ctx, "x", batch.Batch{Number: "QM-2611", Spec: s.spec}, nil)
			return err
		}, batch.Conflict},
		{"a serial number that is taken", func() error { _, err := s.AddNecks(s.ctx, "x", s.batch.ID, serials(1)); return err }, batch.Conflict},
		{"a story's serial number that is taken", func() error {
			_, err := s.AppendStories(s.ctx, "x", batch.Import{BatchID: s.batch.ID, SHA256: "2"}, one("QM-2611-0001"))
			return err
		}, batch.Conflict},
		{"an inspection in progress", func() error {
			_, err := s.StartInspection(s.ctx, batch.Inspection{NeckID: in.NeckID, Inspector: "x"})
			return err
		}, batch.Conflict},
		{"a revision in use", func() error {
			_, err := s.AddSpec(s.ctx, "x", "", "x.toml", []byte(strings.Replace(specText, "0.36", "0.37", 1)))
			return err
		}, batch.Conflict},
		{"a neck", func() error { _, err := s.Neck(s.ctx, "none"); return err }, batch.Absent},
		{"a batch", func() error { _, err := s.Batch(s.ctx, "none"); return err }, batch.Absent},
		{"an alarm", func() error { return s.AcknowledgeAlarm(s.ctx, "x", "none", "x") }, batch.Absent},
		{"a record", func() error { _, err := Open(s.path+"x", Options{Existing: true, Station: "x"}); return err }, batch.Absent},
		{"a record in use", func() error { _, err := Open(s.path, Options{Station: "x"}); return err }, batch.Machine},
	} {
		err := c.do()
		if err == nil || batch.KindOf(err) != c.want {
			t.Errorf("%s: kind %d of %v, want %d", c.name, batch.KindOf(err), err, c.want)
		}
	}
}

// A commit that the machine does not take is logged once; one that the record refuses for what was asked is not.
func TestRefusedCommitsAreLogged(t *testing.T) {
	s := newShop(t, serials(1)...)
	in := s.start("QM-2611-0001")
	var log bytes.Buffer
	before := slog.Default()
	slog.SetDefault(slog.New(slog.NewTextHandler(&log, nil)))
	defer slog.SetDefault(before)
	_, err := s.AddNecks(s.ctx, "x", s.batch.ID, serials(1))
	wantErr(t, err, ErrExists)
	if log.Len() > 0 {
		t.Errorf("logged: %s", log.String())
	}
	must(s.writer.Exec(`PRAGMA wal_checkpoint(TRUNCATE)`))(t)
	var pages int
	s.ok(s.writer.QueryRow(`PRAGMA page_count`).Scan(&pages))
	s.ok(s.writer.QueryRow(`PRAGMA max_page_count = ` + fmt.Sprint(pages)).Scan(&pages))
	for _, write := range []struct {
		what string
		do   func() error
	}{
		{"keeping the reading of crown", func() error {
			r := crown(in, 1, 1)
			r.Raw = make([]byte, 100_000)
			_, err := s.AppendReading(s.ctx, r)
			return err
		}},
		{"keeping the verdict", func() error {
			v := verdictOf(in, inspect.Pass, 0.3, 0.3)
			v.Reason = strings.Repeat("x", 100_000)
			_, err := s.AppendVerdict(s.ctx, v)
			return err
		}},
	} {
		log.Reset()
		err := write.do()
		wantErr(t, err, ErrDiskFull)
		if n := strings.Count(log.String(), "commit refused"); n != 1 || batch.KindOf(err) != batch.Machine || !strings.Contains(log.String(), write.what) {
			t.Errorf("%s: kind %d, logged %d times: %s", write.what, batch.KindOf(err), n, log.String())
		}
	}
}
