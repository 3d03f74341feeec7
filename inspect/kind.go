package inspect

// Kind is everything that is true of one characteristic. The catalogue holds one entry for each; whoever lists, names, draws,
// limits or explains characteristics reads it there.
type Kind struct {
	Name    string // in files
	Words   string // for people
	Plain   string // for who holds the neck, where that is another; "" for Words
	Formula string // in words and signs
	Source  string // of the formula
	Sign    string // what its sign tells: "positive is a forward bow"; of what has none, why: "never below 0"
	Signed  bool   // whether the sign is shown
	Width   bool   // a width from 0 on, which spreads further up than down
	Unit    string // "mm", "deg" or "cents"; DecimalsOf says how it is written
	// Around is what limits around a golden neck's value leave to each side unless told otherwise, in the unit: about half of what the trade
	// leaves between its limits (common practice, no source); 0 for what is not limited so.
	Around float64
	// LabelFret is where a drawing of limits writes one that is of a whole line or of each fret, so that few meet.
	LabelFret int

	Track, String, Fret, HeldFret bool // what indexes it
	UsualFret                     int  // meant where the fret is left out, and then "each" fret means the routine's; 0: it cannot be left out
	Datum                         bool // taken over the datum frets, which go with its name
	ReliefFret                    bool // taken at the datum's relief fret, which is no index
	Found                         bool // at the fret where it was found, which is no index

	Limited   bool // limits may be set on it
	Gated     bool // it is judged at pitch only
	Column    bool // a sheet has it even where nothing limits it
	ForPlayer bool // the sheet for the instrument's case prints it

	Points  []string // kinds of points that it is computed from, the one that decides most first
	Own     string   // the kind of the one point that it stands for, "" where several share it
	Tracks  int      // how many tracks it takes, 0 for none
	Across  bool     // it is taken in cross-sections of the neck, to which crowns of slanted frets are carried
	Pluck   bool     // it takes the specification's pluck
	Besides string   // what it is made of that is no point of a routine, "" for nothing

	Step         string // of rework, "" for what has no limits
	Above, Below Remedy // for a value beyond its upper and its lower limit; the zero Remedy for what cannot be or has none
	Stands       bool   // one that fails is told as a fret that stands high or low
	// What a value beyond its upper limit, below its lower limit, and below that and 0 is for who holds the neck, with {side}, {string}, {fret} and
	// {held} for its place; "" where the trade has no word. OfZero: they hold only where the limit lies on their side of 0.
	TooMuch, TooLittle, Negative string
	OfZero                       bool

	frets      func(s *Spec) (first, last int)                     // where it exists, nil for every fret
	absent     func(s *Spec) bool                                  // whether a neck of the specification has none, limit or not, nil for never
	compute    func(e *evaluation) error                           // adds its rows, nil where another's adds them too
	involved   func(p *points, c *Characteristic)                  // adds the points that determine one, nil for none
	work       func(n *neck, w *workings, c *Characteristic) error // adds the intermediate values
	incomplete func(n *neck, c *Characteristic) bool               // whether the value may hide a worse one that was not measured, nil for never
	repair     func(n *neck, r *Readings, c *Characteristic)       // what the repairer has to reach, nil for nothing

	place int // in a result's list
}

// The catalogue's entries in their order and by name.
var (
	order []*Kind
	kinds = map[string]*Kind{}
)

// init fills both: the entries hold functions that look into them, so that no initialiser can.
func init() {
	for i, k := range catalogue() {
		k.place = i
		order, kinds[k.Name] = append(order, &k), &k
	}
}

// Catalogue returns every characteristic in the order in which a result and a sheet list them.
func Catalogue() []Kind {
	all := make([]Kind, len(order))
	for i, k := range order {
		all[i] = *k
	}
	return all
}

// KindOf returns the entry of a characteristic, the zero Kind for an unknown name.
func KindOf(name string) Kind { return *kindOf(name) }

// kindOf is KindOf without a copy.
func kindOf(name string) *Kind {
	if k, ok := kinds[name]; ok {
		return k
	}
	return &unknown
}

var unknown Kind

// CharacteristicNames returns the characteristics that a limit may name, in the order in which a result lists them.
func CharacteristicNames() []string {
	var names []string
	for _, k := range order {
		if k.Limited {
			names = append(names, k.Name)
		}
	}
	return names
}

// AtEveryFret reports a characteristic that has a value at most frets: a list of them shows the worst.
func (k Kind) AtEveryFret() bool { return k.Fret && !k.String }

// fretRange returns the frets at which a characteristic with a fret index exists.
func (k *Kind) fretRange(s *Spec) (first, last int) {
	if k.frets != nil {
		return k.frets(s)
	}
	return 1, s.Neck.Frets
}

// OwnPoint returns the one measuring point that a characteristic stands for, so that it shows how the point is; ok is false
// where several share it.
func OwnPoint(c Characteristic) (p PointRef, ok bool) {
	own := kindOf(c.Name).Own
	if own == "" || own == PointBeam && c.Method != ByBeam {
		return PointRef{}, false
	}
	return PointRef{Kind: own, Track: c.Track, Fret: c.Fret, String: c.String, HeldFret: c.HeldFret}, true
}

// Bounds returns a limit's lower bound, target and upper bound in its characteristic's unit, nil where left out.
func (l *Limit) Bounds() (lower, target, upper *float64) {
	switch kindOf(l.Characteristic).Unit {
	case "deg":
		return l.LowerDeg, l.TargetDeg, l.UpperDeg
	case "cents":
		return l.LowerCents, l.TargetCents, l.UpperCents
	}
	return l.LowerMM, l.TargetMM, l.UpperMM
}
