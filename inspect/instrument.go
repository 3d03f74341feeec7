package inspect

// Kinds of instrument, its neck's joint, its bridge, and what its strings are made of, as a specification names them.
const (
	Electric      = "electric"
	SteelAcoustic = "steel-string acoustic"
	Classical     = "classical"
	BassGuitar    = "bass"

	SetJoint = "set" // glued or of one piece with the body
	BoltOn   = "bolt-on"

	SaddlePerString = "saddle per string" // each is raised and lowered by itself; where nothing is given
	TwoPosts        = "two posts"         // the bridge is raised and lowered at its bass and treble ends
	OneSaddle       = "one saddle"        // one piece under all strings, made lower by taking material off
	FloatingBridge  = "floating"          // a saddle for each string, the whole held by springs against the strings

	Steel = "steel"
	Nylon = "nylon"
)

// Myself is who does repairs where whoever measures does all work; ByRepairer where they are handed on.
const (
	ByRepairer = "repairer"
	Myself     = "myself"
)

// Words that a specification may use, in the order in which they are offered.
func InstrumentKinds() []string { return []string{Electric, SteelAcoustic, Classical, BassGuitar} }
func Joints() []string          { return []string{BoltOn, SetJoint} }
func Bridges() []string         { return []string{SaddlePerString, TwoPosts, OneSaddle, FloatingBridge} }
func Repairs() []string         { return []string{ByRepairer, Myself} }
func RodEnds() []string         { return []string{"headstock", "body"} }
func Materials() []string       { return []string{Steel, Nylon} }

// instrument is what is usual for a kind of instrument; common practice, no source.
type instrument struct {
	reliefMM float64  // worked towards where neither a target nor two limits say otherwise
	rod      RodModel // before anything is known of the model; the zero value for the usual one
	material string   // of its strings
}

// instrument returns what is usual for the specification's kind of instrument. Relief: the middle of what the trade aims at
// between fret 1 and the joint (0.10 to 0.25 mm on a steel-string acoustic, 0.08 to 0.25 on a classical, 0.25 to 0.40 on a bass), 0.30 for an
// ordinary electric and where no kind is given. A stiff bass neck moves 0.03 to 0.10 mm with a quarter turn, read as two standard
// deviations each way.
func (s *Spec) instrument() instrument {
	i := instrument{reliefMM: DefaultReliefMM, material: Steel}
	switch s.Neck.Kind {
	case SteelAcoustic:
		i.reliefMM = 0.18
	case Classical:
		i.reliefMM, i.material = 0.17, Nylon
	case BassGuitar:
		i.reliefMM, i.rod = 0.33, newRodModel(0.26, 0.07)
	}
	return i
}

// UsualReliefMM is what relief is worked towards, mm, where the limits say neither a target nor two bounds.
func (s *Spec) UsualReliefMM() float64 { return s.instrument().reliefMM }

// UsualRod is what is known of the truss rod's effect before any neck of the model has taught it.
func (s *Spec) UsualRod() RodModel { return s.instrument().rod }

// MaterialOf is what a string is made of: what it says itself, else what is usual for the kind of instrument.
func (s *Spec) MaterialOf(t *String) string {
	if t.Material != "" {
		return t.Material
	}
	return s.instrument().material
}

// BridgeKind is the kind of bridge, that with a saddle for each string where none is given.
func (n *NeckSpec) BridgeKind() string {
	if n.Bridge == "" {
		return SaddlePerString
	}
	return n.Bridge
}
