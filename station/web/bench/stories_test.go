package bench

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/bench"
	"sagitta/station/bench/routine"
	"sagitta/station/web/site"
	"sagitta/station/web/webtest"
)

// stage is a bench that shows whatever snapshot a test puts on it, and notes the commands that the page sends.
type stage struct {
	snap     atomic.Pointer[bench.Snapshot]
	mu       sync.Mutex
	watchers map[chan struct{}]bool
	calls    []string
	saw      bench.Seen // what the newest command saw that asks
	refusal  error      // the answer to every command
}

func (b *stage) Snapshot() *bench.Snapshot { return b.snap.Load() }

func (b *stage) Watch() (<-chan struct{}, func()) {
	ch := make(chan struct{}, 1)
	b.mu.Lock()
	defer b.mu.Unlock()
	b.watchers[ch] = true
	return ch, func() {
		b.mu.Lock()
		defer b.mu.Unlock()
		delete(b.watchers, ch)
	}
}

// show puts a snapshot on the page and signals it.
func (b *stage) show(s bench.Snapshot) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if old := b.snap.Load(); old != nil {
		s.Version = old.Version + 1
	}
	b.snap.Store(&s)
	for ch := range b.watchers {
		select {
		case ch <- struct{}{}:
		default:
		}
	}
}

func (b *stage) watching() int {
	b.mu.Lock()
	defer b.mu.Unlock()
	return len(b.watchers)
}

func (b *stage) note(format string, args ...any) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.calls = append(b.calls, fmt.Sprintf(format, args...))
	return b.refusal
}

// refuse makes this the answer to every command.
func (b *stage) refuse(err error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.refusal = err
}

// noted returns the commands since it was last asked.
func (b *stage) noted() []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	calls := b.calls
	b.calls = nil
	return calls
}

func (b *stage) OpenBatch(_ context.Context, n string) error    { return b.note("batch %s", n) }
func (b *stage) SetInspector(_ context.Context, n string) error { return b.note("inspector %s", n) }
func (b *stage) SetClimate(_ context.Context, c inspect.Climate) error {
	return b.note("climate %v %v", *c.TemperatureC, *c.HumidityPercent)
}
func (b *stage) Entry(_ context.Context, text, unit string) error {
	return b.note("entry %q %s", text, unit)
}
func (b *stage) Leaf(_ context.Context, rung int) error { return b.note("leaf %d", rung) }
func (b *stage) SetFeet(_ context.Context, at bench.Feet) error {
	return b.note("feet %.1f %.1f %.1f mm", at.First, at.Reads, at.Second)
}
func (b *stage) Take(ctx context.Context) error               { b.saw = bench.SeenIn(ctx); return b.note("take") }
func (b *stage) FootPress(_ context.Context, long bool) error { return b.note("foot %t", long) }
func (b *stage) SetHanded(_ context.Context, h string) error  { return b.note("handed %q", h) }
func (b *stage) Holds(ctx context.Context) error {
	b.saw = bench.SeenIn(ctx)
	return b.refusal
}
func (b *stage) Moved(context.Context) error                   { return b.note("moved") }
func (b *stage) MeasureWhole(context.Context) error            { return b.note("whole") }
func (b *stage) Undo(context.Context) error                    { return b.note("undo") }
func (b *stage) Skip(context.Context) error                    { return b.note("skip") }
func (b *stage) Choose(_ context.Context, k string) error      { return b.note("choose %s", k) }
func (b *stage) Answer(_ context.Context, use bool) error      { return b.note("use %t", use) }
func (b *stage) Park(_ context.Context, why string) error      { return b.note("park %s", why) }
func (b *stage) Abandon(_ context.Context, why string) error   { return b.note("abandon %s", why) }
func (b *stage) Again(context.Context) error                   { return b.note("again") }
func (b *stage) Clear(context.Context) error                   { return b.note("clear") }
func (b *stage) BeginStudy(_ context.Context, id string) error { return b.note("study %s", id) }
func (b *stage) ReloadAlarms(context.Context) error            { return b.note("reload alarms") }
func (b *stage) LeaveStudy(context.Context) error              { return b.note("leave study") }
func (b *stage) CheckGauges(context.Context) error             { return b.note("check all") }
func (b *stage) ReloadDoubt(context.Context) error             { return b.note("reload doubt") }
func (b *stage) ReportEvent(_ context.Context, by, id, what string) error {
	return b.note("%s %s %s", what, by, id)
}
func (b *stage) CancelCheck(context.Context) error { return b.note("cancel check") }
func (b *stage) CheckGauge(_ context.Context, id string) error {
	return b.note("check %s", id)
}
func (b *stage) Decide(_ context.Context, d inspect.Disposition, by, why string) error {
	return b.note("decide %s, %s: %s", d, by, why)
}
func (b *stage) TakeBackRework(_ context.Context, id string) error {
	return b.note("take back %s", id)
}
func (b *stage) RecordRework(_ context.Context, a batch.ReworkAction) error {
	return b.note("rework %s %s %v turn %.4f mm", a.What, a.Direction, a.Turns, a.AmountMM)
}
func (b *stage) Press(context.Context) error             { return b.note("press") }
func (b *stage) MeasureNeck(context.Context) error       { return b.note("measure") }
func (b *stage) Unattended(context.Context) error        { return b.note("unattended") }
func (b *stage) Stop(context.Context) error              { return b.note("stop") }
func (b *stage) Pull(_ context.Context, id string) error { return b.note("pull %s", id) }
func (b *stage) Plug(_ context.Context, id string) error { return b.note("plug %s", id) }

