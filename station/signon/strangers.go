package signon

import (
	"crypto/sha256"
	"sync"
	"time"

	"sagitta/batch"
)

// mostStrangers is how many names that are nobody's are remembered; the one that was longest not tried is forgotten first.
const mostStrangers = 1000

// strangers counts failures under names that are nobody's, so that their attempts are delayed as those of people are: a delay tells nobody which
// names are entered.
type strangers struct {
	mu  sync.Mutex
	all map[string]failures
}

type failures struct {
	n    int
	last time.Time
}

// strangerKey is what a name that is nobody's is remembered by. It is as long as any other, whatever was typed.
func strangerKey(typed string, kind batch.SecretKind) string {
	sum := sha256.Sum256([]byte(string(kind) + " " + typed))
	return string(sum[:])
}

func (s *strangers) failures(key string) (n int, last time.Time) {
	s.mu.Lock()
	defer s.mu.Unlock()
	f := s.all[key]
	return f.n, f.last
}

func (s *strangers) failed(key string, at time.Time) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.all == nil {
		s.all = map[string]failures{}
	}
	f, known := s.all[key]
	if !known && len(s.all) >= mostStrangers {
		oldest, since := "", at
		for k, other := range s.all {
			if oldest == "" || other.last.Before(since) {
				oldest, since = k, other.last
			}
		}
		delete(s.all, oldest)
	}
	s.all[key] = failures{f.n + 1, at}
}
