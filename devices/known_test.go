package devices

import "time"

// Health is every gauge's health now, in the order the gauges were given.
func (s *Supervisor) Health() []Health {
	all := make([]Health, len(s.gauges))
	for i, w := range s.gauges {
		all[i] = w.now()
	}
	return all
}

// now is a gauge's health.
func (w *watch) now() Health {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.health
}

// link is the port that a gauge is behind, nil when it has none.
func (s *Supervisor) link(gauge string) *link {
	for _, l := range s.links {
		for _, w := range l.gauges {
			if w.gauge.ID == gauge {
				return l
			}
		}
	}
	return nil
}

// received counts the bytes of a gauge's port.
func (b *bench) received(gauge string) int {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.bytes[gauge]
}

// count is for Options.OnBytes.
func (b *bench) count(gauge string, _ time.Time, bytes []byte) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.bytes[gauge] += len(bytes)
}
