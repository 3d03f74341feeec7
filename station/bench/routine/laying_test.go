package routine

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// hand measures what is asked for, as a bench would have it done.
type hand struct {
	*Attempt
	t      *testing.T
	random *rand.Rand
	plane  [3]float64
	neck   func(p batch.Point) float64        // what the neck has besides a sound one's height
	slip   func(p batch.Point, n int) float64 // what the reading has, of the nth of a point
	reads  map[batch.Point]int
	why    []string
	asked  map[Purpose]int
	clock  time.Time
}

func newHand(t *testing.T, seed uint64) *hand {
	h := &hand{Attempt: attempt(t), t: t, random: rand.New(rand.NewPCG(seed, 7)), reads: map[batch.Point]int{}, asked: map[Purpose]int{},
		neck: func(batch.Point) float64 { return 0 }, slip: func(batch.Point, int) float64 { return 0 }, clock: time.Unix(1e9, 0)}
	h.lay()
	return h
}

// lay has the neck laid down anew, and the bench told.
func (h *hand) lay() {
	h.move()
	h.LayDown(h.clock, batch.Interruption{})
}

// move moves it.
func (h *hand) move() {
	h.plane = [3]float64{0.15 * h.random.NormFloat64(), 3e-4 * h.random.NormFloat64(), 2e-3 * h.random.NormFloat64()}
}

// step does what is to be done next; false when the routine is complete.
func (h *hand) step() bool {
	h.t.Helper()
	p := h.replay(h.t)
	switch {
	case p.End != nil:
		h.why = append(h.why, p.Why)
		h.keep(p.End.Rows("one", "Mara Quill", h.Laying)...)
		if p.End.Moved {
			h.LayDown(h.clock, batch.Interruption{})
		}
		return true
	case p.Next < 0:
		return false
	}
	h.asked[p.Purpose]++
	if p.Purpose != ToMeasure {
		h.why = append(h.why, p.Why)
	}
	point := p.Points[p.Next]
	if p.Purpose == ToBeSure {
		h.keep(h.SaidSo(&p, "Mara Quill"))
		return true
	}
	r := batch.Reading{Point: point.Point, Round: p.RoundOf(point.Key), Supersedes: p.Replaces(point.Key), Value: sound(point, h.Spec), U: 0.004, URepeat: 0.004, GaugeID: point.GaugeID}
	if k := point.Point.Kind; k == batch.Crown || k == batch.Closing {
		at := point.Point
		at.Kind = batch.Crown
		r.Laying = h.Laying
		point.Point = at
		r.Value = sound(point, h.Spec) + h.neck(at) + h.slip(at, h.reads[at]) + h.plane[0] + h.plane[1]*point.XMM + h.plane[2]*point.YMM + 0.004*h.random.NormFloat64()
		h.reads[at]++
	}
	h.keep(r)
	return true
}

func (h *hand) keep(rows ...batch.Reading) {
	for _, r := range rows {
		h.clock = h.clock.Add(3 * time.Second)
		r.ID, r.Seq, r.At = fmt.Sprint("r", len(h.Readings)), int64(len(h.Readings)+1), h.clock
		h.Readings = append(h.Readings, r)
	}
}

// finish measures to the end; before each reading but the first the hook may do something.
func (h *hand) finish(hook func(n int)) *inspect.Result {
	h.t.Helper()
	for n := 0; ; n++ {
		if n > 600 {
			h.t.Fatalf("no end: %q", h.why[len(h.why)-6:])
		}
		if hook != nil {
			hook(n)
		}
		if !h.step() {
			break
		}
	}
	return h.replay(h.t).Result
}

// same fails where a verdict differs from the sound neck's beyond the uncertainty.
func (h *hand) same(name string, want, got *inspect.Result) {
	h.t.Helper()
	if got.Disposition != want.Disposition {
		h.t.Errorf("%s: %s, want %s; %q", name, got.Disposition, want.Disposition, h.why)
	}
	for _, w := range want.Characteristics {
		for _, g := range got.Characteristics {
			if g.Name == w.Name && g.Track == w.Track && g.Fret == w.Fret && g.String == w.String && (g.Name == inspect.Relief || g.Name == inspect.Twist || g.Name == inspect.FallAway) &&
				math.Abs(*g.Value-*w.Value) > 5*math.Hypot(*g.U, *w.U) {
				h.t.Errorf("%s: %s is %v, want %v within %v", name, inspect.Words(h.Spec, g), *g.Value, *w.Value, *g.U)
			}
		}
	}
}

