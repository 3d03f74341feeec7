package tell

import (
	"fmt"
	"time"
)

// VisitEnded refuses to measure an instrument whose newest visit has ended.
func VisitEnded(serial string, visit int, at time.Time) string {
	return fmt.Sprintf("visit %d of %s ended on %s: begin a new one on the instrument's page to measure it", visit, serial, at.Local().Format("2006-01-02"))
}