// storybook serves the page of a bench whose snapshot the test chooses.
func storybook(t testing.TB) (*stage, *webtest.Shop) {
	s := webtest.Open(t).Fill()
	webtest.Must[batch.ShiftNote](t)(s.Rec.AddNote(context.Background(), "Wren Halloway", "The flat reference was dusty this morning: wipe it before the check. Two necks of QM-2611 wait for nut files."))
	b := &stage{watchers: map[chan struct{}]bool{}}
	b.show(idle(s))
	mounted(s, Options{Bench: b, Record: s.Rec, Demo: b})
	return b, s
}

// mounted serves the page alone.
func mounted(s *webtest.Shop, opt Options) {
	opt.Now = time.Now
	s.Mount(func(k *site.Site) error { return Mount(k, opt) })
}

// idle is a bench that waits for a serial number.
func idle(s *webtest.Shop) bench.Snapshot {
	return bench.Snapshot{
		Stage: bench.Idle, Next: -1, Batch: &s.Batch, Inspector: "Mara Quill",
		Counts:  batch.Counts{Registered: 30, Inspected: 3, FirstPass: 1},
		Climate: inspect.Climate{TemperatureC: new(21.0), HumidityPercent: new(47.0)},
		Gauges: []bench.GaugeLine{
			{ID: s.Gauge.ID, Name: "carriage indicator", State: "live", Words: "carriage indicator live, zeroed 07:12"},
			{ID: "height", Name: "height gauge", State: "live", Words: "height gauge live, zeroed 07:14"},
		},
	}
}

// crowned is a made neck: its relief and how far fret 9 on the bass side and the frets after the joint stand up, mm, and
// whether what lies close to a limit is left undecided.
type crowned struct {
	relief, high, hump, action float64
	guarded, limited           bool // by that rule; limited in more values than stand beside the prompt
}

