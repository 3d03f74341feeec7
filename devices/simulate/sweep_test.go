package simulate

import (
	"errors"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"go.bug.st/serial"
)

// TestTipPath: on a crown's top the tip stands at the crown's height; beside it, on the circle of both radii together,
// z = sqrt(2.7² - d²) - 2.7 (plane geometry); between crowns on the wood, 1 mm below.
func TestTipPath(t *testing.T) {
	n := plain(648, 22, 17, 7)
	n.Crowns[8] = CrownError{BassMM: 0.1, TrebleMM: 0.1}
	p := layOut(n, Track{}, func(x, _ float64) float64 { return 1e-3 * x })
	for fret := 1; fret <= 22; fret++ {
		x := n.FretX(fret)
		top := n.Crown(fret, 0) + 1e-3*x
		for _, d := range []float64{-1.4, -0.7, 0, 0.35, 1.1} {
			near(t, "fret "+strconv.Itoa(fret), p.at(x+d), top+math.Sqrt(2.7*2.7-d*d)-2.7, 1e-4)
		}
	}
	x := (n.FretX(5) + n.FretX(6)) / 2
	near(t, "wood", p.at(x), 1e-3*x-1, 2e-3)
}

// TestSweepSends pushes the carriage ten times as fast as a hand and reads both fields of its line.
func TestSweepSends(t *testing.T) {
	b := openBench(t, 3)
	port, err := serial.Open(b.Gauges()[0].Path, &serial.Mode{BaudRate: 9600})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = port.Close() }()
	if err := port.SetReadTimeout(50 * time.Millisecond); err != nil {
		t.Fatal(err)
	}
	at := Placement{On: OnNeck, Serial: "QM-2611-0002", Attempt: 1, Track: Track{-17.5, -26}}
	arrived, err := b.Sweep(at, 10)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := b.Sweep(at, 10); err == nil {
		t.Error("a second push began while the first went on")
	}
	var text strings.Builder
	buf := make([]byte, 4096)
	for after := 0; after < 20; {
		n, err := port.Read(buf)
		if err != nil {
			t.Fatal(err)
		}
		text.Write(buf[:n])
		select {
		case <-arrived:
			after++
		default:
		}
	}
	var places []float64
	tops, rising, last := 0, true, math.Inf(-1)
	for _, frame := range strings.Split(text.String(), "\r\n") {
		channel, value, _ := strings.Cut(strings.TrimSuffix(frame, "mm"), ":")
		mm, err := strconv.ParseFloat(value, 64)
		if err != nil {
			continue // the first and the last may be torn
		}
		switch channel {
		case "X":
			if n := len(places); n > 0 && math.Abs(mm-places[n-1]) > 20 {
				places = places[:0] // the carriage was set down before fret 1
			}
			places = append(places, mm)
		case "L":
			switch {
			case rising && mm < last-0.1:
				tops, rising, last = tops+1, false, mm
			case !rising && mm > last+0.1:
				rising, last = true, mm
			case rising == (mm > last):
				last = mm
			}
		}
	}
	neck := b.necks["QM-2611-0002"]
	way := neck.FretX(22) - neck.FretX(1) + 2*beyondMM
	if len(places) < 1000 || math.Abs(places[len(places)-1]-places[0]-way) > 25 || tops != 22 {
		t.Errorf("%d places over %.1f mm and %d tops, want 1000 or more over %.1f and 22", len(places), places[len(places)-1]-places[0], tops, way)
	}
}

func TestSweepRefuses(t *testing.T) {
	b := openBench(t, 4)
	if _, err := b.Sweep(Placement{Serial: "QM-2611-0031"}, 1); err == nil {
		t.Error("an unknown neck was swept")
	}
	if _, err := b.Sweep(Placement{Serial: "QM-2611-0001"}, 0.1); err == nil {
		t.Error("a hurry of 0.1 was accepted")
	}
	if err := b.Unplug(CarriageID); err != nil {
		t.Fatal(err)
	}
	if _, err := b.Sweep(Placement{Serial: "QM-2611-0001", Track: Track{-17.5, -26}}, 1); !errors.Is(err, ErrUnplugged) {
		t.Errorf("unplugged: %v", err)
	}
}
