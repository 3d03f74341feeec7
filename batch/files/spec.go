package files

import (
	"reflect"

	"sagitta/inspect"
)

// specOptional are the keys with a default: see inspect.Spec.WithDefaults.
var specOptional = map[string]bool{
	"datum": true, "datum.first_fret": true, "datum.second_fret": true, "datum.relief_fret": true,
	"decision": true, "decision.rule": true, "decision.guard_factor": true, "uncertainty": true, "string.plain": true,
	"routine.tracks": true, "routine.profile": true, "routine.action_frets": true, "routine.strings": true,
	"routine.pitch": true, "routine.posture": true,
}

// ReadSpec reads a specification's TOML and checks it; file only names it in errors. Keys that may be left out and are
// stay zero (inspect.Spec.WithDefaults fills them in). The error joins one batch.FileError for everything that is wrong:
// syntax, unknown keys with the nearest known one, missing keys, wrong types, numbers that are not finite, and what
// inspect.Spec.Check finds.
func ReadSpec(file string, text []byte) (*inspect.Spec, error) {
	d, values, err := readTOML(file, text, specOptional)
	if err != nil {
		return nil, err
	}
	return d.spec(values)
}

// SpecOf makes a specification of its file's values by key (SpecValues) and checks it as ReadSpec does; its errors have no line.
func SpecOf(values map[string]any) (*inspect.Spec, error) {
	d := &document{tag: "toml", optional: specOptional, lines: map[string]int{}}
	return d.spec(values)
}

// spec fills in a specification and checks it.
func (d *document) spec(values map[string]any) (*inspect.Spec, error) {
	spec := new(inspect.Spec)
	d.fill(reflect.ValueOf(spec).Elem(), any(values), "")
	if len(d.faults) == 0 {
		d.add(spec.Check())
	}
	if err := d.err(); err != nil {
		return nil, err
	}
	return spec, nil
}
