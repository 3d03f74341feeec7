package bench

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/devices/decode"
	"sagitta/inspect"
	"sagitta/inspect/sweep"
)

// Sweep is a sweep of the carriage that is asked for or runs.
type Sweep struct {
	Track    string
	Running  bool
	WayMM    float64 // that the carriage has been pushed
	Readings int     // collected so far, of both gauges
	Open     []int   // frets of the track that are still asked for
	Frets    int
}

// Swept is what the newest sweep of this inspection gave. Lengths are mm.
type Swept struct {
	Track    string
	Crowns   []SweptCrown // one for every fret
	Taken    int          // crowns recorded
	Again    []int        // frets asked for again
	SpeedMMS float64
	RadiusMM float64
}

// SweptCrown is one fret of a sweep; Taken says that it was recorded.
type SweptCrown struct {
	sweep.Crown
	Taken bool
}

// Words says what a sweep gave in a sentence or two: how many crowns, and what is asked for again and why.
func (s *Swept) Words() string {
	words := fmt.Sprintf("Swept the %s: %s taken.", inspect.Side(s.Track), tell.Count(s.Taken, "crown"))
	const most = 2 // reasons said; the table has them all
	for i, n := range s.Again {
		if i == most {
			words += " Also " + fretWords(s.Again[most:]) + "."
			break
		}
		why := s.Crowns[n-1].Why
		words += " " + strings.ToUpper(why[:1]) + why[1:]
		if !strings.HasSuffix(words, "?") {
			words += "."
		}
	}
	return words
}

// fretWords lists frets: "fret 9", "frets 1 to 4, 9".
func fretWords(frets []int) string {
	var parts []string
	for i := 0; i < len(frets); {
		k := i
		for k+1 < len(frets) && frets[k+1] == frets[k]+1 {
			k++
		}
		switch k - i {
		case 0:
			parts = append(parts, strconv.Itoa(frets[i]))
		case 1:
			parts = append(parts, strconv.Itoa(frets[i]), strconv.Itoa(frets[k]))
		default:
			parts = append(parts, fmt.Sprintf("%d to %d", frets[i], frets[k]))
		}
		i = k + 1
	}
	if len(frets) == 1 {
		return "fret " + parts[0]
	}
	return "frets " + strings.Join(parts, ", ")
}

// Words says what to do.
func (s *Sweep) Words() string {
	side := inspect.Side(s.Track)
	switch {
	case s.Running:
		return fmt.Sprintf("Push the carriage evenly along the %s to beyond fret %d, then let it stand.", side, s.Frets)
	case len(s.Open) < s.Frets && len(s.Open) > 0:
		return fmt.Sprintf("Sweep the %s again for %s, or choose a fret on the drawing and place the indicator on it.", side, fretWords(s.Open))
	}
	return fmt.Sprintf("Put the carriage before fret 1 on the %s and begin the sweep.", side)
}

// shownSweep is the sweep that is asked for, nil where none is.
func (n *neck) shownSweep(gauges []batch.Gauge) *Sweep {
	track := n.sweepTrack(gauges)
	if track == "" {
		return nil
	}
	return &Sweep{Track: track, Frets: n.Spec.Neck.Frets, Open: n.openOn(track)}
}

// shown is the running sweep's part of the snapshot.
func (s sweeping) shown(b *Bench, shot *Snapshot) {
	s.neck.shown(b, shot)
	if shot.Sweep == nil {
		return
	}
	shot.Sweep.Running, shot.Sweep.Readings = true, len(s.run.frames)
	if s.run.high > s.run.low {
		shot.Sweep.WayMM = s.run.high - s.run.low
	}
}

// capture is the whole sweep as a capture file: every frame of both gauges as it came, with its time from the first. It
// is what the crowns can be found from again.
func (run *sweepRun) capture() []byte {
	c := decode.Capture{Header: [][2]string{
		{"pass", "along the " + inspect.Side(run.track) + ", begun " + run.began.UTC().Format("2006-01-02 15:04:05") + " UTC"},
		{"indicator", channelWords(&run.indicator)},
		{"position", channelWords(&run.encoder)},
		{"decoder", run.frames[0].Decoder},
	}}
	for _, r := range run.frames {
		c.Chunks = append(c.Chunks, decode.Chunk{At: run.since(r), Bytes: r.Raw})
	}
	var out bytes.Buffer
	if _, err := c.WriteTo(&out); err != nil {
		return nil // a buffer takes everything
	}
	return out.Bytes()
}

func channelWords(g *batch.Gauge) string {
	if g.Channel == "" {
		return g.Name
	}
	return g.Name + ", channel " + g.Channel
}
