package start

import (
	"sagitta/batch"
	"sagitta/batch/files"
	"sagitta/batch/instrument"
	"sagitta/station/web/show"
)

// fitted is a template's text fitted to the gauges there are, with what of its limits is left out in words. taken says that a name and
// revision can no longer be given.
func fitted(t instrument.Template, gauges []batch.Gauge, taken func(name, revision string) bool) (text []byte, left []string, err error) {
	spec, err := files.ReadSpec(t.Name+".toml", []byte(t.Text))
	if err != nil {
		return nil, nil, err
	}
	out, had := show.Fit(spec, gauges)
	for revision := 'A'; revision <= 'Z' && taken(spec.Name, spec.Revision); revision++ {
		spec.Revision = string(revision)
	}
	text, _ = files.Rewrite([]byte(t.Text), spec)
	return text, show.LeftOut(out, had), nil
}
