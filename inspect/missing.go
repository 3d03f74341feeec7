package inspect

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// MissingFor says in words what the readings lack for a characteristic of the given name, a phrase for each kind of
// reading: "crowns of the bass side at frets 1, 7 and 17", "pitch of string 5". They are the points that the name's rows
// without a verdict rest on (see Involved), and the strings whose pitch keeps a value from being judged. Nil where the
// readings have all that is known to be needed. res is what Evaluate made of the readings.
func MissingFor(s *Spec, r *Readings, res *Result, name string) []string {
	k := kindOf(name)
	if k.Besides != "" {
		return []string{k.Besides}
	}
	if k.absent != nil && k.absent(s) {
		return []string{"a board with a radius: the specification calls it flat"}
	}
	if k.Pluck && s.Pluck == nil {
		return []string{"the pluck in the specification ([pluck])"}
	}
	p := &points{spec: s}
	for _, c := range openRows(s, res, name) {
		for _, ref := range Involved(s, c) {
			if !r.has(ref) {
				p.add(ref)
			}
		}
		if c.Value != nil && k.Gated {
			for _, n := range s.StringNumbers() {
				if ref := (PointRef{Kind: PointPitch, String: n}); !(s.pitchDeclared() && r.PitchDeclared) && !r.has(ref) {
					p.add(ref)
				}
			}
		}
	}
	missing := bendMissing(s, r, k, pointPhrases(p.all))
	if len(s.TrackNames()) < k.Tracks && len(r.Profile) < k.Tracks {
		missing = append(missing, map[int]string{1: "a track", 2: "a second track", 3: "a third track"}[k.Tracks])
	}
	return missing
}

// bendMissing says, where no point is missing, that the bend curve is along which crowns of slanted frets are carried.
func bendMissing(s *Spec, r *Readings, k *Kind, missing []string) []string {
	if len(missing) > 0 || !k.Across || !s.Neck.MultiScale() || len(r.Profile) < k.Tracks { // without a track that one is missing
		return missing
	}
	_, joint := levelFrets(s)
	return []string{fmt.Sprintf("crowns up to fret %d, at least five on each track, for the bend curve that carries those of slanted frets", joint)}
}

// openRows returns a result's rows of a name that are not measured, and where it has no row of the name at all those that
// the specification's tracks and strings would have.
func openRows(s *Spec, res *Result, name string) []Characteristic {
	var open []Characteristic
	there := false
	for _, c := range res.Characteristics {
		if c.Name != name {
			continue
		}
		there = true
		if c.Zone == NotMeasured {
			open = append(open, c)
		}
	}
	if there && !slices.ContainsFunc(open, func(c Characteristic) bool { return c.Track == each }) {
		return open
	}
	k := kindOf(name)
	tracks, numbers, frets := []string{""}, []int{0}, []int{0}
	if k.Track {
		tracks = s.TrackNames()
	}
	if k.String {
		numbers = s.StringNumbers()
	}
	switch {
	case k.UsualFret != 0:
		frets = []int{k.UsualFret}
	case k.Fret:
		first, last := k.fretRange(s)
		frets = frets[:0]
		for f := first; f <= last; f++ {
			frets = append(frets, f)
		}
	}
	open = nil
	for _, t := range tracks {
		for _, n := range numbers {
			for _, f := range frets {
				open = append(open, Characteristic{Name: name, Track: t, String: n, Fret: f})
			}
		}
	}
	return open
}

// has reports that readings hold a point.
func (r *Readings) has(p PointRef) bool {
	switch p.Kind {
	case PointCrown:
		return slices.ContainsFunc(r.Profile, func(t TrackReading) bool {
			return t.Track == p.Track && p.Fret <= len(t.ZMM) && t.ZMM[p.Fret-1] != nil
		})
	case PointBeam:
		return slices.ContainsFunc(r.Beam, func(b BeamReading) bool { return b.Track == p.Track })
	case PointLeafPasses, PointLeafStops:
		return slices.ContainsFunc(r.Leaves, func(l LeafReading) bool {
			return l.Track == p.Track && (p.Kind == PointLeafPasses && l.PassesMM != nil || p.Kind == PointLeafStops && l.StopsMM != nil)
		})
	case PointAction:
		return slices.ContainsFunc(r.Action, func(h HeightReading) bool {
			return h.String == p.String && h.Fret == p.Fret && h.HeldFret == p.HeldFret
		})
	case PointNutHeight:
		return slices.ContainsFunc(r.NutHeight, func(h HeightReading) bool { return h.String == p.String })
	case PointPitch:
		return slices.ContainsFunc(r.Pitch, func(h PitchReading) bool { return h.String == p.String })
	}
	return false
}

// pointPhrases puts points in words, those that differ in a fret or a string only together.
func pointPhrases(all []PointRef) []string {
	var heads []string
	numbers := map[string][]int{}
	add := func(head string, n int) {
		if _, there := numbers[head]; !there {
			heads = append(heads, head)
		}
		if !slices.Contains(numbers[head], n) {
			numbers[head] = append(numbers[head], n)
		}
	}
	for _, p := range all {
		switch p.Kind {
		case PointCrown:
			add("crowns of the "+Side(p.Track)+" at fret", p.Fret)
		case PointBeam:
			add("beam reading of the "+Side(p.Track)+" at fret", p.Fret)
		case PointLeafPasses, PointLeafStops:
			add("feeler leaves of the "+Side(p.Track)+" at fret", p.Fret)
		case PointAction:
			add(fmt.Sprintf("action %s over fret %d, of string", Pressed(p.HeldFret), p.Fret), p.String)
		case PointNutHeight:
			add("nut height of string", p.String)
		case PointPitch:
			add("pitch of string", p.String)
		}
	}
	phrases := make([]string, len(heads))
	for i, head := range heads {
		slices.Sort(numbers[head])
		if strings.HasSuffix(head, "string") {
			slices.Reverse(numbers[head]) // from bass to treble
		}
		phrases[i] = head + numbersWords(numbers[head])
	}
	return phrases
}

// numbersWords ends a phrase with numbers in rising or falling order, runs of three and more as such: " 5", "s 1, 7 and 17",
// "s 6 to 1".
func numbersWords(n []int) string {
	var parts []string
	for i := 0; i < len(n); {
		j := i
		for j+1 < len(n) && (n[j+1]-n[j] == 1 || n[j+1]-n[j] == -1) && n[j+1]-n[j] == n[i+1]-n[i] {
			j++
		}
		if j-i < 2 {
			j = i
			parts = append(parts, strconv.Itoa(n[i]))
		} else {
			parts = append(parts, fmt.Sprintf("%d to %d", n[i], n[j]))
		}
		i = j + 1
	}
	if len(n) == 1 {
		return " " + parts[0]
	}
	last := len(parts) - 1
	if last == 0 {
		return "s " + parts[0]
	}
	return "s " + strings.Join(parts[:last], ", ") + " and " + parts[last]
}
