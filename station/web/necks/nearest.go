package necks

import (
	"context"
	"fmt"
	"strings"

	"github.com/agext/levenshtein"
)

// maxNearest is how many candidates the search for a nearest serial number looks at, shortestPart the fewest characters
// that they share with it at one end: less is shared by too many, and is not in the record's index of parts.
const (
	maxNearest   = 500
	shortestPart = 3
)

// nearestSerial returns the registered serial number that looks most like the one typed, "" when none is near: those
// that share its beginning or its end are looked at, the fewest changed characters win (Levenshtein's distance).
func nearestSerial(ctx context.Context, rec Record, typed string) (string, error) {
	best, least := "", len([]rune(typed))/2+1
	for cut := len(typed); cut >= shortestPart; cut = cut * 2 / 3 {
		for _, part := range []string{typed[:cut], typed[len(typed)-cut:]} {
			rows, err := rec.SearchNecks(ctx, strings.ToValidUTF8(part, ""), maxNearest)
			if err != nil {
				return "", err
			}
			for _, row := range rows {
				d := levenshtein.Distance(strings.ToUpper(typed), strings.ToUpper(row.Serial), nil)
				if d < least {
					best, least = row.Serial, d
				}
			}
		}
		if best != "" {
			return best, nil
		}
	}
	return "", nil
}

// unknownSerial is the sentence for a serial number that is not in the record.
func unknownSerial(typed, nearest string) string {
	if nearest == "" {
		return fmt.Sprintf("No neck with the serial number %q is in the record. Search by a part of it, or register it on its batch's page.", typed)
	}
	return fmt.Sprintf("No neck with the serial number %q is in the record. The nearest is %s.", typed, nearest)
}