// TestOneLaying: a neck measured in one go is asked for two crowns more at the end of its profile, before its strings, and judged as it was
// without layings.
func TestOneLaying(t *testing.T) {
	h := newHand(t, 1)
	res := h.finish(nil)
	before := attempt(t)
	before.Readings = h.Readings
	if p := before.replay(t); p.Next != -1 || p.Result.Disposition != res.Disposition {
		t.Errorf("%s, without layings next %d, %s", res.Disposition, p.Next, p.Result.Disposition)
	}
	if h.asked[ToClose] != 2 || len(h.why) != 2 || h.why[0] != "The profile is complete: measure bass side, fret 1, once more, to see that nothing moved." {
		t.Errorf("asked %v, %q", h.asked, h.why)
	}
	at := slices.IndexFunc(h.Readings, func(r batch.Reading) bool { return r.Point.Kind == batch.Closing })
	if k := h.Readings[at+2].Point.Kind; k != batch.NutHeight {
		t.Errorf("after the closing reading comes a %s", k)
	}
	h = newHand(t, 1)
	h.Spec.Routine.Closing = new(false)
	if h.finish(nil); h.asked[ToClose] != 0 {
		t.Errorf("without a closing reading %d were asked for", h.asked[ToClose])
	}
}

// TestInterruptedAnywhere: a neck laid down anew at any moment, once or twice, is judged as the one that was not; mixed without links
// it is not.
func TestInterruptedAnywhere(t *testing.T) {
	want := newHand(t, 1).finish(nil)
	if want.Disposition != inspect.Pass {
		t.Fatal(want.Disposition)
	}
	wrong := 0
	for seed := range uint64(12) {
		h := newHand(t, seed)
		first, second := h.random.IntN(60), h.random.IntN(60)
		got := h.finish(func(n int) {
			if n == first || n == second {
				h.lay()
			}
		})
		h.same(fmt.Sprintf("seed %d, laid anew at %d and %d", seed, first, second), want, got)
		mixed := attempt(t)
		mixed.Readings = slices.Clone(h.Readings)
		for i := range mixed.Readings {
			mixed.Readings[i].Laying = 0
		}
		if res := mixed.replay(t).Result; res.Disposition != want.Disposition {
			wrong++
		}
	}
	t.Logf("taken together without carrying, %d of 12 are judged wrongly", wrong)
	if wrong < 4 {
		t.Errorf("only %d of 12 necks are wrong without carrying: the moves show nothing", wrong)
	}
}

// TestLinksNeedACrown: links are asked for when a crown is; heights of strings do not depend on the laying.
func TestLinksNeedACrown(t *testing.T) {
	h := newHand(t, 3)
	for p := h.replay(t); p.Next >= 0 && p.Points[p.Next].Point.Kind != batch.NutHeight; p = h.replay(t) {
		h.step()
	}
	h.lay()
	if p := h.replay(t); p.Purpose != ToMeasure || p.Points[p.Next].Point.Kind != batch.NutHeight {
		t.Fatalf("%v, %s", p.Purpose, p.Why)
	}
	h.Chosen = Key(batch.Point{Kind: batch.Crown, Track: "bass", Fret: 5})
	p := h.replay(t)
	if p.Purpose != ToLink || p.Points[p.Next].Point.Fret != 1 || p.Why != "The neck was laid down again: measure bass side, fret 1, once more, so that what was read before can be used." {
		t.Fatalf("%v, %+v, %s", p.Purpose, p.Points[p.Next].Point, p.Why)
	}
	if !p.Asks(p.Points[p.Next].Key) || p.Replaces(p.Points[p.Next].Key) == "" {
		t.Error("a link replaces the reading before")
	}
	h.Chosen = ""
	if res := h.finish(nil); res.Disposition != inspect.Pass || h.asked[ToLink] != 0 {
		t.Errorf("%s, %v", res.Disposition, h.asked)
	}
}

