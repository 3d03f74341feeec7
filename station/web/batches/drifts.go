package batches

import (
	"errors"
	"fmt"

	"sagitta/batch"
	"sagitta/batch/spc"
	"sagitta/batch/tell"
	"sagitta/batch/watched"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// newestWatched is how many of a batch's newest necks the table of all characteristics looks for signals among.
const newestWatched = 500

// drifts fills in what has moved of the characteristics, puts those with a signal first, and says how many signals there are in all
// and how many chance would give. They are watched as the alarms are: all together give a false signal in 500 necks or more, those in doubt
// among them.
func (s *server) drifts(c *site.Request, h batchHead, counted []batch.CharacteristicRow, places []show.PlaceRow) (string, error) {
	base, err := s.opt.Record.Base(c.Request.Context(), h.Batch.ID)
	if err != nil {
		return "", err
	}
	all, err := watched.Read(c.Request.Context(), s.opt.Record, h.Batch.ID, counted, base, newestWatched)
	if err != nil {
		return "", err
	}
	rows := map[string]*show.PlaceRow{}
	for i := range places {
		rows[places[i].Key] = &places[i]
	}
	signals, drifting, of, chance := 0, 0, 0, 0.0
	for i := range all {
		series := &all[i]
		row := rows[series.Key()]
		if row == nil || len(series.Values) <= base.Last {
			continue
		}
		w, err := series.Watch(base, watched.Usual(len(all)))
		switch {
		case errors.Is(err, spc.ErrTies):
			row.Drift = "most are alike: not watched"
			continue
		case err != nil:
			return "", err
		}
		of, chance = of+1, chance+w.Chance()
		row.Signals, row.Drift = len(w.Signals), "no signal"
		if row.Signals > 0 {
			switch by, since, until := series.Change(w); {
			case since != "":
				row.Drift = tell.Drifted(row.Signals, by, since, show.ScaleOf(series.Unit, c.Unit()))
			case until != "":
				row.Drift = tell.DriftedBack(row.Signals, until)
			default:
				row.Drift = tell.Count(row.Signals, "signal")
			}
			signals, drifting = signals+row.Signals, drifting+1
		}
	}
	show.Healthiest(places)
	necks := h.Counts.Inspected
	if necks <= base.Last {
		return fmt.Sprintf("Signals are looked for once more than %d necks are inspected, from which the limits come.", base.Last), nil
	}
	words := tell.Drifts(signals, drifting, of, tell.Over(watched.First(base), newestWatched, necks), chance)
	if h.Switch.Without {
		words += " " + tell.WatchedInDoubt
	}
	return words, nil
}
