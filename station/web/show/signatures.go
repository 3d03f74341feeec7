package show

import (
	"context"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
)

// SignatureRecord is what signatures are read of.
type SignatureRecord interface {
	Signatures(ctx context.Context, about string) ([]batch.Signature, error)
}

// SignaturesOf says, a sentence each, what was signed about something, for the template "signatures".
func SignaturesOf(ctx context.Context, rec SignatureRecord, about string) ([]string, error) {
	all, err := rec.Signatures(ctx, about)
	lines := make([]string, len(all))
	for i, s := range all {
		lines[i] = tell.Signed(s, time.Local)
	}
	return lines, err
}
