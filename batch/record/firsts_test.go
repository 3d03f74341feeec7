package record

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// randomHistory puts two batches through inspections, remeasures, second verdicts, decisions by a person, rework, climates
// noted late and stories from elsewhere.
func randomHistory(t *testing.T, seed uint64, steps int) *shop {
	random := rand.New(rand.NewPCG(seed, seed))
	s := newShop(t, serials(12)...)
	var other []string
	for i := range 8 {
		other = append(other, fmt.Sprintf("QM-2612-%04d", i+1))
	}
	b2 := must(s.OpenBatch(s.ctx, "Mara Quill", batch.Batch{Number: "QM-2612", Spec: s.spec}, other))(t)
	all := append(serials(12), other...)
	inspectors := []string{"Ossian Reed", "Wren Halloway"}
	for step := range steps {
		serial := all[random.IntN(len(all))]
		n := s.neck(serial)
		past := must(s.Inspections(s.ctx, n.ID))(t)
		if len(past) == 0 || past[len(past)-1].State == batch.Finished || past[len(past)-1].State == batch.Abandoned {
			if len(past) > 0 && past[len(past)-1].State == batch.Finished && random.IntN(4) == 0 { // refused where work followed
				if err := s.SetInspectionState(s.ctx, "x", past[len(past)-1].ID, batch.Open, "taken back"); err != nil && !errors.Is(err, ErrState) {
					t.Fatal(err)
				}
				continue
			}
			if len(past) > 0 && past[len(past)-1].State == batch.Finished && random.IntN(3) == 0 {
				v := verdictOf(past[len(past)-1], inspect.Concession, 0.3+0.05*random.NormFloat64(), 0.3)
				v.DecidedBy, v.Reason = "Mara Quill", "released"
				must(s.AppendVerdict(s.ctx, v))(t)
				continue
			}
			in := must(s.StartInspection(s.ctx, batch.Inspection{NeckID: n.ID, Inspector: inspectors[random.IntN(2)], Posture: "playing"}))(t)
			for fret := range random.IntN(3) {
				r := crown(in, fret+1, 0.1)
				r.GaugeID = []string{"g1", "g2"}[random.IntN(2)]
				must(s.AppendReading(s.ctx, r))(t)
			}
			continue
		}
		in := past[len(past)-1]
		relief := func() float64 { return 0.3 + 0.05*random.NormFloat64() }
		switch random.IntN(8) {
		case 0:
			s.ok(s.SetInspectionState(s.ctx, "x", in.ID, batch.Abandoned, "wrong neck"))
		case 1:
			s.ok(s.SetClimate(s.ctx, "x", in.ID, inspect.Climate{HumidityPercent: new(30 + 40*random.Float64())}))
		case 2:
			s.verdict(in, inspect.Remeasure, relief(), relief())
		default:
			s.verdict(in, []inspect.Disposition{inspect.Pass, inspect.Rework, inspect.Repair}[random.IntN(3)], relief(), relief())
		}
		if step == steps/2 {
			keepStories(t, s, b2.ID, "QM-2612-9", 5, random)
		}
	}
	return s
}

// keepStories takes in n necks, the odd ones reworked once.
func keepStories(t testing.TB, s *shop, batchID, prefix string, n int, random *rand.Rand) batch.Import {
	t.Helper()
	from := func(yield func(batch.Story, error) bool) {
		for i := range n {
			at := time.Date(2025, 3, 1+i%20, 9, i%60, 0, 0, time.UTC)
			story := batch.Story{Serial: fmt.Sprintf("%s%03d", prefix, i)}
			for try := range 1 + i%2 {
				d := inspect.Rework
				if try == i%2 {
					d = inspect.Pass
				}
				v := verdictOf(batch.Inspection{Serial: story.Serial}, d, 0.3+0.05*random.NormFloat64(), 0.3)
				v.At = at.Add(time.Duration(try)*time.Hour + time.Minute)
				a := batch.StoryAttempt{Inspector: "Edda Falk", StartedAt: at.Add(time.Duration(try) * time.Hour), Posture: "playing",
					Climate: inspect.Climate{HumidityPercent: new(44.0), TemperatureC: new(21.0)}, Gauges: []batch.GaugeUse{{Kind: batch.Crown, GaugeID: "g1"}}}
				if i%3 == 0 {
					before := v
					before.Disposition, before.At = inspect.Remeasure, v.At.Add(-time.Second)
					a.Verdicts = append(a.Verdicts, before)
				}
				a.Verdicts = append(a.Verdicts, v)
				if d == inspect.Rework {
					a.Rework = []batch.ReworkAction{{At: v.At, By: "Edda Falk", What: "truss rod", Turns: 0.125, Direction: "tighten"}}
				}
				story.Attempts = append(story.Attempts, a)
			}
			if !yield(story, nil) {
				return
			}
		}
	}
	return must(s.AppendStories(s.ctx, "Mara Quill", batch.Import{BatchID: batchID, Origin: batch.Imported, Source: prefix, SHA256: sumOf([]byte(prefix))}, from))(t)
}

