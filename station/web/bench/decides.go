package bench

import (
	"slices"

	"sagitta/batch"
)

// TakesTwo says that a concession on a neck of the batch takes a second person.
func (v *benchView) TakesTwo() bool { return v.Batch != nil && v.Batch.Spec.Spec.Routine.TwoSign }

// Conceders are who may grant a concession.
func (v *benchView) Conceders() []batch.Person {
	return slices.DeleteFunc(slices.Clone(v.People), func(p batch.Person) bool { return !p.May(batch.Concede) })
}
