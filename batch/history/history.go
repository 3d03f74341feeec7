// Package history invents the past of a shop: necks over two years with climates, drifting processes and planted
// disturbances, judged by the decision rule of their specification. It holds verdicts and no readings. The same seed gives
// the same values.
package history

import (
	"fmt"
	"iter"
	"math"
	"math/rand/v2"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// Options say what to invent.
type Options struct {
	Necks int       // 1 or more
	End   time.Time // the history ends here, two years after its start
	Seed  uint64
	Batch int // necks of a batch; 0: 300 to 2500
}

const (
	years     = 2
	perBatch  = 2500 // necks at most
	mostBench = 3
	settling  = 10               // days in which rework ends before a batch is closed
	pace      = 40 * time.Second // the quickest a bench inspects
)

// Shop is an invented shop with its plan of batches.
type Shop struct {
	Start, End time.Time
	Specs      [][]byte      // TOML, oldest first of each model
	Gauges     []batch.Gauge // of all benches
	Inspectors []string
	Batches    []Batch // in order of opening

	opt     Options
	benches int
	step    time.Duration // between two necks of a bench, in working time
	days    calendar
	weather []climate // of each day
	rota    [][]pair  // who works, of each day and bench
	planted plants
}

// Batch is one batch of the plan.
type Batch struct {
	Number, SpecName, Revision string
	Opened, Closes             time.Time // after the history's end where it stays open
	Necks                      int

	model *model
	first int // neck of its bench, counted over the bench's batches
	bench int
}

type climate struct{ temperature, humidity float64 }

var inspectors = []string{"Wren Halloway", "Corin Ashdown", "Maud Tesseler", "Piet Vandersloot", "Ada Quennell", "Jory Penhale"}

// New plans a shop's past.
func New(opt Options) (*Shop, error) {
	if opt.Necks < 1 {
		return nil, fmt.Errorf("found %d necks to invent, allowed are 1 or more", opt.Necks)
	}
	if opt.Batch < 0 {
		return nil, fmt.Errorf("found %d necks to a batch, allowed are 0 (as it comes) or more", opt.Batch)
	}
	s := &Shop{opt: opt, End: opt.End.Truncate(time.Second), Inspectors: inspectors}
	s.Start = time.Date(s.End.Year()-years, s.End.Month(), s.End.Day(), shiftStarts[early], 0, 0, 0, s.End.Location())
	random := rand.New(rand.NewPCG(opt.Seed, 1))
	s.days = newCalendar(s.Start, s.End)
	s.invent(random)
	working := time.Duration(len(s.days.open)) * dayWork
	s.benches = min(mostBench, 1+int(time.Duration(opt.Necks)*pace/working))
	s.step = working * time.Duration(s.benches) / time.Duration(opt.Necks)
	for b := range s.benches {
		profile, height := gaugesOf(b)
		s.Gauges = append(s.Gauges, profile, height)
	}
	staff := rand.New(rand.NewPCG(opt.Seed, 3))
	s.rota = roster(s.days.span, s.benches, staff)
	s.planted = s.plant(staff)
	for i := range models {
		for _, r := range models[i].revisions {
			text, err := models[i].text(r)
			if err != nil {
				return nil, err
			}
			s.Specs = append(s.Specs, text)
		}
	}
	s.plan(random)
	return s, nil
}

// invent makes the weather: seasons with a wandering day.
func (s *Shop) invent(random *rand.Rand) {
	wander := 0.0
	for d := range s.days.span {
		wander = 0.8*wander + 2*random.NormFloat64()
		season := math.Sin(2 * math.Pi * (float64(s.Start.AddDate(0, 0, d).YearDay()) - 110) / 365) // damp in summer, dry in winter
		s.weather = append(s.weather, climate{temperature: round(21 + 1.5*season + 0.3*wander/2), humidity: math.Round(10*min(75, max(22, 46+11*season+wander))) / 10})
	}
}

// Seed is what it was invented from.
func (s *Shop) Seed() uint64 { return s.opt.Seed }

// plan deals the necks into batches, bench by bench in turn.
func (s *Shop) plan(random *rand.Rand) {
	done := make([]int, s.benches)
	numbers := map[string]int{}
	for left, i := s.opt.Necks, 0; left > 0; i++ {
		n := min(left, 300+random.IntN(perBatch-300+1))
		if s.opt.Batch > 0 {
			n = min(left, s.opt.Batch)
		}
		bench := 0
		for b := range done { // the one that is free first
			if done[b] < done[bench] {
				bench = b
			}
		}
		opened := s.moment(done[bench])
		m := &models[random.IntN(len(models))]
		share := float64(opened.Sub(s.Start)) / float64(s.End.Sub(s.Start))
		revision := m.revisions[0]
		for _, r := range m.revisions {
			if share >= r.from {
				revision = r
			}
		}
		month := opened.Format("0601")
		numbers[month]++
		s.Batches = append(s.Batches, Batch{Number: fmt.Sprintf("QM-%s-%02d", month, numbers[month]), SpecName: m.name, Revision: revision.name,
			Opened: opened, Closes: s.moment(done[bench]+n).AddDate(0, 0, settling), Necks: n, model: m, first: done[bench], bench: bench})
		done[bench] += n
		left -= n
	}
}

// moment is when a bench begins its neck number n.
func (s *Shop) moment(n int) time.Time { return s.days.at(time.Duration(n) * s.step) }

// day is the number of a moment's day, of the weather and of who works.
func (s *Shop) day(at time.Time) int { return min(max(s.days.number(at), 0), len(s.weather)-1) }

// Stories are the necks of a batch, which is judged by spec.
func (s *Shop) Stories(b Batch, spec *inspect.Spec) iter.Seq2[batch.Story, error] {
	return func(yield func(batch.Story, error) bool) {
		empty, err := templateOf(spec)
		if err != nil {
			yield(batch.Story{}, err)
			return
		}
		w := &works{shop: s, batch: b, spec: spec, empty: empty, random: rand.New(rand.NewPCG(s.opt.Seed, uint64(b.bench)<<40|uint64(b.first)|1<<60))}
		w.run = 0.012 * w.random.NormFloat64()
		for i := range b.Necks {
			story, err := w.neck(i)
			if !yield(story, err) || err != nil {
				return
			}
		}
	}
}
