package alarm

import (
	"context"
	"fmt"
	"iter"
	"math"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/spc"
	"sagitta/batch/tell"
	"sagitta/inspect"
)

// memory is a record of one batch, in which every neck has a value of each characteristic.
type memory struct {
	Record
	of     []batch.Named
	values [][]float64 // by neck
}

func (m *memory) Base(context.Context, string) (batch.ChartBase, error) {
	return batch.ChartBase{First: 1, Last: batch.UsualBase}, nil
}

func (m *memory) Characteristics(context.Context, batch.Scope, string, batch.Split) (rows []batch.CharacteristicRow, err error) {
	for _, n := range m.of {
		rows = append(rows, batch.CharacteristicRow{Named: n, Moments: batch.Moments{N: len(m.values)}})
	}
	return rows, nil
}

func (m *memory) FirstValues(_ context.Context, _ string, newest bool, necks int) iter.Seq2[batch.FirstValue, error] {
	from, to := 0, min(necks, len(m.values))
	if newest {
		from, to = max(0, len(m.values)-necks), len(m.values)
	}
	return func(yield func(batch.FirstValue, error) bool) {
		for i := from; i < to; i++ {
			for k, n := range m.of {
				if !yield(batch.FirstValue{Named: n, Serial: serialOf(i), Value: m.values[i][k]}, nil) {
					return
				}
			}
		}
	}
}

func serialOf(i int) string { return fmt.Sprintf("QM-2611-%04d", i+1) }

// inspected watches a batch of so many necks, whose characteristics move by so many sigmas from neck at on (from 0); it returns the
// alarms, a matter once while it goes on.
func inspected(t *testing.T, r *rand.Rand, necks, at int, by float64) (alarms []batch.Alarm) {
	t.Helper()
	m := &memory{of: []batch.Named{{Name: inspect.Relief, Track: "bass", Unit: "mm"}, {Name: inspect.Relief, Track: "treble", Unit: "mm"}, {Name: inspect.Twist, Unit: "deg"}}}
	spec := (&inspect.Spec{Limits: []inspect.Limit{{Characteristic: inspect.Relief}, {Characteristic: inspect.Twist}}}).WithDefaults()
	w := watch{rec: m}
	last := map[string]int{}
	for i := range necks {
		values := make([]float64, len(m.of))
		for k := range values {
			values[k] = 0.3 + 0.02*r.NormFloat64()
			if i >= at {
				values[k] += 0.02 * by
			}
		}
		m.values = append(m.values, values)
		found, err := w.signals(t.Context(), batch.Batch{ID: "b", Number: "QM-2611"}, spec, batch.Alarm{BatchID: "b", Seen: i + 1}, serialOf(i))
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range found {
			if before, ok := last[a.Subject]; !ok || i > before+batch.QuietFor {
				alarms = append(alarms, a)
			}
			last[a.Subject] = i
		}
	}
	return alarms
}

// Three characteristics of steady batches together give no more alarms than their words say; no words say that anything drifts. Where
// all move by one sigma at the 60th neck most batches have one, and by two sigmas all.
func TestAlarmsOfPlantedTruths(t *testing.T) {
	r := rand.New(rand.NewPCG(41, 41))
	const batches, necks = 120, 175
	false3 := 0.0
	said := regexp.MustCompile(`The 3 characteristics watched give one false alarm in about (\d+) necks of a steady batch, or more\.$`)
	for range batches {
		for _, a := range inspected(t, r, necks, necks, 0) {
			false3++
			m := said.FindStringSubmatch(a.LookAt)
			if m == nil {
				t.Fatalf("an alarm without its price: %s", a.LookAt)
			}
			if every, _ := strconv.Atoi(m[1]); every < spc.Between {
				t.Errorf("said: one in %d necks", every)
			}
			if strings.Contains(a.Words+a.LookAt, "drifts") || strings.Contains(a.Words+a.LookAt, "has shifted") {
				t.Errorf("a steady batch: %s %s", a.Words, a.LookAt)
			}
		}
	}
	stated := float64(batches*(necks-batch.UsualBase)) / spc.Between
	if se := math.Sqrt(2 * stated); false3 > stated+4*se {
		t.Errorf("%.0f false alarms in %d steady batches, stated %.1f at most", false3, batches, stated)
	}
	for _, c := range []struct{ by, least float64 }{{1, 0.5}, {2, 0.95}} {
		seen := 0.0
		for range batches / 4 {
			if len(inspected(t, r, necks, 59, c.by)) > 0 {
				seen++
			}
		}
		if share := seen / (batches / 4); share < c.least {
			t.Errorf("a shift of %v sigma at neck 60: alarms in %.2f of batches, want %.2f", c.by, share, c.least)
		}
	}
}

// Of batches that meet their plan exactly, in the yield and in two reasons, no more than one in a hundred ever has an alarm, as the
// words say; of those with half of the planned yield all have, soon.
func TestPlanAlarmsOfPlantedTruths(t *testing.T) {
	r := rand.New(rand.NewPCG(43, 43))
	plan := &inspect.Plan{FirstPassPercent: new(80.0), Reasons: []inspect.PlannedReason{{Characteristic: inspect.Relief, MostPercent: 12}, {Characteristic: inspect.Twist, MostPercent: 8}}}
	ever := func(yield float64) (neck int, words string) {
		c := batch.Counts{Reasons: []batch.Reason{{Name: inspect.Relief}, {Name: inspect.Twist}}}
		for c.Inspected < 300 {
			c.Inspected++
			switch v := r.Float64(); {
			case v < yield:
				c.FirstPass++
			case v < yield+0.6*(1-yield):
				c.Reasons[0].Necks++
			default:
				c.Reasons[1].Necks++
			}
			if short := shortfalls(plan, inspect.DefaultLeastNecks, c); len(short) > 0 {
				words, _ = tell.YieldAlarm("QM-2611", short[0])
				return c.Inspected, words
			}
		}
		return 0, ""
	}
	const batches = 1500
	alarms := 0
	for range batches {
		if neck, words := ever(0.8); neck > 0 {
			alarms++
			if !strings.HasSuffix(words, "Of 100 batches that meet their plan, 1 at most is ever said to be below it.") {
				t.Errorf("the words are %q", words)
			}
		}
	}
	if most := spc.Alpha*batches + 4*math.Sqrt(spc.Alpha*batches); float64(alarms) > most {
		t.Errorf("%d of %d batches at their plan had an alarm, stated %.0f", alarms, batches, spc.Alpha*batches)
	}
	for range 100 {
		if neck, _ := ever(0.4); neck == 0 || neck > 80 {
			t.Errorf("half of the planned yield: an alarm at neck %d", neck)
		}
	}
}
