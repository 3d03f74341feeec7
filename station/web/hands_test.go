package web

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"html"
	"math/rand/v2"
	"net/http"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/export"
	"sagitta/inspect"
	"sagitta/station/bench/benchtest"
	"sagitta/station/web/webtest"
)

var shiftNecks = flag.Int("shift-necks", 4, "necks that two people measure at one bench, handing it over at random")

// Two people share a bench for a shift, handing it over by badge at random places, in the middle of necks too. Every reading, every rework step and
// every decision is whose badge was scanned last: in the record, in the workbook and in each neck's story.
func TestShiftOfTwoAtOneBench(t *testing.T) {
	b := benchtest.Open(t)
	ctx := t.Context()
	const other = "Ossian Reed"
	badges := map[string]string{benchtest.Inspector: "WH-01", other: "OR-01"}
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	must(addPeople(ctx, b, other, badges))
	var serials []string
	for i := range *shiftNecks {
		serials = append(serials, fmt.Sprintf("QM-2611-1%03d", i))
	}
	on := b.Snapshot().Batch
	if _, err := b.Record.AddNecks(ctx, benchtest.Manager, on.ID, serials); err != nil {
		t.Fatal(err)
	}
	b.SignsOn()
	hand, dice := "", rand.New(rand.NewPCG(7, 11))
	take := func(name string) {
		t.Helper()
		if name == hand {
			return
		}
		must(b.Entry(ctx, badges[name], "mm"))
		hand = name
	}
	hands := 0
	maybe := func() {
		if hand == "" || dice.IntN(8) == 0 {
			next := []string{benchtest.Inspector, other}[dice.IntN(2)]
			if next != hand {
				hands++
			}
			take(next)
		}
	}
	took := map[string][]string{}  // by serial number, whose each reading is, in order
	worked := map[string]string{}  // whose the rework step is
	decided := map[string]string{} // whose the decision is
	for i, serial := range serials {
		maybe()
		neck := benchtest.Neck{Relief: 0.26 + 0.005*float64(i%7)} // no two in a row alike
		if i%3 == 1 {
			neck.Relief = 0.46 // too much
		}
		must(b.Entry(ctx, serial, "mm"))
		for b.Snapshot().Next >= 0 {
			maybe()
			before := b.Snapshot().Taken
			b.Press(neck)
			for range b.Snapshot().Taken - before {
				took[serial] = append(took[serial], hand)
			}
		}
		if b.Snapshot().Verdict.Disposition == inspect.Rework {
			if maybe(); i%2 == 0 {
				must(b.Decide(ctx, inspect.Scrap, hand, "a trial of the bench"))
				decided[serial] = hand
			} else {
				must(b.RecordRework(ctx, batch.ReworkAction{What: inspect.StepRod, Direction: "tighten", Turns: 0.125}))
				worked[serial] = hand
			}
		}
		must(b.Clear(ctx))
	}
	all, wrong := 0, 0
	differs := func(got, want, what string) {
		if all++; got != want {
			wrong++
			t.Errorf("%s: %q, want %q", what, got, want)
		}
	}
	book := readingsBy(t, b, on.Number)
	s := &shop{&webtest.Shop{TB: t, Rec: b.Record}}
	var err error
	if s.Handler, err = New(Options{Bench: b.Bench, Record: b.Record, Lines: noLines{}}); err != nil {
		t.Fatal(err)
	}
	for _, serial := range serials {
		neck, err := b.Record.Neck(ctx, serial)
		must(err)
		done, err := b.Record.Inspections(ctx, neck.ID)
		must(err)
		rows, err := b.Record.Readings(ctx, done[0].ID)
		must(err)
		if len(rows) != len(took[serial]) || len(book[serial]) != len(rows) {
			t.Fatalf("%s: %d readings in the record, %d in the workbook, %d taken", serial, len(rows), len(book[serial]), len(took[serial]))
		}
		points := map[string][]batch.Point{}
		var order []string
		for i, r := range rows {
			differs(r.By, took[serial][i], fmt.Sprintf("%s, reading %d, in the record", serial, i+1))
			differs(book[serial][i], took[serial][i], fmt.Sprintf("%s, reading %d, in the workbook", serial, i+1))
			if r.GaugeID != "" {
				if k := r.By + "\n" + r.GaugeID; points[k] == nil {
					order = append(order, k)
				}
				points[r.By+"\n"+r.GaugeID] = append(points[r.By+"\n"+r.GaugeID], r.Point)
			}
		}
		story := html.UnescapeString(s.Get("/necks/"+serial+"/story.txt", http.StatusOK))
		story = strings.Join(strings.Fields(story), " ")
		if len(order) > 2 { // both took readings
			for _, k := range order {
				by, _, _ := strings.Cut(k, "\n")
				says := fmt.Sprintf("(%s).", tell.Taken(points[k]))
				if !strings.Contains(story, "Measured by "+by) || !strings.Contains(story, says) {
					wrong++
					t.Errorf("%s: the story does not say that %s took %s", serial, by, says)
				}
				all++
			}
		}
		v, err := b.Record.LatestVerdict(ctx, done[0].ID)
		must(err)
		differs(v.DecidedBy, decided[serial], serial+", decided")
		steps, err := b.Record.Rework(ctx, neck.ID)
		must(err)
		if worked[serial] != "" {
			differs(steps[0].By, worked[serial], serial+", rework")
		}
	}
	if hands < *shiftNecks {
		t.Errorf("the bench changed hands %d times only", hands)
	}
	t.Logf("%d necks, the bench changed hands %d times: %d attributions, %d wrong", len(serials), hands, all, wrong)
}

// addPeople enters the other person and gives both their badges.
func addPeople(ctx context.Context, b *benchtest.Bench, other string, badges map[string]string) error {
	if _, err := b.Record.AddPerson(ctx, "", other, batch.Inspector); err != nil {
		return err
	}
	for name, code := range badges {
		if err := b.Record.SetBadge(ctx, "", name, code); err != nil {
			return err
		}
	}
	return nil
}

// readingsBy are, by serial number, whose each reading is by a batch's workbook, in their order.
func readingsBy(t *testing.T, b *benchtest.Bench, number string) map[string][]string {
	t.Helper()
	var out bytes.Buffer
	if err := export.Workbook(t.Context(), &out, b.Record, number, export.Options{Unit: "mm", Location: time.Local, Now: time.Now(), Station: "bench"}); err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(&out)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	by := map[string][]string{}
	for n := 1; ; n++ {
		sheet := "Readings"
		if n > 1 {
			sheet += " " + strconv.Itoa(n)
		}
		rows, err := f.GetRows(sheet)
		if err != nil {
			return by
		}
		column := map[string]int{}
		for _, row := range rows {
			if len(column) == 0 {
				for i, head := range row {
					column[head] = i
				}
				if _, is := column["Serial number"]; !is {
					column = map[string]int{}
				}
				continue
			}
			serial := row[column["Serial number"]]
			by[serial] = append(by[serial], row[column["By"]])
		}
	}
}
