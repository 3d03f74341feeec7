// Package instrument is what the trade usually builds: templates of specifications by kind of instrument, sets of strings and
// tunings. Every figure says where it is from; most are common practice, which no source settles, and all are there to be changed.
package instrument

import (
	"embed"
	"strconv"
	"strings"
)

// Template is a specification to begin with.
type Template struct {
	Name  string            // of its file, without an ending
	Title string            // for people
	For   string            // what it is for
	Text  string            // TOML, complete: batch/files reads it
	Notes map[string]string // where a value is from, by its path as errors name it: "neck.scale_mm", "limit[3].upper_mm"
}

//go:embed templates
var files embed.FS

// Templates returns every template, in the order in which they are offered.
func Templates() []Template {
	all := []Template{
		{Name: "electric-bolt-on", Title: "Electric, bolt-on", For: "six strings, 25.5 in, a saddle for each string"},
		{Name: "electric-set", Title: "Electric, set neck", For: "six strings, 24.75 in, a bridge on two posts"},
		{Name: "electric-seven", Title: "Electric, seven strings", For: "bolt-on, low B, 25.5 in"},
		{Name: "electric-multi-scale-eight", Title: "Electric, multi-scale, eight strings", For: "bolt-on, low F sharp, 28 to 26 in, fret 8 square"},
		{Name: "steel-acoustic", Title: "Steel-string acoustic", For: "six strings, fourteen frets to the body, one saddle"},
		{Name: "steel-acoustic-twelve-fret", Title: "Steel-string acoustic, twelve frets to the body", For: "six strings, one saddle"},
		{Name: "steel-acoustic-twelve-strings", Title: "Steel-string acoustic, twelve strings", For: "six pairs, fourteen frets to the body, one saddle"},
		{Name: "classical", Title: "Classical", For: "nylon strings, twelve frets to the body, flat board, no truss rod, one saddle"},
		{Name: "bass-bolt-on", Title: "Bass, bolt-on", For: "four strings, 34 in, a saddle for each string"},
		{Name: "bass-set-five", Title: "Bass, set neck, five strings", For: "low B, 34 in, joint at fret 20"},
	}
	for i := range all {
		text, err := files.ReadFile("templates/" + all[i].Name + ".toml")
		if err != nil {
			panic(err) // it is embedded
		}
		all[i].Text, all[i].Notes = string(text), notes(string(text))
	}
	return all
}

// notes finds the remark behind every value of a template's text, which has one key a line.
func notes(text string) map[string]string {
	found, count, table := map[string]string{}, map[string]int{}, ""
	for line := range strings.Lines(text) {
		line = strings.TrimSpace(line)
		switch {
		case strings.HasPrefix(line, "[["):
			name := strings.Trim(line, "[]")
			count[name]++
			table = name + "[" + strconv.Itoa(count[name]) + "]."
		case strings.HasPrefix(line, "["):
			table = strings.Trim(line, "[]") + "."
		default:
			value, remark, remarked := strings.Cut(line, "# ")
			if key, _, isValue := strings.Cut(value, " = "); remarked && isValue {
				found[table+key] = remark
			}
		}
	}
	return found
}
