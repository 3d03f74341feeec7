package sweep

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestSteady sends even frames over a line that delays each by up to milliseconds, stalls and loses some: the times must
// come out as sent, but for one constant.
func TestSteady(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	l := line{hz: 100, late: 0.008, jitter: 5e-4, poll: 1e-3, stalls: 0.03, lost: 0.01, resolve: 1e-9}
	got := steady(l.send(15, func(t float64) float64 { return t }, r)) // each frame carries its own time
	var mean, worst float64
	for _, s := range got {
		mean += (s.AtS - s.MM) / float64(len(got))
	}
	for _, s := range got {
		worst = math.Max(worst, math.Abs(s.AtS-s.MM-mean))
	}
	t.Logf("%d frames: times right to %.2f ms, a constant %.1f ms apart", len(got), 1000*worst, 1000*mean)
	if len(got) < 1400 || worst > 6e-4 {
		t.Errorf("times are off by up to %.2f ms, want 0.6 at most", 1000*worst)
	}
}

// TestUnsteady: a gauge that sends when it likes keeps the times at which its frames came.
func TestUnsteady(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	var s []Sample
	at := 0.0
	for range 300 {
		at += 0.002 + 0.05*r.Float64()*r.Float64()
		s = append(s, Sample{AtS: at})
	}
	for i, got := range steady(s) {
		if got != s[i] {
			t.Fatalf("frame %d came at %g s and is put at %g s", i, s[i].AtS, got.AtS)
		}
	}
}

// TestHeldBack: a line that hands over forty frames at once, and holds them for a quarter second now and then, gives
// a clock that runs evenly over a crown all the same.
func TestHeldBack(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	var s []Sample
	handed := 0.0
	for k := range 1600 {
		sent := float64(k) * 1e-3
		if sent >= handed {
			handed = sent + 0.04
			if r.Float64() < 0.05 {
				handed += 0.25
			}
		}
		s = append(s, Sample{AtS: handed, MM: sent})
	}
	got := steady(s)
	worst := 0.0
	for i := 200; i < 1350; i++ { // over a crown the clock must run evenly
		worst = math.Max(worst, math.Abs((got[i+50].AtS-got[i].AtS)/0.05-1))
	}
	if worst > 0.3 {
		t.Errorf("over 50 ms the clock runs wrong by up to %.0f %%, want 30 at most", 100*worst)
	}
}
