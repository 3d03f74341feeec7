package show

import (
	"context"
	"fmt"

	"sagitta/batch"
	"sagitta/inspect/unit"
)

// StudyLine is one row of a gauge's studies.
type StudyLine struct {
	batch.GaugeStudy
	Kind   string // in words
	Of     int
	Answer string // what came out, or how far it is
}

// studyRecord is what a list of studies is made of.
type studyRecord interface {
	Studies(ctx context.Context, gaugeID string) ([]batch.GaugeStudy, error)
	StudyReadings(ctx context.Context, studyID string) ([]batch.StudyReading, error)
}

// StudiesOf lists a gauge's studies, the newest first.
func StudiesOf(ctx context.Context, rec studyRecord, g batch.Gauge, lengths unit.Unit) ([]StudyLine, error) {
	all, err := rec.Studies(ctx, g.ID)
	if err != nil {
		return nil, err
	}
	lines := make([]StudyLine, 0, len(all))
	for _, st := range all {
		l := StudyLine{GaugeStudy: st, Kind: KindOfStudy(st.Plan.Kind)}
		steps, err := st.Plan.Steps()
		if err != nil {
			return nil, err
		}
		l.Of = len(steps)
		switch st.State {
		case batch.StudyFinished:
			readings, err := rec.StudyReadings(ctx, st.ID)
			if err != nil {
				return nil, err
			}
			l.Answer = StudyResultOf(st.Plan, batch.StandingStudy(readings), g.ResolutionMM, lengths).Answer
		case batch.StudyGivenUp:
			l.Answer = "given up: " + st.Reason
		default:
			l.Answer = fmt.Sprintf("%d of %d readings", st.Readings, l.Of)
		}
		lines = append(lines, l)
	}
	return lines, nil
}
