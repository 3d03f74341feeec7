package inspect

import "slices"

// rowKey is what a row of a result is about. Rows that differ in any part are different rows.
type rowKey struct {
	name, track        string
	string, fret, held int
}

// limits finds the limit of each row.
type limits struct{ all []Limit }

// find returns the limit that applies to a row, nil when none does: a named index beats "each", and of two that name as
// many indexes the one that names the track or string does.
func (l limits) find(row rowKey) *Limit {
	var best *Limit
	most := -1
	k := kindOf(row.name)
	for i := range l.all {
		limit := &l.all[i]
		if limit.Characteristic != row.name || limit.HeldFret != row.held {
			continue
		}
		if named := limit.named(row, k); named > most {
			best, most = limit, named
		}
	}
	return best
}

// named weighs the indexes of a row that the limit names: 3 for the track or string, 2 for the fret, nothing for "each"; -1
// where it names another.
func (l *Limit) named(row rowKey, k *Kind) int {
	weight := 0
	if k.Track && l.Track != each {
		if l.Track != row.track {
			return -1
		}
		weight += 3
	}
	if k.String && !l.String.Each {
		if l.String.Number != row.string {
			return -1
		}
		weight += 3
	}
	fret := l.Fret
	if k.UsualFret != 0 && fret.IsZero() {
		fret = NumberIndex(k.UsualFret)
	}
	if k.Fret && !fret.Each {
		if fret.Number != row.fret {
			return -1
		}
		weight += 2
	}
	return weight
}

// LimitFor returns the limit that applies to a characteristic of a result, nil when none does: a named index beats "each",
// and of two that name as many indexes the one that names the track or string does. Only the fields that name the
// characteristic are looked at.
func (s *Spec) LimitFor(c Characteristic) *Limit {
	return limits{s.Limits}.find(rowKey{c.Name, c.Track, c.String, c.Fret, c.HeldFret})
}

// eachTrack returns what "each" track means: the routine's tracks, or without a routine those in the readings.
func (n *neck) eachTrack() []string {
	if n.spec.Routine != nil && n.spec.Routine.Tracks != nil {
		return n.spec.Routine.Tracks
	}
	return n.readTracks()
}

// readTracks names the tracks in the readings, in order: profiles, beams, leaves.
func (n *neck) readTracks() []string {
	var names []string
	add := func(name string) {
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	for _, t := range n.tracks {
		add(t.name)
	}
	for i := range n.readings.Beam {
		add(n.readings.Beam[i].Track)
	}
	for i := range n.readings.Leaves {
		add(n.readings.Leaves[i].Track)
	}
	return names
}

// required yields the rows that the limits ask for, whether the readings have them or not.
func (n *neck) required(yield func(rowKey)) {
	eachTrack, eachString := n.eachTrack(), n.spec.StringNumbers()
	for i := range n.spec.Limits {
		l := &n.spec.Limits[i]
		k := kindOf(l.Characteristic)
		if k.absent != nil && k.absent(n.spec) {
			continue
		}
		tracks, strings, frets := []string{""}, []int{0}, []int{0}
		switch {
		case k.Track && l.Track != each:
			tracks = []string{l.Track}
		case k.Track:
			tracks = eachTrack
		}
		if k.Track && len(tracks) == 0 {
			yield(rowKey{name: l.Characteristic, track: each})
			continue
		}
		switch {
		case k.String && l.String.Each:
			strings = eachString
		case k.String:
			strings = []int{l.String.Number}
		}
		if k.Fret {
			frets = n.requiredFrets(l)
		}
		for _, t := range tracks {
			for _, s := range strings {
				for _, f := range frets {
					yield(rowKey{l.Characteristic, t, s, f, l.HeldFret})
				}
			}
		}
	}
}

// requiredFrets returns the frets of a limit that has a fret index. "Each" fret of what has a usual fret means the routine's
// action frets, or without a routine those at which the readings hold an action of the limit's held fret (the usual fret when
// there are none).
func (n *neck) requiredFrets(l *Limit) []int {
	k := kindOf(l.Characteristic)
	switch {
	case !l.Fret.Each:
		return []int{l.fret()}
	case k.UsualFret == 0:
		first, last := k.fretRange(n.spec)
		frets := make([]int, 0, last-first+1)
		for f := first; f <= last; f++ {
			frets = append(frets, f)
		}
		return frets
	}
	if r := n.spec.Routine; r != nil && len(r.ActionFrets) > 0 {
		return r.ActionFrets
	}
	frets := []int{}
	for i := range n.readings.Action {
		if h := &n.readings.Action[i]; h.HeldFret == l.HeldFret && !slices.Contains(frets, h.Fret) {
			frets = append(frets, h.Fret)
		}
	}
	if len(frets) == 0 {
		frets = append(frets, k.UsualFret)
	}
	return frets
}
