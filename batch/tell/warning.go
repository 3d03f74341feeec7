package tell

import (
	"fmt"
	"strings"

	"sagitta/batch"
)

// NeverMeasured says that no neck can pass because the specification's own routine never measures one of its limits; why and what would
// bring it in are inspect's.
func NeverMeasured(limit, why, change string) string {
	return fmt.Sprintf("No neck can pass: %s is never measured, because %s. To judge it, %s; or take the limit out.", limit, why, strings.TrimSuffix(change, "."))
}

// TooCoarse says that a gauge's U, in words with its unit, is over a quarter of a characteristic's tolerance.
func TooCoarse(gauge, characteristic, u string) string {
	return fmt.Sprintf("The %s is too coarse for %s: its U of %s is over a quarter of the tolerance.", gauge, characteristic, u)
}

// RulerTooCoarse says the same of a ruler, by which a kind of reading is taken that no gauge serves.
func RulerTooCoarse(kind batch.Kind, characteristic, u string) string {
	return fmt.Sprintf("No gauge measures the %s: it is typed as read with a ruler, whose U of %s is over a quarter of the tolerance of %s.", kind, u, characteristic)
}
