package record

import (
	"bytes"
	"fmt"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
)

// lived is a shop with a row in every table, in which a neck of the factory's had two visits: one is measured, worked at and judged again and carries a value
// over, the other lasts.
func lived(t *testing.T) (s *shop, serial string) {
	t.Helper()
	s, serial = everyTable(t), "QM-2611-0001"
	s.visit(serial, "low action, \"hard\" pick\nüber 5 °C")
	in := s.start(serial)
	wrong := s.read(in, 1, 0.1)
	kept := s.read(in, 7, 1)
	must(s.AppendReading(s.ctx, batch.Reading{InspectionID: in.ID, Point: wrong.Point, Withdrawn: true, Supersedes: wrong.ID}))(t)
	s.verdict(in, inspect.Rework, 0.5, 0.5)
	step := must(s.AppendRework(s.ctx, batch.ReworkAction{NeckID: in.NeckID, InspectionID: in.ID, By: "x", What: inspect.StepRod, Turns: 0.25, Direction: "tighten"}))(t)
	s.ok(s.SetOwner(s.ctx, "x", serial, batch.Owner{Name: "Ada Fenn", Contact: "by the mill"}))
	s.ok(s.SetOwner(s.ctx, "x", serial, batch.Owner{Name: "Bo Tarn"}))
	s.ok(s.AddPhotographs(s.ctx, "x", serial, []batch.Photograph{{Pin: "fret 7", Digest: strings.Repeat("a", 64), Width: 3, Height: 2, Bytes: 9}}))
	s.ok(s.Promise(s.ctx, "x", batch.Promise{Serial: serial, Due: "2026-09-01", What: "look at the nut"}))
	again := s.start(serial)
	v := s.verdict(again, inspect.Pass, 0.3, 0.3)
	s.put(`INSERT INTO carried SELECT 9, 'c9', 'bench 1', 1, ?, ?, '', ord - 1, ord FROM readings WHERE id = ?`, v.ID, in.ID, kept.ID)
	s.ok(s.EndVisit(s.ctx, "x", serial, "plays as wished"))
	s.visit(serial, "")
	s.start(serial)
	if step.ID == "" {
		t.Fatal("no step of work")
	}
	return s, serial
}

// addresses are those of values in memory.
var addresses = regexp.MustCompile(`0x[0-9a-f]+`)

// written is an instrument's file, read back.
func (s *shop) written(serial string) ([]byte, Life) {
	s.Helper()
	l := must(s.Life(s.ctx, serial))(s)
	text := must(l.Text())(s)
	return text, must(ReadLife(text))(s)
}

// TestLifeComesBack: what is taken out of one record and into another, be that empty or not, comes out of it with the same bytes; nothing is lost, everything
// that is worked out from it is worked out, and the record verifies.
func TestLifeComesBack(t *testing.T) {
	from, serial := lived(t)
	for name, to := range map[string]*shop{"an empty record": empty(t), "a filled record": another(t)} {
		for _, of := range []string{serial, "2026-014"} {
			text, life := from.written(of)
			added := must(to.TakeInLife(to.ctx, "Ilse", life))(t)
			rows := 0
			for _, all := range life.Rows {
				rows += len(all)
			}
			back, _ := to.written(of)
			if !bytes.Equal(text, back) {
				a, b := strings.Split(string(text), "\n"), strings.Split(string(back), "\n")
				i := 0
				for i < min(len(a), len(b))-1 && a[i] == b[i] {
					i++
				}
				t.Errorf("%s, %s: line %d comes back as %s and was %s", name, of, i+1, b[i], strings.Join(a[max(i-12, 0):i+1], "\n"))
			}
			if added == 0 || added > rows {
				t.Errorf("%s, %s: %d of %d rows were added", name, of, added, rows)
			}
			if again := must(to.TakeInLife(to.ctx, "Ilse", life))(t); again != 0 {
				t.Errorf("%s, %s: taken in again it adds %d rows", name, of, again)
			}
			sameLife(t, from, to, of)
		}
		if err := to.VerifyAudit(to.ctx); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if e := must(to.Audit(to.ctx, 1))(t)[0]; e.What != "instrument taken in" || e.By != "Ilse" || e.About != "2026-014" || !strings.Contains(e.Detail, "sha256") {
			t.Errorf("%s: the trail says %+v", name, e)
		}
		// It goes on there, and comes back to where it was.
		s := *to
		in := must(s.Inspections(s.ctx, s.neck(serial).ID))(t)[0]
		s.read(in, 3, 0.02)
		s.verdict(in, inspect.Pass, 0.31, 0.31)
		if name == "an empty record" {
			_, life := to.written(serial)
			if added := must(from.TakeInLife(from.ctx, "Ilse", life))(t); added < 4 {
				t.Errorf("on its way home it brings %d rows", added)
			}
			sameLife(t, to, from, serial)
			if err := from.VerifyAudit(from.ctx); err != nil {
				t.Errorf("at home: %v", err)
			}
			from, _ = lived(t)
		}
	}
}

