package command

import (
	"context"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/history/visits"
	"sagitta/batch/life"
	"sagitta/batch/record"
	"sagitta/batch/tell"
	"sagitta/inspect/unit"
)

// TestInstrumentCommand says at the terminal what the page says, and what was planted; of a number that is not known it says that.
func TestInstrumentCommand(t *testing.T) {
	const who = "Ilse Marchetti-Roe"
	ctx, dir := context.Background(), t.TempDir()
	i, err := visits.New(time.Date(2026, 11, 20, 18, 0, 0, 0, time.Local), 2)
	if err != nil {
		t.Fatal(err)
	}
	clock := i.Began()
	db, err := record.Open(filepath.Join(dir, "record.db"), record.Options{Station: "bench 1", Filling: true, Now: func() time.Time { return clock }})
	if err != nil {
		t.Fatal(err)
	}
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
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	code, text, errs := sagitta(t, "", "instrument", visits.Serial, "--data", dir)
	if code != exitDone {
		t.Fatalf("it ends with %d: %s", code, errs)
	}
	does := "Its relief rises by"
	if i.PerPercent < 0 {
		does = "Its relief falls by"
	}
	for _, want := range []string{does, tell.LifeGiving(l.Neck.GivingOf(), unit.Millimetre), "\nVisit 1, ", "\nVisit 16, ", "Wished: louder, heavier strings.",
		"What to expect by the month is not said: of no month the air of 5 days is known."} {
		if !strings.Contains(text, want) {
			t.Errorf("it does not say %q:\n%s", want, text)
		}
	}
	if code, _, errs := sagitta(t, "", "instrument", "nobody", "--data", dir); code != exitFailed || !strings.Contains(errs, "nobody") {
		t.Errorf("an unknown number ends with %d: %s", code, errs)
	}
}
