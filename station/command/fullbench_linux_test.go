package command

import (
	"maps"
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// TestFullDiskAtTheBench presses a gauge's key while the disk is full: the reading is refused loudly and does not count, pages go on, and
// with room again the same press counts. So it is with the last reading of a check.
func TestFullDiskAtTheBench(t *testing.T) {
	dir := t.TempDir()
	d, _ := startOnDisk(t, dir)
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
	pressed("was NOT recorded")
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
	if status, body := d.get("/batches/QM-2611/workbook.xlsx"); status != http.StatusInsufficientStorage || !strings.Contains(body, "make room on the disk") { // it is written before it is sent
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
