package batch

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"time"

	"sagitta/batch/study"
)

// StudyKind is what a gauge study looks at.
type StudyKind string

// The kinds of gauge study that are measured at the bench. CrossedStudy: parts by appraisers by trials; TypeOneStudy: one
// master again and again; LinearityStudy: several masters over the travel.
const (
	CrossedStudy   StudyKind = "crossed"
	TypeOneStudy   StudyKind = "type-1"
	LinearityStudy StudyKind = "linearity"
)

// GaugeStudy is a planned study of a gauge; its plan is frozen when it begins.
type GaugeStudy struct {
	ID        string
	GaugeID   string
	At        time.Time
	By        string
	Plan      StudyPlan
	State     StudyState
	StateAt   time.Time
	StateBy   string
	Reason    string // why it was given up
	Readings  int    // standing ones
	UsedSince time.Time
	UsedBy    string // who made its outcome the gauge's uncertainty; "" while nobody did
}

// StudyState says how far a study is.
type StudyState string

// The states of a study.
const (
	StudyOpen     StudyState = "open"
	StudyFinished StudyState = "finished"
	StudyGivenUp  StudyState = "given up"
)

// StudyPlan is what a study measures, in which order. Lengths are mm.
type StudyPlan struct {
	Kind        StudyKind `json:"kind"`
	About       string    `json:"about"`                  // what is measured, in words: "crown, bass side, fret 7"
	Parts       []string  `json:"parts,omitempty"`        // crossed
	Appraisers  []string  `json:"appraisers"`             // type-1 and linearity: one
	Trials      int       `json:"trials"`                 // crossed: of each part by each appraiser; else readings of each master
	Seed        uint64    `json:"seed"`                   // of the random order
	References  []float64 `json:"references,omitempty"`   // the masters' values
	ToleranceMM float64   `json:"tolerance_mm,omitempty"` // width of the tolerance that the gauge is to judge; 0: none
}

// StudyStep is one reading that a study asks for.
type StudyStep struct {
	study.Step
	ReferenceMM float64 // of the master; crossed studies have none
}

// StudyReading is one reading of a study. Nothing is changed: a withdrawn row takes back the one it supersedes.
type StudyReading struct {
	ID          string
	StudyID     string
	Seq         int
	At          time.Time
	By          string
	Part        string
	Appraiser   string
	Trial       string
	ReferenceMM float64
	ValueMM     float64 // corrected
	CheckID     string
	Decoder     string
	Raw         []byte
	Sent        string // digits as the gauge sent them
	Unit        string
	Withdrawn   bool
	Supersedes  string
}

// Steps is the plan's order. The error says what is wrong with the plan: counts, names, references.
func (p StudyPlan) Steps() ([]StudyStep, error) {
	if p.ToleranceMM < 0 || p.ToleranceMM > 100 || math.IsNaN(p.ToleranceMM) {
		return nil, fmt.Errorf("tolerance: found %g mm; allowed: 0 (none) to 100 mm", p.ToleranceMM)
	}
	if p.Kind == CrossedStudy {
		plan, err := study.Plan(p.Parts, p.Appraisers, p.Trials, p.Seed)
		if err != nil {
			return nil, err
		}
		if n := len(plan); n > 1000 {
			return nil, fmt.Errorf("a study of %d readings is too long for a bench; allowed: 1000", n)
		}
		steps := make([]StudyStep, len(plan))
		for i, s := range plan {
			steps[i] = StudyStep{Step: s}
		}
		return steps, nil
	}
	return p.masterSteps()
}

// masterSteps is the order of a study of masters: one master after the other, each the number of times planned.
func (p StudyPlan) masterSteps() ([]StudyStep, error) {
	least, masters := study.TypeOneLeast, 1
	switch p.Kind {
	case TypeOneStudy:
	case LinearityStudy:
		least, masters = 2, 2
	default:
		return nil, fmt.Errorf("kind of study: found %q; allowed: crossed, type-1, linearity", p.Kind)
	}
	if len(p.Appraisers) != 1 || p.Appraisers[0] == "" {
		return nil, fmt.Errorf("appraisers: found %d; a %s study is measured by one", len(p.Appraisers), p.Kind)
	}
	if len(p.References) < masters || (p.Kind == TypeOneStudy && len(p.References) > 1) {
		return nil, fmt.Errorf("masters: found %d; needed: %s", len(p.References), map[StudyKind]string{TypeOneStudy: "one", LinearityStudy: "at least 2 that differ"}[p.Kind])
	}
	if p.Trials < least || p.Trials*len(p.References) > 1000 {
		return nil, fmt.Errorf("readings of each master: found %d; allowed: %d or more, 1000 in all", p.Trials, least)
	}
	var steps []StudyStep
	for i, r := range p.References {
		if math.IsNaN(r) || math.Abs(r) > 1000 || slices.Contains(p.References[:i], r) {
			return nil, fmt.Errorf("master %d: found %g mm; needed: values within 1000 mm that differ", i+1, r)
		}
		for n := 1; n <= p.Trials; n++ {
			steps = append(steps, StudyStep{
				Step:        study.Step{Appraiser: p.Appraisers[0], Part: strconv.FormatFloat(r, 'g', -1, 64), Trial: strconv.Itoa(n), Place: n, Places: p.Trials},
				ReferenceMM: r,
			})
		}
	}
	return steps, nil
}

// StandingStudy are the readings that count: not withdrawn and not superseded, in their order.
func StandingStudy(all []StudyReading) []StudyReading {
	gone := map[string]bool{}
	for _, r := range all {
		if r.Supersedes != "" {
			gone[r.Supersedes] = true
		}
	}
	var standing []StudyReading
	for _, r := range all {
		if !r.Withdrawn && !gone[r.ID] {
			standing = append(standing, r)
		}
	}
	return standing
}

// NextStep is the first step without a standing reading, nil when the study is complete.
func NextStep(steps []StudyStep, standing []StudyReading) *StudyStep {
	type key struct{ appraiser, part, trial string }
	taken := make(map[key]bool, len(standing))
	for _, r := range standing {
		taken[key{r.Appraiser, r.Part, r.Trial}] = true
	}
	for i, s := range steps {
		if !taken[key{s.Appraiser, s.Part, s.Trial}] {
			return &steps[i]
		}
	}
	return nil
}
