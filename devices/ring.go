package devices

import (
	"slices"
	"sync"
	"time"

	"sagitta/devices/decode"
)

// ring keeps the last bytes of a port.
type ring struct {
	mu     sync.Mutex
	times  []time.Time
	chunks [][]byte
	size   int
}

const ringBytes = 8192

func (r *ring) add(at time.Time, b []byte) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.times, r.chunks = append(r.times, at), append(r.chunks, slices.Clone(b))
	r.size += len(b)
	drop := 0
	for r.size > ringBytes {
		r.size -= len(r.chunks[drop])
		drop++
	}
	r.times, r.chunks = slices.Delete(r.times, 0, drop), slices.Delete(r.chunks, 0, drop)
}

// capture is a copy of what is kept; the first bytes are at 0.
func (r *ring) capture() *decode.Capture {
	r.mu.Lock()
	defer r.mu.Unlock()
	c := &decode.Capture{}
	for i, b := range r.chunks {
		c.Chunks = append(c.Chunks, decode.Chunk{At: r.times[i].Sub(r.times[0]), Bytes: slices.Clone(b)})
	}
	return c
}
