package web

import (
	"context"
	"testing"

	"sagitta/devices"
	"sagitta/station/bench"
	"sagitta/station/web/webtest"
	"sagitta/testdata/usb"
)

// shop is an invented shop behind all of the pages.
type shop struct {
	*webtest.Shop
	checked string // gauge that the bench was asked to check
	changed int    // how often the gauges changed
	ports   []devices.PortInfo
	lines   *testLines
}

// shopBench is a bench with nothing on it but the gauge's line.
type shopBench struct {
	Bench
	shop *shop
}

func (b shopBench) Snapshot() *bench.Snapshot { return b.shop.Snapshot() }

func (b shopBench) CheckGauge(_ context.Context, id string) error {
	b.shop.checked = id
	return nil
}

func (b shopBench) ReloadAlarms(context.Context) error { return nil }

func (b shopBench) ReloadDoubt(context.Context) error { return nil }

// openShop opens an empty record and serves its pages.
func openShop(t testing.TB) *shop {
	s := &shop{
		Shop: webtest.Open(t), lines: &testLines{hold: make(chan struct{})},
		ports: []devices.PortInfo{{Name: "/dev/ttyUSB3", Identity: devices.Identity{Vendor: usb.Vendor, Product: usb.Product, Serial: usb.Serial}}},
	}
	h, err := New(Options{
		Bench: shopBench{shop: s}, Record: s.Rec,
		Ports:         func() ([]devices.PortInfo, error) { return s.ports, nil },
		Lines:         s.lines,
		GaugesChanged: func(context.Context) error { s.changed++; return nil },
	})
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