// TestCountIsKnownFromTheStart: how many points are to come does not change while one works: the closing readings are among them from the
// start, after the verdict too, and whatever laying the crowns are read in.
func TestCountIsKnownFromTheStart(t *testing.T) {
	for name, hook := range map[string]func(h *hand, n int){
		"in one go":       func(*hand, int) {},
		"laid down anew":  func(h *hand, n int) { layOnce(h, n, 9) },
		"taken up before": func(h *hand, n int) { layOnce(h, n, 1) },
	} {
		h := newHand(t, 5)
		h.finish(func(n int) {
			hook(h, n)
			if p := h.replay(t); p.Of() != 59 || p.Done() > p.Of() {
				t.Errorf("%s, after %d steps: %d of %d", name, n, p.Done(), p.Of())
			}
		})
		h.Concluded = true
		if p := h.replay(t); p.Of() != 59 || p.Done() != 59 {
			t.Errorf("%s: the verdict rests on %d of %d", name, p.Done(), p.Of())
		}
	}
	h := newHand(t, 5)
	h.Spec.Routine.Closing = new(false)
	if p := h.replay(t); p.Of() != len(h.Routine) {
		t.Errorf("without closing readings %d points are to come, want %d", p.Of(), len(h.Routine))
	}
}

func layOnce(h *hand, n, at int) {
	if n == at {
		h.lay()
	}
}

// TestClosingInALaterLaying: a profile that was complete and not closed when the neck was taken up is linked and closed as it lies now.
func TestClosingInALaterLaying(t *testing.T) {
	h := newHand(t, 3)
	for p := h.replay(t); p.Purpose != ToClose; p = h.replay(t) {
		h.step()
	}
	h.lay()
	if res := h.finish(nil); res.Disposition != inspect.Pass || h.asked[ToLink] < 6 || h.asked[ToClose] == 0 {
		t.Errorf("%s, %v, %q", res.Disposition, h.asked, h.why)
	}
}

// TestMovedUnsaid: a neck that moves while it is measured, and nobody says so, is measured again and judged as it is.
func TestMovedUnsaid(t *testing.T) {
	want := newHand(t, 1).finish(nil)
	said := 0
	for seed := range uint64(12) {
		h := newHand(t, seed)
		at := 1 + h.random.IntN(44)
		by := 0.25 + 0.3*h.random.Float64()
		done := false
		got := h.finish(func(n int) {
			if n == at && !done {
				done = true
				h.plane[0] += by
			}
		})
		h.same(fmt.Sprintf("seed %d, moved by %.2f mm at %d", seed, by, at), want, got)
		if len(h.why) > 2 {
			said++
		}
	}
	if said < 10 {
		t.Errorf("only %d of 12 moves were seen", said)
	}
}

// TestPlunger: one crown misread by 0.4 mm is asked about, and measured again with the one before it.
func TestPlunger(t *testing.T) {
	want := newHand(t, 1).finish(nil)
	for _, fret := range []int{1, 2, 3, 9, 15, 21} {
		h := newHand(t, uint64(fret))
		h.slip = func(p batch.Point, n int) float64 {
			if p.Track == "treble" && p.Fret == fret && n == 0 {
				return 0.4
			}
			return 0
		}
		got := h.finish(nil)
		h.same(fmt.Sprint("fret ", fret), want, got)
		if h.asked[ToAsk] != 2 || h.asked[ToBeSure] != 0 || h.asked[ToLink] != 0 {
			t.Errorf("fret %d: %v, %q", fret, h.asked, h.why)
		}
	}
}

