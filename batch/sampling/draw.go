package sampling

import (
	"crypto/sha256"
	"encoding/hex"
	"slices"
	"strings"
)

// Draw picks n units of a lot at random (all of them where there are no more) and returns them in their order by name. The
// draw follows from the seed alone: of every unit the SHA-256 of the seed, a slash and its name is taken, and the n least
// hashes are drawn, so that anybody can repeat it (`printf %s SEED/NAME | sha256sum`). Each unit is as likely as any other
// as long as the seed was not chosen with the lot in view. names must differ.
func Draw(names []string, n int, seed string) []string {
	type unit struct{ name, hash string }
	units := make([]unit, len(names))
	for i, name := range names {
		sum := sha256.Sum256([]byte(seed + "/" + name))
		units[i] = unit{name, hex.EncodeToString(sum[:])}
	}
	slices.SortFunc(units, func(a, b unit) int { return strings.Compare(a.hash, b.hash) })
	drawn := make([]string, 0, min(n, len(units)))
	for _, u := range units[:min(n, len(units))] {
		drawn = append(drawn, u.name)
	}
	slices.Sort(drawn)
	return drawn
}
