package web

import (
	"fmt"
	"strings"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/station/web/show"
)

// unmeasurable names the limits that the specification's own routine never measures: with one of them no neck can pass.
func unmeasurable(spec *inspect.Spec) []string {
	var warnings []string
	for _, f := range spec.Unmeasurable() {
		name := f.Field
		for i, l := range spec.Limits {
			if f.Field == fmt.Sprintf("limit[%d]", i+1) {
				name = fmt.Sprintf("limit %d, %s,", i+1, limitName(l))
			}
		}
		warnings = append(warnings, fmt.Sprintf("No neck can pass: %s is never measured, because %s. To judge it, %s; or take the limit out.",
			name, f.Found, strings.TrimSuffix(f.Allowed, ".")))
	}
	return warnings
}

// unmeasurableOf is unmeasurable for each of several revisions, with its name.
func unmeasurableOf(specs []batch.SpecRevision) []string {
	var warnings []string
	for _, sp := range specs {
		if w := unmeasurable(sp.Spec); len(w) > 0 {
			text := fmt.Sprintf("%s, revision %s. %s", sp.Name, sp.Revision, w[0])
			if len(w) > 1 {
				text += " " + show.Counted(len(w)-1, "more of its limits is never measured.", "more of its limits are never measured.")
			}
			warnings = append(warnings, text)
		}
	}
	return warnings
}
