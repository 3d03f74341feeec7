package trend

import (
	"fmt"
	"math"
	"net/http"
	"testing"

	"sagitta/station/web/show"
	"sagitta/station/web/webtest"
)

// The capability of every month is by the limits of its revision, as recounted from the recorded values, and its line breaks where
// the specification changed.
func TestIndicesByMonth(t *testing.T) {
	s := shop(t).Fill().Past()
	type cell struct{ month, revision string }
	values := map[cell][]float64{}
	for _, f := range firsts(s) {
		for _, c := range f.all {
			if c.Name == "relief" && c.Track == "bass" {
				at := cell{f.at.Format("January 2006"), f.revision}
				values[at] = append(values[at], *c.Value)
			}
		}
	}
	page := s.Get("/trend/characteristics?model=QM+Bolt+648&of=relief%2Fbass%2F%2F7", http.StatusOK)
	seen := 0
	for _, row := range webtest.RowsOf(t, page, "Capability month by month")[1:] {
		x := values[cell{row[0], row[1]}]
		if len(x) < 2 {
			t.Errorf("row %q has %d values", row, len(x))
			continue
		}
		sum, squares := 0.0, 0.0
		for _, v := range x {
			sum += v
		}
		mean := sum / float64(len(x))
		for _, v := range x {
			squares += (v - mean) * (v - mean)
		}
		sd := math.Sqrt(squares / float64(len(x)-1))
		want := min(0.36-mean, mean-0.2) / (3 * sd)
		half := 1.959964 * math.Sqrt(1/(9*float64(len(x)))+want*want/(2*float64(len(x)-1))) // Bissell
		if row[2] != "0.200 to 0.360" || row[3] != fmt.Sprint(len(x)) || row[5] != show.Fixed(want, 2, false) || row[6] != show.Fixed(want-half, 2, false)+" to "+show.Fixed(want+half, 2, false) {
			t.Errorf("row %q, recounted %d, %.3f ± %.3f", row, len(x), want, half)
		}
		seen++
	}
	if seen != len(values) {
		t.Errorf("%d rows, recounted %d months of revisions", seen, len(values))
	}
	drawn := webtest.Drawn(t, page, "indices")
	if len(drawn.Series) != 3 || drawn.Series[0].Name != "revision A" || drawn.Series[1].Name != "revision B" {
		t.Fatalf("%d series, %+v", len(drawn.Series), drawn.Series)
	}
	a, b := drawn.Series[0].Points, drawn.Series[1].Points
	for i := range a {
		if a[i].Y != nil && b[i].Y != nil {
			t.Errorf("month %d is drawn for both revisions", i)
		}
	}
	if a[0].Y == nil || a[len(a)-1].Y != nil || b[0].Y != nil || b[len(b)-1].Y == nil {
		t.Error("the line of revision A ends and that of B begins where the specification changed")
	}
}
