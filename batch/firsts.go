package batch

import "context"

// Breaker counts first inspections; a record is one.
type Breaker interface {
	Breakdown(ctx context.Context, s Scope, by Dimension) ([]Share, error)
}

// Firsts are a batch's first inspections: all of them, with how many are in doubt, and those that are not.
type Firsts struct{ All, Sound Share }

// FirstsOf counts a batch's first inspections.
func FirstsOf(ctx context.Context, rec Breaker, batchID string) (f Firsts, err error) {
	for _, without := range []bool{false, true} {
		shares, err := rec.Breakdown(ctx, Scope{BatchID: batchID, WithoutDoubt: without}, ByAll)
		if err != nil {
			return f, err
		}
		for _, s := range shares { // of all there is one, or none
			if without {
				f.Sound = s
			} else {
				f.All = s
			}
		}
	}
	return f, nil
}
