package laying

import (
	"math/rand/v2"
	"testing"
)

func BenchmarkFindStep(b *testing.B) {
	for _, c := range []struct {
		name   string
		tracks int
	}{{"two tracks", 2}, {"three tracks", 3}} {
		b.Run(c.name, func(b *testing.B) {
			neck := ordinary(648, 22, 17, usual(c.tracks)...)
			crowns := simulated(rand.New(rand.NewPCG(10, 12)), neck, 0.01)
			b.ReportAllocs()
			for b.Loop() {
				mustFindStep(b, neck, crowns)
			}
		})
	}
}

func BenchmarkQuestion(b *testing.B) {
	neck := ordinary(648, 22, 17, usual(3)...)
	crowns := simulated(rand.New(rand.NewPCG(11, 12)), neck, 0.01)
	b.ReportAllocs()
	for b.Loop() {
		mustQuestion(b, neck, crowns)
	}
}

func BenchmarkCarry(b *testing.B) {
	neck := ordinary(648, 22, 17, usual(3)...)
	crowns := simulated(rand.New(rand.NewPCG(12, 12)), neck, 0.01)
	links := mustLinks(b, neck, crowns)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Carry(neck, crowns, links, uReading); err != nil {
			b.Fatal(err)
		}
	}
}