// recount is what the sums must be, by a slow count over what the record says of each neck.
type recount struct {
	shares map[batch.Dimension]map[string]batch.Share
	values map[batch.Named][]float64
	near   map[batch.Named]int
}

func slowCount(s *shop, scope batch.Scope) recount {
	s.Helper()
	r := recount{map[batch.Dimension]map[string]batch.Share{}, map[batch.Named][]float64{}, map[batch.Named]int{}}
	for _, b := range must(s.Batches(s.ctx))(s) {
		if scope.BatchID != "" && b.ID != scope.BatchID {
			continue
		}
		for n, err := range s.EachNeck(s.ctx, b.ID) {
			s.ok(err)
			var newest inspect.Disposition
			var first *batch.InspectionReport
			for i := range n.Inspections {
				if v := n.Inspections[i].Verdict; v != nil { // of one that was opened again there is none
					newest = v.Disposition
					if first == nil && v.Disposition != inspect.Remeasure {
						first = &n.Inspections[i]
					}
				}
			}
			if first == nil {
				continue
			}
			count := func(d batch.Dimension, value string) {
				if r.shares[d] == nil {
					r.shares[d] = map[string]batch.Share{}
				}
				x := r.shares[d][value]
				x.Value = value
				x.Inspected++
				if first.Verdict.Disposition == inspect.Pass {
					x.FirstPass++
				}
				if newest == inspect.Pass {
					x.FinalPass++
				}
				r.shares[d][value] = x
			}
			at := first.StartedAt.Local()
			count(batch.ByAll, "")
			count(batch.ByInspector, first.Inspector)
			count(batch.ByStation, first.Station)
			count(batch.ByHour, at.Format("15"))
			count(batch.ByWeekday, map[time.Weekday]string{0: "7", 1: "1", 2: "2", 3: "3", 4: "4", 5: "5", 6: "6"}[at.Weekday()])
			humid := ""
			if h := first.Climate.HumidityPercent; h != nil {
				humid = strconv.Itoa(int(math.Floor(*h/10)) * 10)
			}
			count(batch.ByHumidity, humid)
			gauges := map[string]bool{}
			for _, x := range must(s.Readings(s.ctx, first.ID))(s) {
				if x.Seq <= first.Verdict.LastSeq {
					gauges[x.GaugeID] = true
				}
			}
			if strings.HasPrefix(n.Serial, "QM-2612-9") {
				gauges["g1"] = true
			}
			if len(gauges) == 0 {
				gauges[""] = true
			}
			for g := range gauges {
				count(batch.ByGauge, g)
			}
			failing, out, outNear, near := map[string]bool{}, 0, 0, 0
			for _, c := range first.Verdict.Result.Characteristics {
				name := batch.NameOf(c)
				r.values[name] = append(r.values[name], *c.Value)
				inside := min(*c.Value-*c.Lower, *c.Upper-*c.Value)
				if math.Abs(inside) < 2**c.U {
					r.near[name]++
					near++
				}
				if c.Zone == inspect.Nonconforming {
					failing[c.Name] = true
					out++
					if math.Abs(inside) < 2**c.U {
						outNear++
					}
				}
			}
			for name := range failing {
				count(batch.ByFailing, name)
			}
			if out > 0 && first.Verdict.Disposition != inspect.Pass {
				count(batch.ByReason, "relief")
			}
			if out > 0 && out == outNear || out == 0 && near > 0 {
				count(batch.ByNear, "near")
			}
		}
	}
	return r
}

