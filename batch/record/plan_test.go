package record

import (
	"slices"
	"strings"
	"testing"

	"sagitta/batch"
)

// What is streamed comes straight out of the indexes in its order: a sort would hold the whole batch first.
func TestStreamsNeedNoSort(t *testing.T) {
	s := newShop(t)
	for name, query := range map[string]string{"necks": selectBatchNecks, "readings": selectBatchReadings, "rework": selectBatchRework} {
		plan := must(list(s.ctx, s.reader, func(r scanner) (line string, err error) {
			var a, b, c int
			return line, r.Scan(&a, &b, &c, &line)
		}, `EXPLAIN QUERY PLAN `+query, s.batch.ID))(t)
		for _, line := range plan {
			if strings.Contains(line, "TEMP B-TREE") || strings.HasPrefix(line, "SCAN") {
				t.Errorf("%s: %s", name, line)
			}
		}
		if len(plan) == 0 {
			t.Errorf("%s: no plan", name)
		}
	}
}

// The newest values of a batch and of a model are read in the order of an index, until there are enough.
func TestNewestNeedNoSort(t *testing.T) {
	s := newShop(t)
	for index, from := range map[string]string{"neck_first_order": seriesOfBatch, "neck_first_time": seriesOfMany} {
		plan := must(list(s.ctx, s.reader, func(r scanner) (line string, err error) {
			return line, r.Scan(new(int), new(int), new(int), &line)
		}, `EXPLAIN QUERY PLAN `+seriesColumns+from+`ORDER BY f.at DESC, f.neck_ord DESC LIMIT 5`, "", "QM Bolt 648", "", 0, 0, "relief", "bass", 0, 7, 0))(t)
		if !slices.ContainsFunc(plan, func(line string) bool { return strings.Contains(line, index) }) {
			t.Errorf("the plan is %q", plan)
		}
		for _, line := range plan {
			if strings.Contains(line, "ORDER BY") {
				t.Errorf("the plan sorts: %q", plan)
			}
		}
	}
}

// What keeps necks back is counted from the doubts and findings, whatever the number of necks.
func TestKeptBackLooksAtFewNecks(t *testing.T) {
	s := newShop(t)
	plan := must(list(s.ctx, s.reader, func(r scanner) (line string, err error) {
		return line, r.Scan(new(int), new(int), new(int), &line)
	}, `EXPLAIN QUERY PLAN `+countKeptBack, ""))(t)
	if !slices.ContainsFunc(plan, func(line string) bool {
		return strings.HasPrefix(line, "SEARCH s USING") && strings.Contains(line, "neck_id=?")
	}) {
		t.Errorf("the plan is %q", plan)
	}
	for _, line := range plan {
		if strings.HasPrefix(line, "SCAN s") {
			t.Errorf("the plan looks at every neck: %q", plan)
		}
	}
}

// The rules that all outlets ask look at what they are about and at nothing else: held necks at the nonconforming findings,
// necks that an accepted lot's audit does not speak for at those judged since, a verdict that counts at its inspection's.
func TestRulesAreIndexed(t *testing.T) {
	s := newShop(t)
	for _, c := range []struct{ query, starts, index string }{
		{`SELECT neck_id FROM held_necks`, "SCAN f", "outgoing_findings_nonconforming"},
		{countUncovered, "SEARCH s", "neck_status_last (batch_id=? AND last_at>?)"},
		{`SELECT i.attempt FROM inspections i LEFT JOIN counting_verdicts v ON v.inspection_id = i.id WHERE i.neck_id = ?1`, "SEARCH v", "verdicts_inspection (inspection_id=?)"},
		{countLeft, "SEARCH n", "(serial=?)"},
		{`SELECT n.neck_id FROM ready_necks n WHERE n.batch_id = ?1`, "SEARCH s", "neck_status_last (batch_id=?)"},
	} {
		plan := must(list(s.ctx, s.reader, func(r scanner) (line string, err error) {
			return line, r.Scan(new(int), new(int), new(int), &line)
		}, `EXPLAIN QUERY PLAN `+c.query, ""))(t)
		if !slices.ContainsFunc(plan, func(line string) bool { return strings.HasPrefix(line, c.starts) && strings.Contains(line, c.index) }) {
			t.Errorf("%s: no %s by %s in the plan:\n%s", c.query, c.starts, c.index, strings.Join(plan, "\n"))
		}
	}
}

// Each page of the trail comes out of the index of what it is picked out by, in its order.
func TestTrailIsIndexed(t *testing.T) {
	s := newShop(t, "QM-2611-0001")
	s.carriage()
	for index, f := range map[string]batch.TrailFilter{
		"audit_thing": {Serial: "QM-2611-0001"}, "audit_thing ": {Batch: "QM-2611"}, "audit_thing  ": {Gauge: "carriage indicator"},
		"audit_by": {Person: "Mara Quill"}, "audit_what": {Matter: batch.OfAlarms}, "PRIMARY KEY": {From: instant(1), To: instant(2)},
	} {
		f.Before, f.Limit = 1000, 50
		w := must(s.wanted(s.ctx, f))(t)
		query, args := w.query(f.Before, f.Limit)
		plan := strings.Join(must(list(s.ctx, s.reader, func(r scanner) (line string, err error) {
			return line, r.Scan(new(int), new(int), new(int), &line)
		}, `EXPLAIN QUERY PLAN `+query, args...))(t), "\n")
		if !strings.Contains(plan, strings.TrimSpace(index)) || strings.Contains(plan, "SCAN audit") || strings.Contains(plan, "SCAN a ") || strings.HasSuffix(plan, "SCAN a") || strings.Contains(plan, "SCAN a\n") || index != "PRIMARY KEY" && strings.Contains(plan, "PRIMARY KEY (rowid<?)") {
			t.Errorf("%+v is not by %s:\n%s", f, index, plan)
		}
	}
}
