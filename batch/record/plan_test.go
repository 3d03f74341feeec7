package record

import (
	"strings"
	"testing"
)

// What is streamed comes straight out of the indexes in its order: a sort would hold the whole batch first.
func TestStreamsNeedNoSort(t *testing.T) {
	s := newShop(t)
	for name, query := range map[string]string{"necks": selectBatchNecks, "readings": selectBatchReadings, "rework": selectBatchRework} {
		plan := must(list(s.ctx, s.reader, func(r scanner) (line string, err error) {
			var a, b, c int
			return line, r.Scan(&a, &b, &c, &line)
		}, `EXPLAIN QUERY PLAN `+query, s.batch.ID))(t)
		for _, line := range plan {
			if strings.Contains(line, "TEMP B-TREE") || strings.HasPrefix(line, "SCAN") {
				t.Errorf("%s: %s", name, line)
			}
		}
		if len(plan) == 0 {
			t.Errorf("%s: no plan", name)
		}
	}
}