// sameLife compares what pages read of an instrument.
func sameLife(t *testing.T, a, b *shop, serial string) {
	t.Helper()
	said := func(s *shop) (all []string) {
		say := func(v any) { all = append(all, fmt.Sprintf("%+v", v)) }
		say(must(s.Instrument(s.ctx, serial))(t))
		say(must(s.Owners(s.ctx, serial))(t))
		say(must(s.StringSets(s.ctx, serial))(t)[0].Name)
		say(must(s.InstrumentNotes(s.ctx, serial))(t))
		say(must(s.Promises(s.ctx, serial))(t))
		say(must(s.Photographs(s.ctx, serial))(t))
		for _, v := range must(s.Visits(s.ctx, serial))(t) {
			say([]any{v.Number, v.Wishes, v.Result, v.EndedBy, v.EndedAt, v.Batch.Number, v.Batch.Spec.Text})
			for _, in := range must(s.Inspections(s.ctx, v.Neck.ID))(t) {
				say(in)
				say(must(s.Readings(s.ctx, in.ID))(t))
				for _, j := range must(s.Verdicts(s.ctx, in.ID))(t) {
					result := *j.Result
					j.Result = nil
					say(j)
					say(len(result.Characteristics))
				}
			}
			for _, w := range must(s.Rework(s.ctx, v.Neck.ID))(t) {
				w.PredictedMM, w.ReliefBefore = nil, nil // pointers
				say(w)
			}
			say(len(must(s.Doubts(s.ctx, batch.DoubtFilter{NeckID: v.Neck.ID, Standing: true}))(t)))
		}
		return all
	}
	one, other := said(a), said(b)
	pointers := func(s string) string { return addresses.ReplaceAllString(s, "") }
	for i := range min(len(one), len(other)) {
		if pointers(one[i]) != pointers(other[i]) {
			t.Errorf("%s: %s, and was %s", serial, other[i], one[i])
		}
	}
	if len(one) != len(other) {
		t.Errorf("%s: %d things are told of it, and were %d", serial, len(other), len(one))
	}
}

func empty(t *testing.T) *shop {
	s := &shop{TB: t, ctx: t.Context(), path: filepath.Join(t.TempDir(), "record.db")}
	s.DB = must(Open(s.path, Options{Station: "home"}))(t)
	t.Cleanup(func() { _ = s.Close() })
	return s
}

// another is a record with a batch of its own, whose specification has the same text, and an instrument.
func another(t *testing.T) *shop {
	s := empty(t)
	s.spec = must(s.AddSpec(s.ctx, "x", "", "bolt.toml", []byte(specText)))(t)
	s.batch = must(s.OpenBatch(s.ctx, "x", batch.Batch{Number: "RB-1", Spec: s.spec}, []string{"RB-1-1", "RB-1-2"}))(t)
	s.verdict(s.start("RB-1-1"), inspect.Pass, 0.3, 0.3)
	s.visit("RB-1-1", "")
	must(s.SaveGauge(s.ctx, "x", batch.Gauge{ID: "h", Name: "h", Sense: 1}))(t)
	return s
}

