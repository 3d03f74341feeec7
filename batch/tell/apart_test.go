package tell

import (
	"strings"
	"testing"
	"time"

	"sagitta/batch"
)

// Both statements stand where they differ, what cannot be told apart is named, and nothing is said within chance.
func TestApart(t *testing.T) {
	s := batch.Stratum{Batch: "1", SpecName: "M", Month: 202507}
	at := func(change func(*batch.Stratum)) batch.Stratum { c := s; change(&c); return c }
	bad := at(func(s *batch.Stratum) { s.Span = 1 })
	other := at(func(s *batch.Stratum) { s.SpecName, s.Batch = "N", "2" })
	type row struct {
		of                         batch.Stratum
		n, passed, restN, restPass int
	}
	gauge := func(int) string {
		return BadSpan(batch.BadSpan{From: time.Date(2025, 7, 11, 12, 0, 0, 0, time.Local), To: time.Date(2025, 7, 17, 12, 0, 0, 0, time.Local), Why: "zero moved by +0.090 mm, more than the 0.020 mm allowed"}, "carriage indicator")
	}
	for _, c := range []struct {
		name string
		rows []row
		says []string
	}{
		{"nothing", []row{{s, 100, 80, 400, 324}}, nil},
		{"the same", []row{{s, 400, 280, 1600, 1440}}, []string{"passes 20.0 points less often (", "than the rest, and like with like 20.0 points less often"}},
		{"a bad gauge", []row{{s, 100, 90, 900, 810}, {bad, 180, 54, 20, 6}}, []string{"put together it passes", "less often", "but like with like no more than chance makes (0.0 points", "the same days had the bad zero of the carriage indicator (11 July 2025 to 17 July 2025; zero moved by +0.090 mm, more than the 0.020 mm allowed)"}},
		{"reversed", []row{{s, 100, 97, 900, 810}, {other, 900, 630, 100, 50}}, []string{"put together it passes", "less often", "yet like with like", "more often", "what is put together misleads, for it has more necks of N than the rest has"}},
		{"hidden", []row{{s, 100, 97, 900, 780}, {other, 900, 753, 100, 68}}, []string{"like with like it passes", "more often", "which is hidden where all are put together"}},
		{"not settled", []row{{s, 20, 14, 30, 24}, {other, 480, 336, 0, 0}, {bad, 0, 0, 1970, 1773}}, []string{"put together it passes", "less often", "; like with like that is not settled (−10.0 points, ", " (from 20 of its 500 necks)"}},
		{"alone", []row{{s, 0, 0, 1000, 900}, {other, 500, 300, 0, 0}}, []string{"passes 30.0 points less often", "which cannot be told apart from its batches and months"}},
		{"alone with a bad gauge", []row{{s, 0, 0, 1000, 900}, {bad, 200, 60, 0, 0}}, []string{"cannot be told apart from the bad zero of the carriage indicator"}},
		{"models differ", []row{{s, 500, 350, 1500, 1250}, {other, 500, 450, 1500, 1150}}, []string{"it differs by model; like with like, of M 13.3 points less often", "of N 13.3 points more often"}},
	} {
		var group, all []batch.StratumShare
		for _, r := range c.rows {
			if r.n > 0 {
				group = append(group, batch.StratumShare{Stratum: r.of, Value: "60", Inspected: r.n, FirstPass: r.passed})
			}
			all = append(all, batch.StratumShare{Stratum: r.of, Inspected: r.n + r.restN, FirstPass: r.passed + r.restPass})
		}
		said := Apart(batch.ContrastsOf(group, all, 0.998)[0], 0.002, gauge)
		if c.says == nil && said != "" {
			t.Errorf("%s: %q", c.name, said)
		}
		for _, words := range c.says {
			if !strings.Contains(said, words) {
				t.Errorf("%s: %q does not say %q", c.name, said, words)
			}
		}
	}
	if got := BadSpan(batch.BadSpan{Why: "zero moved by +0.001 mm, +0.050 mm on the 5 mm master (allowed 0.010)"}, "height gauge"); !strings.HasPrefix(got, "the failed check of the height gauge (until ") {
		t.Error(got)
	}
}
