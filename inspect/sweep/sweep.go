// Package sweep finds every fret's crown in one sweep of an indicator on a carriage along a track: the indicator's heights
// and a position encoder's places, each frame with its time, become crowns with their own uncertainty. It does no I/O
// and reads no clock.
//
// The steps, one file each: the frames' times are put straight (times.go), the position at each height's time is
// interpolated (merge.go), the tops that the tip passed over are found (tops.go), matched to the fret formula, which
// also calibrates the encoder (match.go), and each crown's height is fitted with the tip's known path over it (fit.go,
// shape.go). What is not good enough is asked for again (quality.go).
package sweep

import (
	"errors"
	"fmt"
	"math"
)

// Sample is one frame of a stream.
type Sample struct {
	AtS float64 // when it came, seconds from any beginning common to both streams
	MM  float64 // height, positive up and corrected; or the encoder's place
}

// Options describe the board, the tip and the streams. Zero values take the default in brackets.
type Options struct {
	FretsMM        []float64 // places of frets 1 to N along the track, mm from its nut, rising
	CrownRadiusMM  float64   // of a fret's crown across the fret, roughly: the sweep shows it [1.2]
	TipRadiusMM    float64   // of the indicator's spherical tip [1.5]
	NoiseMM        float64   // standard uncertainty of one height: repeatability and resolution [0.002]
	PositionStepMM float64   // the encoder's resolution [0.01]
}

func (o Options) withDefaults() Options {
	for _, d := range []struct {
		to *float64
		mm float64
	}{{&o.CrownRadiusMM, 1.2}, {&o.TipRadiusMM, 1.5}, {&o.NoiseMM, 0.002}, {&o.PositionStepMM, 0.01}} {
		if *d.to == 0 {
			*d.to = d.mm
		}
	}
	return o
}

// fretX is the place of fret n, mm from the track's nut; fret 0 is the nut.
func (o Options) fretX(n int) float64 {
	if n == 0 {
		return 0
	}
	return o.FretsMM[n-1]
}

// State says what a sweep gave for one fret.
type State string

// A good crown may be used. A doubtful one has a value that must not be used. A missing one has none.
const (
	Good     State = "good"
	Doubtful State = "doubtful"
	Missing  State = "missing"
)

// Crown is what a sweep gave for one fret. Lengths are mm. Where State is Missing only Fret and Why are meant.
type Crown struct {
	Fret     int
	State    State
	Why      string  // why it is not good, and what to do; empty when it is
	ZMM      float64 // height of the crown
	UMM      float64 // standard uncertainty of ZMM from the fit: the heights' noise, the places' steps and the frames' times
	XMM      float64 // its place by the calibrated encoder
	OffMM    float64 // XMM less the formula's place
	Samples  int     // heights on the crown
	MisfitMM float64 // root mean square of the heights less the fitted path
	Misfit   float64 // reduced chi-square: 1 where heights scatter as their uncertainty says
	FlatMM   float64 // width of the flat that wear or a file left, 0 where the crown is round
	From, To int     // the heights that the crown rests on lie within heights[From:To]
}

// Found is what one sweep gave.
type Found struct {
	Crowns []Crown // one for every fret, fret 1 first
	// The encoder's calibration: position = OffsetMM + Scale * x. Scale is negative where its counting runs to the nut.
	OffsetMM, Scale float64
	LatencyS        float64 // how much later the heights come than the positions
	TimingS         float64 // standard deviation that the frames' times show against one another
	SpeedMMS        float64 // mean speed over the crowns
	RadiusMM        float64 // effective radius, crown and tip together, that the crowns show
}

// Find finds the crowns in one sweep. The sweep may run either way, begin late, end early, stop and go back a little.
// Streams of equal length whose times are equal one by one are two fields of one line: each height was measured at its
// position, whenever both came.
//
// The error is a sentence: streams too short, no frets recognised. Nothing is to be used then.
func Find(heights, positions []Sample, o Options) (*Found, error) {
	o = o.withDefaults()
	if err := check(heights, positions, o); err != nil {
		return nil, err
	}
	if inPairs(heights, positions) {
		heights, positions = counted(heights), counted(positions)
	} else {
		heights, positions = steady(heights), steady(positions)
	}
	p := &Found{TimingS: firstTiming}
	var tops []top
	var marked []int
	scale, shape := 1.0, path{crown: o.CrownRadiusMM, tip: o.TipRadiusMM}
	for round := 1; round <= mostRounds; round++ {
		track := merge(heights, positions, p.LatencyS)
		tops = findTops(track, o, shape, scale, p.TimingS)
		var err error
		if marked, err = match(tops, o); err != nil {
			return nil, err
		}
		place := calibrate(tops, marked, o)
		p.OffsetMM, p.Scale = place.offset, place.scale
		p.LatencyS += place.latency
		scale = math.Abs(place.scale)
		p.crowns(track, place, tops, marked, o, &shape)
		if round >= 2 && math.Abs(place.latency) < sameS {
			break
		}
	}
	return p, nil
}

// Latency and timing, found from the crowns, are put into finding them again: twice, which changes a crown by
// micrometres, and oftener only while the latency still changes by more than this.
const (
	mostRounds = 5
	sameS      = 5e-4
)

// check refuses what no crown can be found in.
func check(heights, positions []Sample, o Options) error {
	if len(o.FretsMM) == 0 {
		return errors.New("a sweep needs the places of the frets along the track; found none")
	}
	for n := range o.FretsMM {
		if !(o.fretX(n+1) > o.fretX(n)) || math.IsInf(o.fretX(n+1), 0) {
			return fmt.Errorf("the places of the frets along the track must rise from its nut; fret %d stands at %g mm after %g mm", n+1, o.fretX(n+1), o.fretX(n))
		}
	}
	for _, s := range []struct {
		name string
		of   []Sample
	}{{"indicator", heights}, {"position encoder", positions}} {
		if len(s.of) < fewest {
			return fmt.Errorf("the %s sent %d of the %d readings that a sweep needs: is it connected?", s.name, len(s.of), fewest)
		}
		for i, one := range s.of {
			if math.IsNaN(one.MM) || math.IsInf(one.MM, 0) || math.IsNaN(one.AtS) || math.IsInf(one.AtS, 0) {
				return fmt.Errorf("reading %d of the %s is no finite number: %g mm at %g s", i+1, s.name, one.MM, one.AtS)
			}
			if i > 0 && one.AtS < s.of[i-1].AtS {
				return fmt.Errorf("reading %d of the %s came before the one in front of it: %g s after %g s", i+1, s.name, one.AtS, s.of[i-1].AtS)
			}
		}
	}
	return nil
}

// fewest is how many frames a stream must have: fewer than five a crown over five crowns decide nothing.
const fewest = 25
