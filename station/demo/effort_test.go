package demo

import (
	"fmt"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/devices/simulate"
	"sagitta/inspect"
	"sagitta/station/bench"
)

// Seconds of a practised hand for a point, as station/bench/routine counts them.
var handSeconds = map[batch.Kind]float64{batch.Crown: 3, batch.Closing: 3, batch.NutHeight: 5, batch.ActionHeight: 5, batch.PitchDeclared: 3, batch.Sweep: 15}

// effort is what a neck asks of an inspector: placements of a gauge, each ended by its data key, other keys, and how long they take.
type effort struct {
	placed map[batch.Kind]int
	acts   int
	asked  int           // questions of the bench, such as whether a crown is really there: what is answered may be placed once more
	page   time.Duration // from a key until the page shows what came of it, all together
	steps  int           // that this was measured at
}

func (e *effort) placements() (n int) {
	for _, of := range e.placed {
		n += of
	}
	return n
}

// hand is how long the placements take a practised hand.
func (e *effort) hand() (seconds float64) {
	for kind, n := range e.placed {
		seconds += float64(n) * handSeconds[kind]
	}
	return seconds
}

func (e *effort) String() string {
	return fmt.Sprintf("%3d placements, %2d keys, %4.0f s of the hand, %5.1f s of the page (%.0f ms a step)", e.placements(), e.acts, e.hand(), e.page.Seconds(), float64(e.page.Milliseconds())/float64(max(e.steps, 1)))
}

// robot works the bench's page as an inspector with the simulated hand would, and counts.
type robot struct {
	*window
	effort
}

// key presses a key and waits until the page shows what came of it.
func (r *robot) key(text string) {
	r.t.Helper()
	before, begun := r.d.App.Bench.Snapshot(), time.Now()
	r.keys(text)
	for end := begun.Add(patience); ; {
		if now := r.d.App.Bench.Snapshot(); settled(before, now) || now.Scene != before.Scene || now.Stage != before.Stage {
			break
		}
		if time.Now().After(end) {
			r.t.Fatalf("nothing came of %q", text)
		}
		time.Sleep(time.Millisecond)
	}
	shown := func() string {
		return fmt.Sprintf(`document.querySelector("#seen [name=scene]").value === "%d"`, r.d.App.Bench.Snapshot().Scene)
	}
	for !js[bool](r.window, shown()) {
		if time.Since(begun) > patience {
			r.t.Fatalf("the page never shows what came of %q", text)
		}
	}
	r.page += time.Since(begun)
	r.steps++
}

// scans brings a neck to the bench.
func (r *robot) scans(serial string) {
	r.t.Helper()
	r.effort = effort{placed: map[batch.Kind]int{}}
	r.act(serial + "\r")
}

// act is a key that the inspector presses, or a scan.
func (r *robot) act(text string) {
	r.t.Helper()
	r.acts++
	r.key(text)
}

// measures does all that is asked until the bench has decided.
func (r *robot) measures() inspect.Disposition {
	r.t.Helper()
	const data, answer = "\u0807", "\u0803" // F7 and F3, as the driver names them
	var pressed batch.Kind                  // by the last key, "" where it was another
	for {
		s := r.d.App.Bench.Snapshot()
		switch {
		case s.Question != nil:
			r.answers(s.Question, answer, &pressed)
		case s.Stage == bench.Decided:
			return s.Verdict.Disposition
		case s.Stage != bench.Measuring:
			r.t.Fatalf("the bench is %s", s.Stage)
		case s.Points[s.Next].Point.Kind == batch.PitchDeclared:
			r.act(" ")
		case s.Sweep != nil:
			r.placed[batch.Sweep]++
			r.key(data)
			pressed = batch.Sweep
		default:
			pressed = s.Points[s.Next].Point.Kind
			r.placed[pressed]++
			r.key(data)
		}
	}
}