// TestEveryTableOfALife: a table whose rows hang on a neck, an instrument, a visit or an inspection is in the file, or said to be none of it.
func TestEveryTableOfALife(t *testing.T) {
	s := newShop(t)
	apart := []string{"alarms", "outgoing_necks", "outgoing_findings", "neck_status", "uncounted", "restated", "lot_releases"}
	tables := must(list(s.ctx, s.reader, func(r scanner) (name string, err error) { return name, r.Scan(&name) },
		`SELECT DISTINCT s.name FROM sqlite_schema s JOIN pragma_table_info(s.name) c WHERE s.type = 'table' AND s.name NOT LIKE 'serial_parts%'
		AND c.name IN ('serial', 'neck_id', 'inspection_id', 'verdict_id', 'verdict_ord', 'visit_id', 'promise_id', 'photograph_id')`))(t)
	if len(tables) < 20 {
		t.Fatalf("tables %q", tables)
	}
	for _, name := range tables {
		if !slices.ContainsFunc(lifeTables, func(l lifeTable) bool { return l.name == name }) && !slices.Contains(apart, name) && name != "neck_first" && name != "characteristic_tally" {
			t.Errorf("the table %s is in no file of an instrument", name)
		}
	}
}

// TestLifeIsRefused: what cannot be taken in is refused with what is wrong, and leaves nothing behind.
func TestLifeIsRefused(t *testing.T) {
	from, serial := lived(t)
	text, _ := from.written(serial)
	for name, c := range map[string]struct {
		change func(text string) string
		to     func(s *shop)
		want   string
	}{
		"no JSON":  {change: func(string) string { return "x" }, want: "no file of an instrument"},
		"a format": {change: func(s string) string { return strings.Replace(s, LifeFormat, "sagitta instrument 9", 1) }, want: "newer program"},
		"a key":    {change: func(s string) string { return strings.Replace(s, `"serial"`, `"seriel"`, 1) }, want: "seriel"},
		"a table":  {change: func(s string) string { return strings.Replace(s, `"climates"`, `"people"`, 1) }, want: `"people"`},
		"a column": {change: func(s string) string { return strings.Replace(s, `"temperature_c"`, `"colour"`, 1) }, want: `"colour"`},
		"a moment": {change: func(s string) string { return strings.Replace(s, `"at": "2026`, `"at": "2o26`, 1) }, want: "allowed: a moment"},
		"another's": {change: func(s string) string {
			return strings.Replace(s, `"serial": "QM-2611-0001"`, `"serial": "QM-2611-0002"`, 1)
		}, want: "the file is of QM-2611-0002"},
		"cut":        {change: func(s string) string { return s[:len(s)/2] }, want: "no file of an instrument"},
		"an orphan":  {change: func(s string) string { return strings.Replace(s, `"inspection_id": "`, `"inspection_id": "0`, 1) }, want: "not in the file"},
		"the serial": {to: func(s *shop) { s.visit(serial, "") }, want: "serial number of another instrument"},
		"the batch":  {to: func(s *shop) { must(s.OpenBatch(s.ctx, "x", batch.Batch{Number: "QM-2611", Spec: s.spec}, nil))(t) }, want: "batch QM-2611 is another one here"},
		"a badge": {to: func(s *shop) {
			p := must(s.AddPerson(s.ctx, "x", "Ada", batch.Inspector))(t)
			s.ok(s.SetBadge(s.ctx, "x", p.Name, serial))
		}, want: "badge"},
		"changed here":                {to: func(s *shop) { _, l := from.written(serial); must(s.TakeInLife(s.ctx, "x", l))(t) }, change: func(s string) string { return strings.Replace(s, "by the mill", "by the sea", 1) }, want: "another one here than in the file"},
		"under another serial number": {to: func(s *shop) { _, l := from.written(serial); must(s.TakeInLife(s.ctx, "x", l))(t) }, change: func(s string) string { return strings.ReplaceAll(s, serial, "QM-2611-0009") }, want: "another one here than in the file"},
	} {
		to := another(t)
		if c.to != nil {
			c.to(to)
		}
		changed := string(text)
		if c.change != nil {
			if changed = c.change(changed); changed == string(text) {
				t.Fatalf("%s: nothing was changed", name)
			}
		}
		before := must(to.Audit(to.ctx, 1))(t)[0].Seq
		l, err := ReadLife([]byte(changed))
		if err == nil {
			_, err = to.TakeInLife(to.ctx, "x", l)
		}
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
		if after := must(to.Audit(to.ctx, 1))(t)[0].Seq; after != before {
			t.Errorf("%s: something was written", name)
		}
	}
	_, err := from.Life(from.ctx, "nobody")
	wantErr(t, err, ErrUnknownSerial, "nobody")
}