// measuring is a bench with the first points of a made neck taken; a negative count takes all of them.
func measuring(s *webtest.Shop, made crowned, points int) bench.Snapshot {
	snap := idle(s)
	given := *s.Spec.Spec
	given.Limits = append(slices.Clone(given.Limits), inspect.Limit{Characteristic: "hump", Track: "each", UpperMM: new(0.02)})
	if made.limited {
		for _, name := range []string{inspect.Straightness, inspect.FallAway} {
			given.Limits = append(given.Limits, inspect.Limit{Characteristic: name, Track: "each", UpperMM: new(9.0)})
		}
		for _, name := range []string{inspect.Flatness, inspect.LevelZone} {
			given.Limits = append(given.Limits, inspect.Limit{Characteristic: name, UpperMM: new(9.0)})
		}
	}
	if made.guarded {
		given.Decision.Rule = "guarded_acceptance"
	}
	spec := given.WithDefaults()
	if made.limited {
		on := *snap.Batch
		on.Spec.Spec, snap.Batch = &given, &on
	}
	x := func(n int) float64 { return inspect.FretX(spec.Neck.ScaleMM, n) }
	in := batch.Inspection{Serial: "QM-2611-0004", Attempt: 1, Inspector: snap.Inspector, StartedAt: time.Now().Add(-38 * time.Second), Posture: "playing", Climate: snap.Climate}
	snap.Stage, snap.Serial, snap.Inspection, snap.Round = bench.Measuring, in.Serial, &in, 1
	snap.Points = routine.Points(spec, []batch.Gauge{s.Gauge})
	var rows []batch.Reading
	for i := range snap.Points {
		p := &snap.Points[i]
		if points >= 0 && i >= points {
			snap.Next = i
			break
		}
		r := batch.Reading{ID: p.Key, Seq: int64(i + 1), Point: p.Point, Round: 1, U: 0.003}
		switch n := p.Point.Fret; p.Point.Kind {
		case batch.PitchDeclared:
			r.Value, r.U = 1, 0
		case batch.Crown:
			if n <= spec.Neck.JointFret {
				r.Value = -made.relief * (x(n) - x(1)) * (x(17) - x(n)) / ((x(7) - x(1)) * (x(17) - x(7)))
			} else {
				r.Value = made.relief*(x(n)-x(17))*(x(17)-x(1))/((x(7)-x(1))*(x(17)-x(7))) - 0.1*float64(n-17)/5 + made.hump
			}
			if n == 9 && p.Point.Track == "bass" {
				r.Value += made.high
			}
		case batch.NutHeight:
			r.Value = 0.45
		case batch.ActionHeight:
			r.Value = 1.7 + made.action
		}
		p.Taken, p.Value = true, r.Value
		rows = append(rows, r)
	}
	snap.Taken, snap.Done, snap.Of = len(rows), len(rows), len(snap.Points)
	snap.Readings = batch.Assemble(spec, in, rows, nil)
	res, err := inspect.Evaluate(spec, snap.Readings, inspect.Options{})
	if err != nil {
		s.Fatal(err)
	}
	snap.Result = res
	for i := range snap.Points {
		p := &snap.Points[i]
		for _, c := range res.Characteristics {
			if c.Name == "level_deviation" && p.Point.Kind == batch.Crown && c.Track == p.Point.Track && c.Fret == p.Point.Fret {
				p.Zone = c.Zone
			}
		}
	}
	snap.Live = bench.Live{GaugeID: s.Gauge.ID, Name: "carriage indicator", Fresh: true, Has: true, MM: -0.127}
	return snap
}

// decided is a bench that shows a made neck's verdict.
func decided(s *webtest.Shop, made crowned) bench.Snapshot {
	snap := measuring(s, made, -1)
	snap.Stage = bench.Decided
	snap.Verdict = &batch.Verdict{ID: "v1", Result: snap.Result, Disposition: snap.Result.Disposition, At: time.Now()}
	return snap
}

// story is a state of the bench and what its page must say.
type story struct {
	name string
	snap bench.Snapshot
	says []string
}

// pinPad is the story in which name and PIN are asked for.
const pinPad = "pin-pad"

// signedOff has people sign on, and nobody be at the bench.
func signedOff(n *bench.Snapshot) { n.SignsOn, n.Inspector = true, "" }

// secondWindow is the story that is shown while another window is open too.
const secondWindow = "second-window"

