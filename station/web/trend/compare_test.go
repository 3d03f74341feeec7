package trend

import (
	"fmt"
	"math"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
	"sagitta/station/web/webtest"
)

// TestCompareBatches holds the comparison against means, deviations and yields recounted from the recorded values.
func TestCompareBatches(t *testing.T) {
	s := shop(t).Fill().Past()
	passed, n := map[string]int{}, map[string]int{}
	values := map[string][]float64{}
	for _, f := range firsts(s) {
		n[f.batch]++
		if f.passed {
			passed[f.batch]++
		}
		for _, c := range f.all {
			if c.Name == "relief" && c.Track == "bass" {
				values[f.batch] = append(values[f.batch], *c.Value)
			}
		}
	}
	page := s.Get("/compare?a=QM-2505&b=QM-2509", http.StatusOK)
	for _, b := range []string{"QM-2505", "QM-2509"} {
		webtest.Wants(t, page, percent(passed[b], n[b])+" % in batch "+b)
	}
	rows := webtest.RowsOf(t, page, "Characteristics")[1:]
	row := rows[slices.IndexFunc(rows, func(r []string) bool { return strings.HasPrefix(r[1], "Relief, bass side") })]
	if row[0] != "1" || !strings.Contains(row[2], "mean") || row[3] != "mm" {
		t.Errorf("relief differs most and by its mean; its row is %q", row)
	}
	mean := func(x []float64) (m, sd float64) {
		for _, v := range x {
			m += v / float64(len(x))
		}
		for _, v := range x {
			sd += (v - m) * (v - m) / float64(len(x)-1)
		}
		return m, math.Sqrt(sd)
	}
	ma, sa := mean(values["QM-2505"])
	mb, sb := mean(values["QM-2509"])
	numbers := []string{"200", "200", show.Fixed(ma, 3, true), show.Fixed(mb, 3, true)}
	if !slices.Equal(row[4:8], numbers) || row[9] != fmt.Sprintf("%.3f", sa) || row[10] != fmt.Sprintf("%.3f", sb) {
		t.Errorf("%q, recounted %q, %.3f, %.3f", row, numbers, sa, sb)
	}
	if !strings.HasPrefix(row[8], show.Fixed(ma-mb, 3, true)) || !strings.HasPrefix(row[11], fmt.Sprintf("%.2f", sa/sb)) {
		t.Errorf("difference %q and ratio %q, recounted %.4f and %.3f", row[8], row[11], ma-mb, sa/sb)
	}
	webtest.Wants(t, page, "Of 2 means and 2 standard deviations compared", "about 0.2 of 4 would where nothing differs", `href="/batches/QM-2505/charts?of=relief%2Fbass%2F%2F7"`)
	webtest.Wants(t, s.Get("/compare?a=QM-2505&b=QM-2611", http.StatusOK), "two revisions, A and B")
	webtest.Wants(t, s.Get("/compare?a=QM-2505&b=QM-2505", http.StatusOK), "Both are batch QM-2505")
	webtest.Wants(t, s.Get("/compare?a=QM-2505&b=%3Cb%3E", http.StatusOK), "There is no batch &#34;&lt;b&gt;&#34;")
}

