package files

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"sagitta/batch"
	"sagitta/inspect"
)

// readingsOptional are the keys of readings with a default: a track that the specification knows brings its place.
var readingsOptional = map[string]bool{
	"profile.y_nut_mm": true, "profile.y_saddle_mm": true, "action.held_fret": true, "nut_height.held_fret": true,
}

// ReadReadings reads one neck's readings, JSON, and checks them against the specification they are for; file only names
// them in errors. null stands in lists of heights alone and means not measured. The error joins one batch.FileError for
// everything that is wrong: syntax, unknown or repeated keys, missing keys, wrong types, numbers that are not finite, and
// what inspect.Readings.Check finds.
func ReadReadings(file string, data []byte, s *inspect.Spec) (*inspect.Readings, error) {
	d := &document{file: file, tag: "json", optional: readingsOptional}
	value, err := readJSON(data, d)
	if err != nil {
		return nil, err
	}
	readings := new(inspect.Readings)
	d.fill(reflect.ValueOf(readings).Elem(), value, "")
	d.serial(readings.Serial)
	if len(d.faults) == 0 {
		d.places(readings, value, s)
	}
	if len(d.faults) == 0 {
		d.add(readings.Check(s))
	}
	if err := d.err(); err != nil {
		return nil, err
	}
	return readings, nil
}

// serial refuses a serial number that is blank or would not print: the verdict could not be told whose it is.
func (d *document) serial(serial string) {
	const field = "serial"
	if slices.ContainsFunc(d.faults, func(f batch.FileError) bool { return f.Field == field }) {
		return
	}
	switch {
	case strings.TrimSpace(serial) == "":
		d.fault(field, fmt.Sprintf("%q", serial), "the neck's serial number")
	case !batch.IsSerial(serial) && utf8.RuneCountInString(serial) > batch.LongestSerial:
		d.fault(field, fmt.Sprintf("%d characters", utf8.RuneCountInString(serial)), batch.AllowedSerial)
	case strings.IndexFunc(serial, func(r rune) bool { return !unicode.IsPrint(r) }) >= 0:
		d.fault(field, fmt.Sprintf("%+q", serial), "a serial number of characters that can be printed")
	}
}

// places gives tracks without a place the one that the specification has for their name.
func (d *document) places(r *inspect.Readings, value any, s *inspect.Spec) {
	top, _ := value.(map[string]any)
	profile, _ := top["profile"].([]any)
	for i, entry := range profile {
		given, _ := entry.(map[string]any)
		t := &r.Profile[i]
		for key, into := range map[string]*float64{"y_nut_mm": &t.YNutMM, "y_saddle_mm": &t.YSaddleMM} {
			if _, ok := given[key]; ok {
				continue
			}
			known := false
			for _, track := range s.TracksOf() {
				if track.Name != t.Track {
					continue
				}
				known = true
				if key == "y_nut_mm" {
					*into = track.YNutMM
				} else {
					*into = track.YSaddleMM
				}
			}
			if !known {
				d.problem(fmt.Sprintf("profile[%d].%s", i+1, key), "is missing; needed where the specification has no track of that name: a number")
			}
		}
	}
}
