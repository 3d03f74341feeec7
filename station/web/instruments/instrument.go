package instruments

import (
	"net/http"

	"sagitta/batch"
	"sagitta/station/web/site"
)

// instrumentPage is an instrument with what is known of it, a block each. A block is worked out in a file of its own, which its template is
// named for.
type instrumentPage struct {
	Serial string
	Neck   batch.Neck // its newest
}

func (s *server) instrument(c *site.Request) error {
	neck, err := s.opt.Record.Neck(c.Request.Context(), c.Param("serial"))
	if err != nil {
		return err
	}
	return c.Show(http.StatusOK, "instrument", "Instrument "+neck.Serial, instrumentPage{Serial: neck.Serial, Neck: neck})
}
