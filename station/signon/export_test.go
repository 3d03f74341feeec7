package signon

// Computed is how many hashes were computed so far.
func (s *Service) Computed() int64 { return s.computed.Load() }

// Occupy keeps all that hashes are computed with busy until what it returns is called.
func (s *Service) Occupy() (free func()) {
	for range hashesAtOnce {
		s.hashing <- struct{}{}
	}
	return func() {
		for range hashesAtOnce {
			<-s.hashing
		}
	}
}

// Waiting is how many wait for a hash or compute one.
func (s *Service) Waiting() int { return len(s.waiting) }

// The most that may wait, of all people together and for one; the most names of nobody's that are remembered.
const (
	MostWaiting   = hashesWaiting
	MostStrangers = mostStrangers
)

// Strangers is how many names of nobody's are remembered.
func (s *Service) Strangers() int {
	s.strangers.mu.Lock()
	defer s.strangers.mu.Unlock()
	return len(s.strangers.all)
}