// stories are all states of the bench.
func stories(s *webtest.Shop) []story {
	with := func(snap bench.Snapshot, change func(*bench.Snapshot)) bench.Snapshot {
		change(&snap)
		return snap
	}
	good := crowned{relief: 0.3}
	return []story{
		{"no-batch", bench.Snapshot{Stage: bench.NoBatch, Next: -1, Inspector: "Mara Quill"}, []string{"Which batch is on the bench?", "QM-2611, QM Bolt 648 B"}},
		{"no-inspector", with(idle(s), func(n *bench.Snapshot) { n.Inspector = "" }), []string{"Who is at the bench?", "<option>Mara Quill</option>"}},
		{"nobody", with(idle(s), signedOff), []string{"Who is at the bench? Scan your badge.", "<span>Name and PIN</span>"}},
		{pinPad, with(idle(s), signedOff), []string{"Your PIN", `value="Mara Quill"`}},
		{"signed-off", with(measuring(s, good, 12), func(n *bench.Snapshot) {
			signedOff(n)
			n.Left = "Mara Quill did nothing here for 30 minutes and is signed off."
			n.Notice = &bench.Notice{ID: 1, Refused: true, Text: "The carriage indicator sent +0.310 mm, but it was not used, because nobody is at the bench: scan your badge, or give your name and PIN."}
		}), []string{"Who is at the bench? Scan your badge.", "Mara Quill did nothing here for 30 minutes and is signed off. QM-2611-0004 stays as it is, with 12 readings.", "it was not used"}},
		{"somebody-else", with(measuring(s, good, 12), func(n *bench.Snapshot) { n.SignsOn = true }), []string{"Mara Quill is at the bench; nobody is signed on in this window.", "<span>Name and PIN</span>"}},
		{"idle", idle(s), []string{"Scan the next serial number.", "3 of 30 necks inspected, 1 passed", "<strong>Wren Halloway</strong>", "The flat reference was dusty this morning"}},
		{secondWindow, measuring(s, good, 12), []string{"bass side, fret 12"}},
		{"pitch", measuring(s, good, 0), []string{"Tune every string to pitch", "<span>Confirm</span>"}},
		{"early", measuring(s, good, 3), []string{"QM-2611-0004, attempt 1", "3 of ", "with the carriage indicator", "−0.127"}},
		{"mid", measuring(s, good, 30), []string{"heights stretched", "chord over frets 1 and 17"}},
		{"held", with(measuring(s, good, 12), func(n *bench.Snapshot) {
			n.Question = &bench.Question{Point: n.Points[12].Point, Words: n.Points[12].Words, MM: 0.31, Asks: "The unit changed from mm to in since the last reading, and the carriage indicator has not left its place since it read bass side, fret 11. Does it stand on bass side, fret 12 now? Use 0.310 mm?"}
		}), []string{"The unit changed from mm to in", "<span>Use it</span>", "<span>Discard it</span>", "&#43;0.310"}},
		{"unplugged", with(measuring(s, good, 12), func(n *bench.Snapshot) {
			n.Live, n.Demo = bench.Live{}, true
			n.Gauges[0] = bench.GaugeLine{ID: s.Gauge.ID, Name: "carriage indicator", State: "unplugged", Words: "carriage indicator unplugged since 09:41", ToDo: "Plug it in again, then check it.", Locked: true}
			n.Notice = &bench.Notice{ID: 1, Refused: true, Text: "The carriage indicator and the carriage position are unplugged. Plug the gauge in again, then check it. The line of the carriage indicator was lost after 2 crowns: they are measured again, which is quicker than linking them, and they stay in the record."}
		}), []string{"unplugged since 09:41", "Plug it in again", "they stay in the record", "Plug the carriage indicator in"}},
		{"check", with(idle(s), func(n *bench.Snapshot) {
			n.Check = &bench.Check{GaugeID: s.Gauge.ID, Name: "carriage indicator", Step: "zero", Words: "Stand the carriage on the flat reference and press its data key.", Place: 1, Of: 3, After: batch.CheckDue}
			n.Live, n.Demo = bench.Live{GaugeID: s.Gauge.ID, Name: "carriage indicator", Fresh: true, Has: true, MM: -0.012}, true
		}), []string{"Stand the carriage on the flat reference", "Stop the check", `<span class="digits">−0.012</span>`, "puts the carriage indicator on the flat reference"}},
		{"check-by-eye", with(idle(s), func(n *bench.Snapshot) {
			n.Check = &bench.Check{GaugeID: "beam", Name: "beam with a dial", Step: "zero", Words: "Stand the beam with a dial on the flat reference. Turn its dial to zero and confirm with Space, or type what it shows.", Place: 1, Of: 2, After: batch.CheckEntry}
			n.Gauges = []bench.GaugeLine{{ID: "beam", Name: "beam with a dial", State: "live", Words: "beam with a dial, read by eye", ByEye: true}}
		}), []string{"confirm with Space, or type what it shows", "needed because a change on its page"}},
		{"leaves", byLeaves(s, batch.Ordinary(batch.LeavesGauge, unit.Inch).LeavesMM, nil), []string{"Tap the thickest leaf that goes in", "<b>0.203</b> <span>0.229 stops</span>", "<b>none</b> <span>0.038 stops</span>", "with the feeler leaves"}},
		{"leaves-between", byLeaves(s, nil, [][]float64{{0.20}, {0.15, 0.06}, {0.15, 0.07}, {0.15, 0.08}, {0.15, 0.09}, {0.25}}), []string{"of what lies between", "<b>0.20</b> <span>0.15&#43;0.06 stops</span>", "add ± 0.01 mm."}},
		{"beam-feet", with(byLeaves(s, []float64{0.1, 0.2}, nil), func(n *bench.Snapshot) {
			n.NeedsFeet, n.Leaves = true, nil
			n.Points[n.Next].Point.Kind, n.Points[n.Next].Words = batch.BeamReading, "bass side, beam on two feet"
		}), []string{"Where do the feet of the beam stand?", "Once for this beam"}},
		{"ruler-nut", byRuler(s, batch.NutHeight), []string{"By ruler it is good to ± 0.1 mm: that goes with the value.", `value="0.4 mm"`, "the ruler stands on the top of fret 1 beside it"}},
		{"ruler-action", byRuler(s, batch.ActionHeight), []string{"By ruler it is good to ± 0.1 mm", `name="text" value="1.7 mm"><button class="leaf inside"><b>1.7</b>`, "the ruler stands on the top of fret 12 beside it"}},
		{"beam", with(byRuler(s, batch.ActionHeight), func(n *bench.Snapshot) {
			n.Points[n.Next].Point, n.Points[n.Next].Words = batch.Point{Kind: batch.BeamReading, Track: "bass", Fret: 7}, "bass side, beam on two feet"
			n.Gauges[0].Name = "beam on two feet"
		}), []string{"both feet, strings at pitch, and reads down to the crown of fret 7", "Written like 0.25"}},
		{"pass", decided(s, good), []string{"pass", "Next neck", "Inspect again"}},
		{"pass-limited", decided(s, crowned{relief: 0.3, limited: true}), []string{"nearest to a limit", "more values behind “More”"}},
		{"rework", decided(s, crowned{relief: 0.46}), []string{"rework", "Too much relief, bass side: &#43;0.46 mm (limit 0.36 mm); 1 more value does not conform.", "In the handbook's names: Relief, bass side, fret 7 over frets 1–17 is &#43;0.46 mm, above 0.36 mm", "Tighten the truss rod a quarter turn, clockwise as you face its nut.", "From 12 to 3 o&#39;clock.", "relief then about", "Caution."}},
		{"rework-demo", with(decided(s, crowned{relief: 0.46}), func(n *bench.Snapshot) { n.Demo = true }), []string{"rework", "clockwise as you face its nut.", "Inspect the rest unattended"}},
		{"high-fret", decided(s, crowned{relief: 0.3, high: 0.09}), []string{"rework", "Level the frets", "Bass side, fret 9: press it down and seat it; level what still stands high, 0.088 mm."}},
		{"repair", decided(s, crowned{relief: 0.3, hump: 0.25}), []string{"repair", "The board rises past the joint, bass side: 0.23 mm (limit 0.02 mm)", "Hump, bass side is 0.23 mm, above 0.02 mm", "rise past joint, bass side"}},
		{"person", with(decided(s, crowned{relief: 0.359, guarded: true}), func(n *bench.Snapshot) {
			n.Stage, n.Round = bench.PersonDecides, 3
		}), []string{"undecided", "A person decides", `<option value="concession">concession</option>`}},
		{"round-2", with(measuring(s, crowned{relief: 0.359, guarded: true}, -1), func(n *bench.Snapshot) { n.Round, n.Next = 2, 1 }), []string{"round 2 of 3", "undecided"}},
		{"parked-demo", with(idle(s), func(n *bench.Snapshot) {
			n.Demo, n.Working = true, "Inspecting QM-2611-0007 unattended."
			n.Waiting.Parked = []bench.ParkedNeck{{Serial: "QM-2611-0005", BatchNumber: "QM-2611", Attempt: 2, Since: time.Now().Add(-20 * time.Minute), Reason: "settling after the rod", Taken: 4, Of: 60}}
		}), []string{"QM-2611-0005", "4 of 60 points, settling after the rod, 20 min", "Inspecting QM-2611-0007 unattended.", "<button>Stop</button>"}},
	}
}

// TestStories opens the bench in every state and both units.
func TestStories(t *testing.T) {
	b, s := storybook(t)
	for _, st := range append(stories(s), troubled(s)...) {
		b.show(st.snap)
		page := s.Get("/", http.StatusOK)
		for _, text := range st.says {
			if !contains(page, text) {
				t.Errorf("%s: the page does not say %q", st.name, text)
			}
		}
	}
}

// TestVerdictsAreTheEvaluationsOwn guards the stories: each made neck must really come out as its name says.
func TestVerdictsAreTheEvaluationsOwn(t *testing.T) {
	_, s := storybook(t)
	for _, c := range []struct {
		made crowned
		want inspect.Disposition
	}{{crowned{relief: 0.3}, inspect.Pass}, {crowned{relief: 0.46}, inspect.Rework}, {crowned{relief: 0.3, high: 0.09}, inspect.Rework}, {crowned{relief: 0.3, hump: 0.25}, inspect.Repair}, {crowned{relief: 0.359, guarded: true}, inspect.Remeasure}} {
		if snap := decided(s, c.made); snap.Verdict.Disposition != c.want {
			t.Errorf("%+v: %s, want %s (%s)", c.made, snap.Verdict.Disposition, c.want, snap.Result.Why)
		}
	}
}