// answers answers a question. A robot may press a second time before the key of a gauge has stopped bouncing, which no hand does: such a press and its
// answer are not counted.
func (r *robot) answers(q *bench.Question, answer string, pressed *batch.Kind) {
	if !q.Bounce {
		r.asked++
		r.act(answer)
		return
	}
	if *pressed != "" {
		r.placed[*pressed]--
	}
	*pressed = ""
	r.key(answer)
}

// TestEffort lets a robot inspect a sound neck, a bowed one until it passes, one that is called back for its strings' heights, and one by
// sweeps, and prints what each asks of an inspector beside what it would ask if every inspection were of the whole neck, fret by fret.
func TestEffort(t *testing.T) {
	w := openWindow(t, browser(t))
	r := &robot{window: w}
	table := func(what string, attempts int, whole effort) {
		before := float64(attempts) * whole.hand()
		// The robot cannot tell for certain whether a press within the bounce of another was taken: one of each attempt may be counted wrongly, and what
		// is asked about is placed once more.
		unsure := float64(max(r.asked-whole.asked*attempts, 0)+attempts) * handSeconds[batch.ActionHeight]
		t.Logf("%-28s %s", what, &r.effort)
		t.Logf("%-28s %3d placements, %d inspections of the whole neck: %4.0f s of the hand", "", attempts*whole.placements(), attempts, before)
		if r.hand() > before+unsure {
			t.Errorf("%s takes the hand %.0f s with %d questions, whole inspections take %.0f", what, r.hand(), r.asked, before)
		}
	}

	r.scans("QM-2611-0001")
	if d := r.measures(); d != inspect.Pass {
		t.Fatalf("the sound neck: %s", d)
	}
	r.act(" ")
	whole := r.effort
	table("a pass", 1, whole)

	r.scans("QM-2611-0004")
	attempts := 1
	for d := r.measures(); d != inspect.Pass; d = r.measures() {
		if d != inspect.Rework || attempts == 6 {
			t.Fatalf("the bowed neck, attempt %d: %s", attempts, d)
		}
		first := r.placements()
		w.f(3)
		w.waits(`document.activeElement.closest("#rework-form") !== null`)
		w.keys("\r")
		w.reads("#next", "Recorded since the verdict")
		r.acts += 2
		r.act("\u0806") // F6
		if attempts++; first == 0 {
			t.Error("an attempt without a placement")
		}
	}
	r.act(" ")
	if attempts < 2 {
		t.Fatal("the bowed neck passed at its first inspection")
	}
	table(fmt.Sprintf("reworked, %d inspections", attempts), attempts, whole)

	// The height gauge is knocked: its next check fails, and its zero is found anew.
	if err := w.d.Knock(simulate.HeightID, 0.2); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if err := w.d.hand.check(t.Context(), simulate.HeightID); err != nil {
			t.Fatal(err)
		}
	}
	w.waits(`document.querySelector("#next").innerText.includes("Called back")`)
	r.scans("QM-2611-0001")
	if d := r.measures(); d != inspect.Pass {
		t.Fatalf("the neck that was called back: %s", d)
	}
	r.act(" ")
	for kind := range r.placed {
		if kind != batch.NutHeight && kind != batch.ActionHeight {
			t.Errorf("%d %s are measured again, which are not in doubt", r.placed[kind], kind)
		}
	}
	table("called back", 1, whole)

	if err := w.d.App.Bench.OpenBatch(t.Context(), "QM-2613"); err != nil {
		t.Fatal(err)
	}
	w.reads("#strip .batch", "QM-2613")
	r.scans("QM-2613-0001")
	d := r.measures()
	t.Logf("swept: %s", d)
	r.placed[batch.Sweep] = len(w.d.App.Bench.Snapshot().Batch.Spec.Spec.WithDefaults().Routine.Tracks)
	each := effort{placed: map[batch.Kind]int{batch.Crown: 0}}
	for _, p := range w.d.App.Bench.Snapshot().Points {
		if k := p.Point.Kind; k != batch.PitchDeclared {
			each.placed[k]++
		}
	}
	table("a sweep of each track", 1, each)
}
