package decode

import (
	"embed"
	"fmt"
	"path"
	"slices"
	"strings"
	"sync"
)

//go:embed builtin/*.toml
var builtinFiles embed.FS

// builtins loads the embedded decoders once. They are checked by the tests, so that a broken one never ships.
var builtins = sync.OnceValues(func() ([]*Decoder, error) {
	files, err := builtinFiles.ReadDir("builtin")
	if err != nil {
		return nil, err
	}
	var all []*Decoder
	for _, f := range files {
		source, err := builtinFiles.ReadFile(path.Join("builtin", f.Name()))
		if err != nil {
			return nil, err
		}
		d, err := Load(f.Name(), source)
		if err != nil {
			return nil, err
		}
		all = append(all, d)
	}
	slices.SortFunc(all, func(a, b *Decoder) int { return strings.Compare(a.Name, b.Name) })
	return all, nil
})

// Builtin returns the decoders that come with the program, sorted by name. They suit common habits of gauges, not
// particular ones; a copy with its pattern made stricter is better where the gauge is known.
func Builtin() []*Decoder {
	all, _ := builtins()
	return slices.Clone(all)
}

// Find returns the built-in decoder of that name. The error lists the names, the nearest first.
func Find(name string) (*Decoder, error) {
	all, err := builtins()
	if err != nil {
		return nil, err
	}
	names := make([]string, len(all))
	for i, d := range all {
		if d.Name == name {
			return d, nil
		}
		names[i] = d.Name
	}
	return nil, fmt.Errorf("no built-in decoder of that name: %s", oneOf(name, names))
}
