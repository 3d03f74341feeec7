package tell

import (
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
)

// A neck is told to have been cleared where a person did that, and not where it was measured or inspected again or a check proved it.
func TestStoryTellsHowDoubtEnded(t *testing.T) {
	var story batch.NeckStory
	story.Inspections = make([]batch.InspectionReport, 1)
	story.Serial, story.Disposition = "QM-1", inspect.Pass
	for cleared, want := range map[batch.Clearing]string{batch.ClearedPerson: "it was in doubt and has been cleared", batch.ClearedAttempt: "it was in doubt and is so no longer",
		batch.ClearedMeasured: "it was in doubt and is so no longer", batch.ClearedProved: "it was in doubt and is so no longer", "": "it is in doubt and may not ship"} {
		if got := Story(story, []batch.Doubt{{Cleared: cleared}}, nil); !strings.Contains(got, want) {
			t.Errorf("%q: %q lacks %q", cleared, got, want)
		}
	}
}
