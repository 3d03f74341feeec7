package infer

import (
	"testing"
	"time"

	"sagitta/devices/decode"
)

// BenchmarkInfer infers from as much of a stream as is kept of one, 2 kB: the page asks for it every second.
func BenchmarkInfer(b *testing.B) {
	h := Heard{Line: line9600}
	for i := range 170 {
		h.Chunks = append(h.Chunks, decode.Chunk{At: time.Duration(i) * 50 * time.Millisecond, Bytes: []byte([]string{" +0.123 mm\r\n", " +1.500 mm\r\n", " -0.020 mm\r\n"}[i%3])})
	}
	for b.Loop() {
		if g := Infer(h, Choice{}); len(g.Candidates) == 0 {
			b.Fatal("no candidate")
		}
	}
}
