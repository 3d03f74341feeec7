package inspect

import (
	"fmt"
	"math"
	"slices"
)

// Working is one quantity on the way from the readings to a characteristic.
type Working struct {
	Name  string // "chord over fret 7", "bend curve at fret 9"
	Value float64
	Unit  string // "" for a number without one
}

// workings collects quantities.
type workings []Working

func (w *workings) add(unit string, v float64, name string, parts ...any) {
	if !math.IsNaN(v) {
		*w = append(*w, Working{fmt.Sprintf(name, parts...), v, unit})
	}
}

// Workings returns the readings that a characteristic is computed from and the intermediate values, in the order of its
// formula (see Kind). Errors: Evaluate's, and an error when the readings do not give the characteristic.
func Workings(s *Spec, r *Readings, wanted Characteristic) ([]Working, error) {
	given := *s
	given.fillDatum()
	res, err := Evaluate(&given, r, Options{SkipUncertainty: true})
	if err != nil {
		return nil, err
	}
	at := slices.IndexFunc(res.Characteristics, func(c Characteristic) bool {
		return c.key() == wanted.key() && (c.Value != nil || c.IntervalMM != nil)
	})
	if at < 0 {
		return nil, noValue(s, wanted)
	}
	c := res.Characteristics[at]
	n, err := newNeck(&given, r, true)
	if err != nil {
		return nil, err
	}
	var w workings
	err = kindOf(c.Name).work(n, &w, &c)
	return w, err
}

// crownName names a crown of a track.
func (t *track) crownName(fret int) string {
	return "crown, " + Place(t.name, 0, fret)
}
