package record

import (
	"fmt"
	"testing"

	"sagitta/inspect"
)

// A record is whole at every moment: a look at the chain beside a station that writes finds nothing wrong.
func TestVerifyBesideTheStation(t *testing.T) {
	s := newShop(t, serials(60)...)
	stop, looked := make(chan struct{}), make(chan error, 1)
	go func() {
		for {
			if err := s.VerifyAudit(s.ctx); err != nil {
				looked <- err
				return
			}
			select {
			case <-stop:
				looked <- nil
				return
			default:
			}
		}
	}()
	for i := range 60 {
		s.verdict(s.start(fmt.Sprintf("QM-2611-%04d", i+1)), inspect.Pass, 0.3, 0.3)
	}
	close(stop)
	s.ok(<-looked)
}
