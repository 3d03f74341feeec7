package visits

import (
	"context"
	"math"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/history"
	"sagitta/batch/life"
	"sagitta/batch/record"
	"sagitta/batch/tell"
	"sagitta/inspect/unit"
)

// lifeOf writes an invented instrument's life into a record and reads it back.
func lifeOf(t *testing.T, seed uint64) (*Instrument, *life.Life, *record.DB) {
	t.Helper()
	ctx := context.Background()
	i, err := New(time.Date(2026, 11, 20, 18, 0, 0, 0, time.Local), seed)
	if err != nil {
		t.Fatal(err)
	}
	clock := i.Began()
	db, err := record.Open(filepath.Join(t.TempDir(), "record.db"), record.Options{Station: "bench 1", Filling: true, Now: func() time.Time { return clock }})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	if _, err := db.AddPerson(ctx, history.Manager, history.Manager, batch.QualityManager); err != nil {
		t.Fatal(err)
	}
	if err := i.Write(ctx, db, history.Manager, &clock); err != nil {
		t.Fatal(err)
	}
	l, err := life.Read(ctx, db, Serial)
	if err != nil {
		t.Fatal(err)
	}
	return i, l, db
}

// What is told of the invented instrument is what was planted in it: the sign of its slope, an interval that holds it, what it gives to
// other strings; and of no seed another sign than its own.
func TestInstrumentIsToldAsPlanted(t *testing.T) {
	held, gives, signs := 0, 0, 0
	const seeds = 6
	for seed := range uint64(seeds) {
		i, l, _ := lifeOf(t, seed)
		if len(l.Stays) != lifeVisits {
			t.Fatalf("%d visits", len(l.Stays))
		}
		// It came with its first set, and was given the heavy one in its sixth visit.
		if first, sixth := l.Stays[0], l.Stays[5]; first.Wore != light || len(first.Fitted) != 0 || sixth.Wore != light || len(sixth.Fitted) != 1 || sixth.Fitted[0].Name != heavy {
			t.Errorf("seed %d: first visit %q %v, sixth %q %v", seed, first.Wore, first.Fitted, sixth.Wore, sixth.Fitted)
		}
		h := l.Neck.HumidityOf()
		words := tell.LifeHumidity(h, unit.Millimetre)
		if h.Known() {
			signs++
			if (h.Is == life.Rises) != (i.PerPercent > 0) {
				t.Errorf("seed %d, planted %+.4f mm per %%: %s", seed, i.PerPercent, words)
			}
		}
		if h.Low <= i.PerPercent && i.PerPercent <= h.High {
			held++
		}
		g := l.Neck.GivingOf()
		if g.Pairs != 2 {
			t.Errorf("seed %d: %+v", seed, g)
		}
		if g.Low <= i.PerN && i.PerN <= g.High {
			gives++
		}
		t.Log(words, tell.LifeHumidityHow(h, unit.Millimetre), tell.LifeGiving(g, unit.Millimetre))
		if truth := strings.Join(i.Truth(), " "); !strings.Contains(truth, Serial) || math.Abs(i.PerN) < 0.0005 {
			t.Errorf("truth %q", truth)
		}
	}
	if held < seeds-1 || gives < seeds-1 || signs < seeds-1 {
		t.Errorf("of %d necks %d intervals hold the slope, %d what it gives, %d signs are told", seeds, held, gives, signs)
	}
}
