package tell

import (
	"slices"
	"testing"

	"sagitta/batch"
)

// TestABuildersTrail holds what entries say to a builder, and to a factory, against what they are.
func TestABuildersTrail(t *testing.T) {
	for what := range builderHappened {
		if !slices.ContainsFunc(batch.Happenings, func(h batch.Happening) bool { return h.What == what }) {
			t.Errorf("%q is no kind of entry", what)
		}
	}
	for _, c := range []struct {
		what, about, detail string
		batch               string
		builder, factory    string
	}{
		{"verdict", "A-7, attempt 2", "rework, the nut; digest 3, sha256 " + sum64, "", "A-7 was measured by Mara Quill, attempt 2: needs work, the nut.", "The verdict on A-7, attempt 2, by Mara Quill: rework, the nut."},
		{"batch opened", "A-7 visit 1", "A-7, revision 1; 2 necks planned", "", "Mara Quill opened A-7 visit 1.", "Mara Quill opened batch A-7 visit 1: A-7, revision 1; 2 necks planned."},
		{"role changed", "Joss Fenn", "quality manager", "", "Mara Quill changed the role of Joss Fenn to builder.", "Mara Quill changed the role of Joss Fenn to quality manager."},
		{"signed: " + string(batch.CloseBatch), "A-7 visit 1", "", "", "Mara Quill signed, to end a visit: A-7 visit 1.", "Mara Quill signed, to " + string(batch.CloseBatch) + ": A-7 visit 1."},
		{"alarm", "x", "it drifts", "A-7 visit 1", "The station said something about A-7 visit 1: it drifts.", "Mara Quill raised an alarm about batch A-7 visit 1: it drifts."},
		{"outgoing audit drawn", "QM-1", "", "", "Mara Quill drew a sample of batch QM-1 for its outgoing audit.", "Mara Quill drew a sample of batch QM-1 for its outgoing audit."},
	} {
		e := batch.Entry{Event: batch.Event{What: c.what, By: "Mara Quill", About: c.about, Detail: c.detail}, Batch: c.batch}
		e.Read()
		if got := WordsOf(batch.Builder).Entry(e); got != c.builder {
			t.Errorf("%s says to a builder\n%s\nwant\n%s", c.what, got, c.builder)
		}
		if got := WordsOf(batch.Factory).Entry(e); got != c.factory {
			t.Errorf("%s says to a factory\n%s\nwant\n%s", c.what, got, c.factory)
		}
	}
	for _, m := range WordsOf(batch.Builder).Matters() {
		if m == batch.OfAudits {
			t.Error("a builder is asked for samples of lots")
		}
	}
	if a, b := WordsOf(batch.Builder).MatterName(batch.OfBatches), WordsOf(batch.Factory).MatterName(batch.OfBatches); a != "Visits" || b != "Batches" {
		t.Errorf("batches are %s to a builder, %s to a factory", a, b)
	}
}

const sum64 = "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef"
