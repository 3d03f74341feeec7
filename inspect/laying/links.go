package laying

import (
	"cmp"
	"math"
	"slices"
)

// AllLinks is the number of old crowns on a track up to which all of them are links (definition).
const AllLinks = 3

// Links returns the old crowns that are measured again so that the others can be carried, by track and along it: of each track with old
// crowns its first, its last and the one nearest half way in x between those two, of two alike the lower fret; all of them where it has
// three or fewer (definition). Two a track would restore as well but leave nothing to test on one track, and could not see that the neck
// bent in between. Errors: ErrNeck, ErrCrown.
func Links(neck Neck, old []Crown) ([]Crown, error) {
	if _, err := neck.grid(old); err != nil {
		return nil, err
	}
	sorted := slices.Clone(old)
	slices.SortFunc(sorted, func(a, b Crown) int { return cmp.Or(cmp.Compare(a.Track, b.Track), cmp.Compare(a.Fret, b.Fret)) })
	var links []Crown
	for len(sorted) > 0 {
		track := sorted[0].Track
		end := 0
		for end < len(sorted) && sorted[end].Track == track {
			end++
		}
		own := sorted[:end]
		sorted = sorted[end:]
		if len(own) <= AllLinks {
			links = append(links, own...)
			continue
		}
		last := len(own) - 1
		links = append(links, own[0], own[nearestHalfWay(neck.Tracks[track].X, own)], own[last])
	}
	return links, nil
}

// nearestHalfWay returns which of a track's crowns, but for its first and last, is nearest half way between those.
func nearestHalfWay(x []float64, own []Crown) int {
	last := len(own) - 1
	half := (x[own[0].Fret] + x[own[last].Fret]) / 2
	best, least := 0, math.Inf(1)
	for i := 1; i < last; i++ {
		// A billionth of a mm: two that are alike but for rounding are alike.
		if d := math.Abs(x[own[i].Fret] - half); d < least-1e-9 {
			best, least = i, d
		}
	}
	return best
}