// What is kept beside the rows equals a slow count over them, after any history.
func TestSumsEqualASlowCount(t *testing.T) {
	for seed := range uint64(2) {
		s := randomHistory(t, 40+seed, 250)
		check := func() {
			t.Helper()
			for _, scope := range []batch.Scope{{}, {BatchID: s.batch.ID}} {
				want := slowCount(s, scope)
				for _, d := range []batch.Dimension{batch.ByAll, batch.ByInspector, batch.ByStation, batch.ByGauge, batch.ByHour, batch.ByWeekday,
					batch.ByHumidity, batch.ByReason, batch.ByFailing, batch.ByNear} {
					got := must(s.Breakdown(s.ctx, scope, d))(t)
					var shares []batch.Share
					for _, x := range want.shares[d] {
						shares = append(shares, x)
					}
					slices.SortFunc(shares, func(a, b batch.Share) int { return cmp.Compare(a.Value, b.Value) })
					if !reflect.DeepEqual(got, shares) {
						t.Fatalf("seed %d, by %q: got %+v, want %+v", seed, d, got, shares)
					}
				}
				rows := must(s.Characteristics(s.ctx, scope, "", batch.SplitNone))(t)
				if len(rows) != len(want.values) {
					t.Fatalf("%d characteristics, want %d", len(rows), len(want.values))
				}
				for _, row := range rows {
					values := want.values[row.Named]
					mean, sd := twoPass(values)
					gotSD, _ := row.SD()
					if row.N != len(values) || math.Abs(row.Mean-mean) > 1e-12 || math.Abs(gotSD-sd) > 1e-12 || row.Near != want.near[row.Named] {
						t.Errorf("%+v: want n %d, mean %.15g, sd %.15g, near %d", row, len(values), mean, sd, want.near[row.Named])
					}
				}
			}
		}
		check()
		// A record from before the sums has none of them; opening it makes them.
		for _, q := range []string{`DELETE FROM first_tally`, `DELETE FROM characteristic_tally`, `DELETE FROM neck_first`,
			`INSERT INTO uncounted SELECT neck_id FROM neck_status WHERE judged > 0`} {
			must(s.writer.Exec(q))(t)
		}
		s.ok(s.Close())
		s.DB = must(Open(s.path, Options{Station: "bench 1", Now: clock()}))(t)
		check()
		// A story's status is what would be worked out from its rows.
		before := must(statuses(s))(t)
		s.ok(s.write(s.ctx, "refreshing", func(x *tx) error {
			for _, n := range before {
				if err := x.refreshNeck(n[0].(string)); err != nil {
					return err
				}
			}
			return nil
		}))
		if after := must(statuses(s))(t); !reflect.DeepEqual(before, after) {
			t.Errorf("the status of necks is not what their rows say")
		}
		check()
		s.ok(s.VerifyAudit(s.ctx))
		if bad := must(list(s.ctx, s.reader, func(r scanner) (x string, err error) { return x, r.Scan(&x, new(any), new(any), new(any)) }, `PRAGMA foreign_key_check`))(t); len(bad) > 0 {
			t.Errorf("rows without what they refer to: %v", bad)
		}
	}
}

// statuses is the whole of neck_status.
func statuses(s *shop) ([][]any, error) {
	return list(s.ctx, s.reader, func(r scanner) ([]any, error) {
		row := make([]any, 12)
		into := make([]any, 12)
		for i := range row {
			into[i] = &row[i]
		}
		return row, r.Scan(into...)
	}, `SELECT * FROM neck_status ORDER BY neck_id`)
}

// twoPass is the textbook mean and standard deviation.
func twoPass(values []float64) (mean, sd float64) {
	for _, v := range values {
		mean += v / float64(len(values))
	}
	for _, v := range values {
		sd += (v - mean) * (v - mean) / float64(len(values)-1)
	}
	return mean, math.Sqrt(sd)
}
