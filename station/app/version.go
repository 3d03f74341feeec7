package app

import (
	"runtime"
	"runtime/debug"

	"sagitta/batch/record"
)

// Version is what this program was built from. What the build does not tell is "".
type Version struct {
	Module   string // version of the module
	Revision string // of the source
	Time     string // of the revision, RFC 3339
	Changed  bool   // the source was changed since the revision
	Go       string // version of the language, with system and processor
	Schema   string // newest version of the record's schema that it knows
}

// ThisVersion is the version of the running program.
func ThisVersion() Version {
	v := Version{Go: runtime.Version() + " " + runtime.GOOS + "/" + runtime.GOARCH, Schema: record.Schema()}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return v
	}
	v.Module = info.Main.Version
	for _, s := range info.Settings {
		switch s.Key {
		case "vcs.revision":
			v.Revision = s.Value
		case "vcs.time":
			v.Time = s.Value
		case "vcs.modified":
			v.Changed = s.Value == "true"
		}
	}
	return v
}

// String is the version in words, one line.
func (v Version) String() string {
	words := v.Module
	if words == "" || words == "(devel)" {
		words = "built from source"
	}
	if v.Revision != "" {
		words += ", revision " + v.Revision[:min(len(v.Revision), 12)]
		if v.Time != "" {
			words += " of " + v.Time
		}
		if v.Changed {
			words += " with changes"
		}
	}
	return words + ", " + v.Go + ", record schema " + v.Schema
}
