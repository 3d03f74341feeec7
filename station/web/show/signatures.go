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

// SignaturesOf says, a sentence each, what was signed about something, for the template "signatures"; of says which are meant, nil: all.
func SignaturesOf(ctx context.Context, rec SignatureRecord, about string, of func(batch.Signature) bool) ([]string, error) {
	all, err := rec.Signatures(ctx, about)
	var lines []string
	for _, s := range all {
		if of == nil || of(s) {
			lines = append(lines, tell.Signed(s, time.Local))
		}
	}
	return lines, err
}