// TestFretIsSo: a fret that stands high on the neck is measured again as before, said to be so, and judged.
func TestFretIsSo(t *testing.T) {
	h := newHand(t, 2)
	h.neck = func(p batch.Point) float64 {
		if p.Fret == 9 {
			return 0.4
		}
		return 0
	}
	res := h.finish(nil)
	if res.Disposition == inspect.Pass || h.asked[ToBeSure] != 2 || h.asked[ToAsk] != 4 || h.asked[ToLink] != 0 {
		t.Errorf("%s, %v, %q", res.Disposition, h.asked, h.why)
	}
	if n := len(slices.DeleteFunc(slices.Clone(h.Readings), func(r batch.Reading) bool { return r.Reason != batch.SaidToBeSo })); n != 2 {
		t.Errorf("%d crowns said to be so", n)
	}
}

// TestAskedAboutAndLaidDown: where the neck is laid down again before an answer, the crown does not count.
func TestAskedAboutAndLaidDown(t *testing.T) {
	want := newHand(t, 1).finish(nil)
	h := newHand(t, 5)
	h.slip = func(p batch.Point, n int) float64 {
		if p.Track == "bass" && p.Fret == 12 && n == 0 {
			return 0.5
		}
		return 0
	}
	done := false
	got := h.finish(func(int) {
		if p := h.replay(t); p.Purpose == ToAsk && !done {
			done = true
			h.lay()
		}
	})
	h.same("laid down", want, got)
	if h.asked[ToBeSure] != 0 || !done {
		t.Errorf("%v, %q", h.asked, h.why)
	}
}

// TestOwnStep: frets 9 and up stand higher on the neck. It is measured again, in one go, found again and judged.
func TestOwnStep(t *testing.T) {
	h := newHand(t, 4)
	h.neck = func(p batch.Point) float64 {
		if p.Track == "bass" && p.Fret >= 9 {
			return 0.22
		}
		return 0
	}
	res := h.finish(nil)
	p := h.replay(t)
	if p.OwnStep != "From fret 9 on the bass side stands 0.22 mm higher, measured twice: the neck has this step." || res.Disposition == inspect.Pass {
		t.Errorf("%s, %q, %q", res.Disposition, p.OwnStep, h.why)
	}
}

// TestOldAndChanged: crowns of before, which tell no laying, are linked as others; after work on the neck nothing is.
func TestOldAndChanged(t *testing.T) {
	for changed, links := range map[string]int{"": 6, "its rod was turned": 0} {
		want := newHand(t, 1).finish(nil)
		h := newHand(t, 6)
		for range 31 {
			h.step()
		}
		for i := range h.Readings {
			h.Readings[i].Laying = 0
		}
		h.move()
		h.LayDown(h.clock, batch.Interruption{Kind: batch.NeckParked, Changed: changed})
		if h.Laying != 1 {
			t.Fatalf("laying %d", h.Laying)
		}
		h.same(changed, want, h.finish(nil))
		if h.asked[ToLink] != links || links == 0 && h.why[0] != "The neck was parked, and its rod was turned. What was read before is measured again; it stays in the record." {
			t.Errorf("%q: %v, %q", changed, h.asked, h.why)
		}
	}
}

// TestReplayWithLayings: replaying again says the same at every moment of an eventful inspection.
func TestReplayWithLayings(t *testing.T) {
	h := newHand(t, 9)
	h.finish(func(n int) {
		switch n {
		case 12:
			h.lay()
		case 33:
			h.plane[0] += 0.3
		}
		a, b := h.replay(t), h.replay(t)
		if fmt.Sprint(a.Next, a.Purpose, a.Why, a.Round) != fmt.Sprint(b.Next, b.Purpose, b.Why, b.Round) || mustSame(a.Result) != mustSame(b.Result) {
			t.Fatalf("after %d readings a second replay says something else", n)
		}
	})
}

func mustSame(r *inspect.Result) string {
	s := ""
	for _, c := range r.Characteristics {
		if c.Value != nil {
			s += fmt.Sprint(c.Name, *c.Value, c.Zone)
		}
	}
	return s
}

// BenchmarkReplayWithLayings: a complete neck that was laid down again in the middle of its second track.
func BenchmarkReplayWithLayings(b *testing.B) {
	t := &testing.T{}
	h := newHand(t, 9)
	h.finish(func(n int) {
		if n == 30 {
			h.lay()
		}
	})
	for b.Loop() {
		if _, err := h.Replay(); err != nil {
			b.Fatal(err)
		}
	}
}