// TestCompareGauges compares two gauges of which each measured one of two batches: the numbers of relief are the batches'.
func TestCompareGauges(t *testing.T) {
	s := shop(t).Fill().Past()
	relief := func(page string) []string {
		for _, r := range webtest.RowsOf(t, page, "Characteristics") {
			if strings.HasPrefix(r[1], "Relief, bass side") {
				return r[4:]
			}
		}
		t.Fatal("no row of relief")
		return nil
	}
	period := "&model=QM+Bolt+648&from=2025-05&to=2025-10"
	gauges := s.Get("/compare?what=gauges&a="+s.Gauge.ID+"&b=second"+period, http.StatusOK)
	batches := s.Get("/compare?a=QM-2505&b=QM-2509", http.StatusOK)
	if a, b := relief(gauges), relief(batches); !slices.Equal(a[:8], b) || a[8] != "–" {
		t.Errorf("by gauge %q, by batch %q, and nothing like with like", a, b)
	}
	webtest.Wants(t, gauges, "nothing can be told: the two have nothing beside each other")
	webtest.Wants(t, gauges, "with the carriage indicator and ", "Each gauge measured other necks", "Of 1 mean and 1 standard deviation compared")
	webtest.Wants(t, s.Get("/compare?what=gauges&a="+s.Gauge.ID+"&b=second&from=2026-01&to=2026-02", http.StatusOK), "measured nothing in common of all models from January to February 2026")
	webtest.Wants(t, s.Get("/compare?what=gauges&a=second&b=second", http.StatusOK), "Both are the same gauge")
	webtest.Wants(t, s.Get("/compare?what=gauges&a=second&b=none", http.StatusOK), "not on file")
}

// Definition: relief and twist are taken over the datum frets, so that over other frets they are other quantities.
func TestOtherDatumFretsAreNotCompared(t *testing.T) {
	spec := func(second int) *inspect.Spec {
		return &inspect.Spec{Datum: inspect.Datum{FirstFret: 1, SecondFret: second, ReliefFret: 7}}
	}
	rows := []batch.CharacteristicRow{{Named: batch.Named{Name: inspect.Relief, Track: "bass", Fret: 7}}, {Named: batch.Named{Name: inspect.Twist}}, {Named: batch.Named{Name: inspect.NutHeight, String: 6}}}
	p := comparePage{NameA: "QM-2611", NameB: "QM-2612"}
	notes, left := p.apart(spec(17), spec(14), rows, rows)
	want := "Not compared, for the datum frets differ: relief, twist, over frets 1–17 in batch QM-2611 and over frets 1–14 in batch QM-2612."
	if len(left) != 1 || left[0].Name != inspect.NutHeight || !slices.Equal(notes, []string{want}) {
		t.Errorf("left %+v, notes %q", left, notes)
	}
	if notes, left := p.apart(spec(17), spec(17), rows, rows); len(left) != 3 || len(notes) != 0 {
		t.Errorf("over the same frets: left %+v, notes %q", left, notes)
	}
}

func TestPointsOfYield(t *testing.T) {
	for d, want := range map[float64]string{0: "no difference", 0.01: "less than 0.1 points apart", -2.5: "2.5 points fewer", 2.5: "2.5 points more"} {
		if got := points(d); got != want {
			t.Errorf("%g: %q, want %q", d, got, want)
		}
	}
}

// Necks are counted by the hour of their inspection: shifts that begin within one are refused with a sentence, in the form and in a link.
func TestShiftsWithinAnHourAreNotCompared(t *testing.T) {
	for _, c := range []struct {
		shifts  []time.Duration
		refused bool
	}{{[]time.Duration{6*time.Hour + 30*time.Minute, 14*time.Hour + 30*time.Minute}, true}, {[]time.Duration{6 * time.Hour, 14 * time.Hour}, false}} {
		s := webtest.Open(t)
		s.Mount(func(k *site.Site) error { return Mount(k, Options{Record: s.Rec, Now: time.Now, Shifts: c.shifts}) })
		s.Fill().Past()
		sentence := "Shifts are not compared: necks are counted by the full hour, and shifts begin at 06:30 and 14:30 here."
		for _, path := range []string{"/compare", "/compare?what=shifts&a=06-14&b=14-06"} {
			page := s.Get(path, http.StatusOK)
			if got := strings.Contains(page, sentence); got != c.refused {
				t.Errorf("%v, %s: refused %v", c.shifts, path, got)
			}
			if form := strings.Contains(page, `value="06-14"`); form == c.refused {
				t.Errorf("%v, %s: shifts to choose %v", c.shifts, path, form)
			}
			if c.refused && strings.Contains(page, "First-pass yield is") {
				t.Errorf("%s compares", path)
			}
		}
	}
}
