package files

import "reflect"

// ReadKeys reads a TOML text into a struct whose keys its `toml` tags name; keys whose tag says "omittable" may be left out, and what stands
// in the struct then stays. file only names it in errors, which tell everything that is wrong: syntax, keys that are not known with the
// nearest known one, missing keys, wrong types, and what check finds of the values, given a way to say it: the key's path, what was found
// and what is allowed.
func ReadKeys(file string, text []byte, into any, check func(fault func(path, found, allowed string))) error {
	d, values, err := readTOML(file, text, nil)
	if err != nil {
		return err
	}
	d.fill(reflect.ValueOf(into).Elem(), any(values), "")
	if len(d.faults) == 0 {
		check(d.fault)
	}
	return d.err()
}
