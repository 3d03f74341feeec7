package bench

import "slices"

// Refresh publishes what time alone has changed: a check that has become due, a shift that has begun, a certificate that
// has run out. It is called every now and then and does nothing when nothing has changed.
func (b *Bench) Refresh() {
	b.mu.Lock()
	defer b.mu.Unlock()
	if !slices.Equal(b.gaugeLines(), b.snap.Load().Gauges) {
		b.publish()
	}
}
