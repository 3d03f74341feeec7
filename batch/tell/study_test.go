package tell

import (
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/study"
	"sagitta/inspect/unit"
)

func of[T any](v T) *T { return &v }

// Every finding of a crossed study has its sentence, with its number.
func TestCrossed(t *testing.T) {
	ten, three := make([]string, 10), make([]string, 3)
	for _, c := range []struct {
		r    study.CrossedResult
		says []string
	}{
		{study.CrossedResult{}, []string{"It cannot be said", "No reading differs"}},
		{study.CrossedResult{PercentGRR: of(27.86), NDC: of(4), PercentToleranceGRR: of(30.2), Parts: ten, Appraisers: three, Trials: three},
			[]string{"The gauge is conditional: it takes 27.9 % of the total variation.", "4 categories of these parts apart: too few (at least 5)", "30.2 % of the tolerance: not for verdicts"}},
		{study.CrossedResult{PercentGRR: of(5.0), NDC: of(5), Parts: ten, Appraisers: three, Trials: three}, []string{"The gauge is acceptable", "5 categories of these parts apart: enough"}},
		{study.CrossedResult{PercentGRR: of(5.0), NDC: of(0), Parts: ten, Appraisers: three, Trials: three}, []string{"The gauge is conditional", "no categories"}},
		{study.CrossedResult{PercentGRR: of(0.0), Parts: []string{"a", "b"}, Appraisers: []string{"Ada"}, Trials: three},
			[]string{"no variation of its own", "Only 2 parts and 1 appraiser: the verdict is uncertain", "reproducibility was not studied"}},
	} {
		answer, why := Crossed(c.r)
		said := answer + " " + strings.Join(why, " ")
		for _, words := range c.says {
			if !strings.Contains(said, words) {
				t.Errorf("%q does not say %q", said, words)
			}
		}
	}
}

func TestTypeOne(t *testing.T) {
	for _, c := range []struct {
		r    study.TypeOneResult
		says []string
	}{
		{study.TypeOneResult{N: 24}, []string{"Every reading is the same", "Only 24 readings: a type-1 study asks for 25 or more."}},
		{study.TypeOneResult{N: 25, SD: 0.00254}, []string{"The gauge repeats to 0.00010 in (standard deviation); without a tolerance there is no Cg."}},
		{study.TypeOneResult{N: 25, SD: 1, Cg: of(1.504), Cgk: of(1.4)}, []string{"The gauge is capable: Cg 1.50, Cgk 1.40; 1.33 is needed of both."}},
		{study.TypeOneResult{N: 25, SD: 1, Cg: of(1.5), Cgk: of(1.2), Bias: 0.0254, T: of(3.0), P: of(0.006), BiasInterval: &study.Interval{Low: 0.0127, High: 0.0381}},
			[]string{"not capable: its spread would do, but with its bias Cgk is too small (Cg 1.50, Cgk 1.20", "Its bias of 0.00100 in is more than chance explains (t 3, p 0.006; 95 % interval 0.00050 to 0.00150)"}},
		{study.TypeOneResult{N: 25, SD: 1, Cg: of(2.0), Cgk: of(2.0), StepShare: of(6.25)}, []string{"not capable: Cg 2.00, Cgk 2.00 reach 1.33, but its resolution is too coarse", "Its resolution takes 6.2 % of the tolerance: too coarse"}},
		{study.TypeOneResult{N: 25, SD: 1, Cg: of(0.5), Cgk: of(0.4), StepShare: of(5.0), P: of(0.5)}, []string{"not capable: Cg 0.50, Cgk 0.40; 1.33 is needed", "fine enough", "cannot be told from none"}},
	} {
		answer, why := TypeOne(c.r, Scale{Of: "mm", In: unit.Inch, StepMM: 0.0005})
		said := answer + " " + strings.Join(why, " ")
		for _, words := range c.says {
			if !strings.Contains(said, words) {
				t.Errorf("%q does not say %q", said, words)
			}
		}
	}
}

// A step says nothing of which part it is.
func TestStudyStep(t *testing.T) {
	crossed := batch.StudyStep{Step: study.Step{Part: "QM-7", Trial: "1", Place: 3, Places: 5}}
	if got := StudyStep(batch.CrossedStudy, crossed, unit.Millimetre); got != "trial 1, part 3 of 5" {
		t.Error(got)
	}
	master := batch.StudyStep{ReferenceMM: 12.7, Step: study.Step{Place: 3, Places: 25}}
	if got := StudyStep(batch.TypeOneStudy, master, unit.Millimetre); got != "the 12.7 mm master, reading 3 of 25" {
		t.Error(got)
	}
	if got := StudyStep(batch.TypeOneStudy, master, unit.Inch); got != "the 0.5 in master, reading 3 of 25" {
		t.Error(got)
	}
}
