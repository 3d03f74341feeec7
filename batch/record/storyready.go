package record

import (
	"encoding/json"
	"fmt"
	"strconv"

	"github.com/google/uuid"

	"sagitta/batch"
	"sagitta/inspect"
)

// ready is a story with everything worked out that needs no look at the record.
type ready struct {
	batch.Story
	id       string
	attempts []readyAttempt
}

type readyAttempt struct {
	*batch.StoryAttempt
	id       string
	gauges   string
	verdicts []readyVerdict
}

type readyVerdict struct {
	batch.Verdict
	result         string
	digest         string
	failing, words string
	relief         *float64
	reliefU        float64
}

func (w *stories) ready(s batch.Story) (*ready, error) {
	if err := checkStory(&s); err != nil {
		return nil, err
	}
	if err := w.badges.refuse("serial number", s.Serial); err != nil {
		return nil, err
	}
	ids := new(nextID)
	r := &ready{Story: s, attempts: make([]readyAttempt, len(s.Attempts))}
	var err error
	if r.id, err = ids.next(); err != nil {
		return nil, err
	}
	for i := range s.Attempts {
		a := readyAttempt{StoryAttempt: &s.Attempts[i]}
		if a.id, err = ids.next(); err != nil {
			return nil, err
		}
		if a.Station == "" {
			a.Station = w.t.station
		}
		if a.gauges, err = usesText(a.Gauges); err != nil {
			return nil, err
		}
		for _, u := range a.Gauges {
			w.used[u.GaugeID] = w.used[u.GaugeID].with(a.StartedAt)
		}
		for _, v := range a.Verdicts {
			v.InspectionID, v.LastSeq = a.id, 0
			if v.ID, err = ids.next(); err != nil {
				return nil, err
			}
			if v.At.IsZero() {
				v.At = a.StartedAt
			}
			rv, err := w.readyVerdict(v)
			if err != nil {
				return nil, fmt.Errorf("the story of %q: %w", s.Serial, err)
			}
			a.verdicts = append(a.verdicts, rv)
		}
		r.attempts[i] = a
	}
	return r, nil
}

// readyVerdict works out what is kept with a verdict of a story.
func (w *stories) readyVerdict(v batch.Verdict) (readyVerdict, error) {
	if err := completeVerdict(&v); err != nil {
		return readyVerdict{}, err
	}
	text, err := json.Marshal(v.Result)
	if err != nil {
		return readyVerdict{}, fmt.Errorf("%w: %v", ErrInput, err)
	}
	r := readyVerdict{Verdict: v, result: string(text)}
	if c := inspect.FirstFailing(v.Result); c != nil {
		r.failing, r.words = c.Name, inspect.Words(w.batch.Spec.Spec, *c)
	}
	r.relief, r.reliefU = inspect.MeanRelief(v.Result)
	r.digest = sumVerdict(v.ID, v.InspectionID, strconv.FormatInt(nanos(v.At), 10), string(v.Disposition), v.DecidedBy, v.Reason, r.result, nil)
	return r, nil
}

// nextID gives keys of one moment: the first is a UUID of version 7, the next ones count its random part up (RFC 9562,
// section 6.2, method 2).
type nextID struct {
	id   uuid.UUID
	used bool
}

func (n *nextID) next() (string, error) {
	if !n.used {
		var err error
		n.id, err = uuid.NewV7()
		n.used = true
		return n.id.String(), err
	}
	for i := len(n.id) - 1; i > 8; i-- {
		if n.id[i]++; n.id[i] != 0 {
			break
		}
	}
	return n.id.String(), nil
}
