package web

import (
	"context"
	"testing"

	"sagitta/station/bench"
	"sagitta/station/web/gauges"
	"sagitta/station/web/webtest"
)

// shop is an invented shop behind all of the pages.
type shop struct{ *webtest.Shop }

// shopBench is a bench with nothing on it but the gauge's line.
type shopBench struct {
	Bench
	shop *shop
}

func (b shopBench) Snapshot() *bench.Snapshot { return b.shop.Snapshot() }

func (b shopBench) ReloadAlarms(context.Context) error { return nil }

func (b shopBench) ReloadDoubt(context.Context) error { return nil }

// noLines can be listened to, but nobody does.
type noLines struct{ gauges.Lines }

// openShop opens an empty record and serves its pages.
func openShop(t testing.TB) *shop {
	s := &shop{webtest.Open(t)}
	h, err := New(Options{Bench: shopBench{shop: s}, Record: s.Rec, Lines: noLines{}, SignOn: webtest.NewSignOn(s.Shop)})
	if err != nil {
		t.Fatal(err)
	}
	s.Handler = h
	return s
}

func (s *shop) fill() *shop {
	s.Fill()
	return s
}

func (s *shop) past() *shop {
	s.Past()
	return s
}
