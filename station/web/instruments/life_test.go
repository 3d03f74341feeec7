package instruments_test

import (
	"context"
	"fmt"
	"html"
	"math"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/history/visits"
	"sagitta/batch/life"
	"sagitta/batch/record"
	"sagitta/station/web/instruments"
	"sagitta/station/web/site"
	"sagitta/station/web/webtest"
)

// livedIn is a record with an invented instrument in it, and the air of a shop of which the test knows the humidity.
type livedIn struct {
	*record.DB
	air []batch.AirDay
}

func (l livedIn) AirDays(context.Context) ([]batch.AirDay, error) { return l.air, nil }

// lived makes pages of an instrument that came for four years.
func lived(t *testing.T, seed uint64, air []batch.AirDay) (*visits.Instrument, *webtest.Shop, *life.Life) {
	t.Helper()
	const who = "Ilse Marchetti-Roe"
	ctx := context.Background()
	i, err := visits.New(time.Date(2026, 11, 20, 18, 0, 0, 0, time.Local), seed)
	if err != nil {
		t.Fatal(err)
	}
	clock := i.Began()
	db, err := record.Open(filepath.Join(t.TempDir(), "record.db"), record.Options{Station: "bench 1", Filling: true, Now: func() time.Time { return clock }})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	if _, err := db.AddPerson(ctx, who, who, batch.QualityManager); err != nil {
		t.Fatal(err)
	}
	if err := i.Write(ctx, db, who, &clock); err != nil {
		t.Fatal(err)
	}
	l, err := life.Read(ctx, db, visits.Serial)
	if err != nil {
		t.Fatal(err)
	}
	shop := webtest.Open(t).Mount(func(k *site.Site) error {
		return instruments.Mount(k, instruments.Options{Record: livedIn{db, air}, Now: time.Now})
	})
	return i, shop, l
}

// airAt are ten days of January and of July at two humidities, and three of March.
func airAt(january, july float64) (days []batch.AirDay) {
	for d := range 10 {
		off := float64(d%2*2 - 1)
		days = append(days, batch.AirDay{At: time.Date(2026, 1, 2+d, 12, 0, 0, 0, time.Local), HumidityPercent: january + off},
			batch.AirDay{At: time.Date(2026, 7, 2+d, 12, 0, 0, 0, time.Local), HumidityPercent: july + off})
	}
	for d := range 3 {
		days = append(days, batch.AirDay{At: time.Date(2026, 3, 2+d, 12, 0, 0, 0, time.Local), HumidityPercent: 45})
	}
	return days
}

// The page says what was planted: the slope's sign, a relief for January and July near the true one and an interval that holds it, nothing
// of March, and nothing of air that the neck was never measured in.
func TestLifePage(t *testing.T) {
	i, s, l := lived(t, 3, airAt(40, 55))
	raw := s.Get("/instruments/"+visits.Serial+"/life", 200)
	page := html.UnescapeString(raw)
	h := l.Neck.HumidityOf()
	if !h.Known() || (h.Is == life.Rises) != (i.PerPercent > 0) {
		t.Fatalf("planted %+.4f, told %+v", i.PerPercent, h)
	}
	webtest.Wants(t, page, "Its relief "+string(h.Is)+" by", "for each 10 % RH of damper air", "In air like this shop's in January (40 % RH on the average of 10 days) expect a relief of",
		"in July (55 % RH", "Visit 6", "Wished: louder, heavier strings.", "strings: acoustic, .013 to .056", "truss rod, tighten 1/4 turn", "Result: plays as wished.",
		"Its relief changes by +", "told from 2 changes of its strings, measured before and after with nothing else done between", "the air of fewer than 5 days is known")
	for _, month := range []struct {
		name string
		air  float64
	}{{"January", 40}, {"July", 55}} {
		e := l.Neck.ExpectAt(h, month.air)
		truth := i.Relief(month.air)
		if truth < e.Low || truth > e.High || math.Abs(truth-e.MM) > 0.03 {
			t.Errorf("%s: planted %.3f, expected %.3f (%.3f to %.3f)", month.name, truth, e.MM, e.Low, e.High)
		}
		webtest.Wants(t, page, fmt.Sprintf("in %s (%.0f %% RH on the average of 10 days) expect a relief of %+.2f mm", month.name, month.air, e.MM))
	}
	asked := s.Get("/instruments/"+visits.Serial+"/life?humidity=50", 200)
	webtest.Wants(t, asked, "In air of 50 % RH expect a relief of")
	webtest.Wants(t, s.Get("/instruments/"+visits.Serial+"/life?humidity=20", 200), "Nothing is said of air of 20 % RH: it was measured from")
	webtest.Wants(t, s.Get("/instruments/"+visits.Serial+"/life?humidity=wet", 200), "allowed: from 0 to 100 % RH")
	c := webtest.Drawn(t, raw, "life")
	if len(c.Panes) != 2 || len(c.Series) != 5 || len(c.Bands) != 3 || len(c.Marks) < 4 {
		t.Errorf("chart of %d panes, %d series, %d bands, %d marks", len(c.Panes)+1, len(c.Series), len(c.Bands), len(c.Marks))
	}
	if n := len(c.Series[0].Points); n != len(l.Neck.Measured) {
		t.Errorf("%d points of %d measurements", n, len(l.Neck.Measured))
	}
	webtest.Wants(t, s.Get("/instruments/"+visits.Serial, 200), "13 earlier visits", "Over the years", "Its relief "+string(h.Is)+" by")
}

// Of months that are drier than the neck was ever measured in nothing is said but that.
func TestLifeOutOfReach(t *testing.T) {
	_, s, l := lived(t, 1, airAt(20, 50))
	page := s.Get("/instruments/"+visits.Serial+"/life", 200)
	h := l.Neck.HumidityOf()
	if h.Driest <= 20 {
		t.Fatalf("%+v", h)
	}
	webtest.Wants(t, page, "Nothing is said of January (20 % RH): it was measured from")
	if strings.Contains(page, "in January (20 % RH on the average of 10 days) expect") {
		t.Error("a relief for air that it was never measured in")
	}
}

func TestLifeOfNobody(t *testing.T) {
	_, s, _ := lived(t, 1, nil)
	s.Get("/instruments/nobody/life", 404)
}
