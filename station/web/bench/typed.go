package bench

import (
	"net/http"
	"strconv"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/station/bench"
	"sagitta/station/web/site"
)

// typed takes a burst of keys that the bench page's module caught: the text, the key that ended it and the milliseconds
// between its keys. The answer says whose it is: a gauge's (no content; the bench shows what became of it), or nobody's,
// and then the module types it where it was meant for.
func (s *server) typed(c *site.Request) error {
	seen, err := seenOf(c)
	if err != nil {
		return err
	}
	if err := s.opt.Bench.Holds(bench.Saw(c.Request.Context(), seen)); err != nil {
		return err
	}
	b, err := burstOf(c.PostForm("text"), c.PostForm("end"), c.PostForm("gaps"))
	if err != nil {
		return err
	}
	if s.opt.Typed == nil || s.opt.Typed(b) == "" {
		return batch.Absent.Errorf("No gauge types like this.")
	}
	c.Status(http.StatusNoContent)
	return nil
}

// burstOf reads a burst's form.
func burstOf(text, end, gaps string) (devices.Burst, error) {
	b := devices.Burst{Text: text}
	switch end {
	case "Enter":
		b.End = '\r'
	case "Tab":
		b.End = '\t'
	default:
		return b, batch.Mendable.Errorf("The key that ended it is %q; allowed are Enter and Tab.", end)
	}
	for _, word := range strings.Fields(gaps) {
		ms, err := strconv.ParseFloat(word, 64)
		if err != nil || !(ms >= 0 && ms < 1e6) {
			return b, batch.Mendable.Errorf("The time between two keys is %q; allowed are milliseconds.", word)
		}
		b.Gaps = append(b.Gaps, time.Duration(ms*float64(time.Millisecond)))
	}
	return b, nil
}
