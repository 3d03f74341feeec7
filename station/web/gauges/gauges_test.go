package gauges

import (
	"context"
	"net/url"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/devices"
	"sagitta/devices/decode"
	"sagitta/inspect/unit"
	"sagitta/station/bench"
	"sagitta/station/web/site"
	"sagitta/station/web/webtest"
	"sagitta/testdata/usb"
)

// shop is an invented shop with these pages alone, and what they act on.
type shop struct {
	*webtest.Shop
	checked string // gauge that the bench was asked to check
	changed int    // how often the gauges changed
	ports   []devices.PortInfo
	lines   *testLines
	full    bool   // the record's disk
	folder  string // of decoders
}

// shopRecord is the shop's record, whose disk may be full.
type shopRecord struct {
	*record.DB
	shop *shop
}

func (r shopRecord) SaveGauge(ctx context.Context, by string, g batch.Gauge) (batch.Gauge, error) {
	if r.shop.full {
		return batch.Gauge{}, record.ErrDiskFull
	}
	return r.DB.SaveGauge(ctx, by, g)
}

// CheckGauge and ReportEvent make the shop a bench on which gauges are checked.
func (s *shop) CheckGauge(_ context.Context, id string) error {
	s.checked = id
	return nil
}

func (s *shop) ReloadDoubt(context.Context) error { return nil }

func (s *shop) ReportEvent(context.Context, string, string, string) error { return nil }

// openShop opens the filled shop and serves its pages of gauges.
func openShop(t testing.TB) *shop {
	s := &shop{
		Shop: webtest.Open(t).Fill(), lines: &testLines{lessons: make(chan devices.Lesson), told: make(chan struct{})}, folder: filepath.Join(t.TempDir(), "necks [2026"), // no pattern of names
		ports: []devices.PortInfo{{Name: "/dev/ttyUSB3", Identity: devices.Identity{Vendor: usb.Vendor, Product: usb.Product, Serial: usb.Serial}}},
	}
	s.Mount(func(k *site.Site) error {
		return Mount(k, Options{
			Record: shopRecord{s.Rec, s}, Bench: s, Lines: s.lines, DecoderDir: s.folder, Now: time.Now,
			Ports:         func() ([]devices.PortInfo, error) { return s.ports, nil },
			GaugesChanged: func(context.Context) error { s.changed++; return nil },
		})
	})
	return s
}

// testLines stands for ports that send what a test says.
type testLines struct {
	lessons chan devices.Lesson // what Learn tells, one after the other
	told    chan struct{}       // after each
	fails   error               // what Learn ends with at once
	sends   string              // the port that answers
}

func (l *testLines) Learn(ctx context.Context, _ string, _ bool, tell func(devices.Lesson)) error {
	for l.fails == nil {
		select {
		case <-ctx.Done():
			return nil
		case lesson := <-l.lessons:
			tell(lesson)
			l.told <- struct{}{}
		}
	}
	return l.fails
}

// tells has Learn tell a lesson, and waits until it has.
func (l *testLines) tells(lesson devices.Lesson) {
	l.lessons <- lesson
	<-l.told
}

func (l *testLines) WhichSends(_ context.Context, ports []string, _ decode.Line, _ time.Duration) (string, error) {
	return l.sends, nil
}

func TestGaugePages(t *testing.T) {
	s := openShop(t)
	webtest.Wants(t, s.Get("/gauges", 200), "carriage indicator live, zeroed 07:12", "crown heights")
	page := s.Get("/gauges/"+s.Gauge.ID, 200)
	webtest.Wants(t, page, "QC-118", "/dev/ttyUSB3, USB "+usb.Vendor+":"+usb.Product+", serial number "+usb.Serial, "failed", "at most 0.010 mm is allowed", "zero limit", "<svg", "USB "+usb.Vendor+":"+usb.Product+", serial number QM-1")
	if to := s.Post("/gauges/"+s.Gauge.ID+"/check", nil, 303); to != "/" || s.checked != s.Gauge.ID {
		t.Errorf("the check goes to %q, the bench checks %q", to, s.checked)
	}

	page = s.Post("/gauges", url.Values{"name": {"height gauge"}, "resolution": {"5"}, "zero_limit": {"a lot"}, "usb_vendor": {"xyz"}, "calibration": {"1 0.1\n0.5 0.1"}, "by": {"Mara Quill"}}, 422)
	webtest.Wants(t, page, "5 mm is outside 0.0001 mm to 1 mm", "&#34;a lot&#34; is not a length", "not four hex digits", "Tick what the gauge", "Line 2: 0.5 mm does not rise", `value="height gauge"`, "Look again at", `href="#at-resolution"`, `value="a lot"`)
	form := url.Values{"name": {"height gauge"}, "measures": {"action", "nut height"}, "resolution": {"0.0005in"}, "sense": {"-1"}, "zero_limit": {"0.02"}, "port": {"/dev/ttyUSB3"},
		"decoder": {decode.Builtin()[0].Name}, "capture": {"stream"}, "calibration": {"0 0\n1, 0.002\n"}, "u_repeatability": {"0.004"}, "by": {"Mara Quill"}}
	webtest.Wants(t, s.Post("/gauges", form, 422), "Mara Quill is entered as inspector", "Say where they come from", `value="0.004"`)
	form.Set("by", "Tove Aske")
	form.Set("u_reason", "20 readings of the flat")
	to := s.Post("/gauges", form, 303)
	if s.changed != 1 {
		t.Errorf("the station heard of %d changes, want 1", s.changed)
	}
	// 0.0005 in is 0.0127 mm: an inch is 25.4 mm exactly (international yard and pound agreement, 1959).
	webtest.Wants(t, s.Get(to, 200), "0.0127", "serial number "+usb.Serial, "action, nut heights", "&#43;0.002", "20 readings of the flat")
	form.Set("by", "Mara Quill") // what verdicts do not rest on, anybody may change
	form.Set("name", "depth gauge")
	form.Del("u_reason")
	form.Set("decoder", decode.Builtin()[0].Name)
	form.Set("port", "")
	form.Set("path", "/dev/ttyS0")
	form.Set("resolution", "0.0127")
	s.Post(to, form, 303)
	form.Set("u_repeatability", "0")
	webtest.Wants(t, s.Post(to, form, 422), "Mara Quill is entered as inspector", "Say where they come from")
	said := false
	for _, e := range webtest.Must[[]batch.Event](s)(s.Rec.Audit(t.Context(), 50)) {
		said = said || e.By == "Tove Aske" && strings.HasSuffix(e.Detail, "its figures are from: 20 readings of the flat")
	}
	if !said {
		t.Error("the audit does not say where the typed uncertainty comes from")
	}
	s.Post(to+"/retire", url.Values{"by": {"Mara Quill"}}, 303)
	webtest.Wants(t, s.Get("/gauges", 200), "Retired gauges (1)")
	s.Get("/gauges/none", 404)
}

// A gauge that only finds places needs no check, and its row says so; a gauge's words that end in "since" get no second
// one; one gauge that is not ready is no "0 of 1".
func TestGaugesSayWhatTheyNeed(t *testing.T) {
	s := openShop(t)
	since := time.Now().Add(-time.Hour)
	place := webtest.Must[batch.Gauge](s)(s.Rec.SaveGauge(t.Context(), "Tove Aske", batch.Gauge{Name: "carriage position", Measures: []batch.Kind{batch.Position}, Decoder: "signed decimal with unit", Capture: "stream", Sense: 1, ResolutionMM: 0.1, CheckHours: 12}))
	s.Lines = []bench.GaugeLine{{ID: s.Gauge.ID, Name: s.Gauge.Name, State: "live", Since: since, Words: "x live"}, {ID: place.ID, Name: place.Name, State: "live", Since: since, Words: "y live"}}
	page := s.Get("/gauges", 200)
	webtest.Wants(t, page, "All 2 gauges are well and checked, where a check is needed.", ">needs none<", ">none needed<")
	if err := s.Rec.RetireGauge(t.Context(), "Tove Aske", place.ID); err != nil {
		t.Fatal(err)
	}
	s.Lines = []bench.GaugeLine{{ID: s.Gauge.ID, Name: s.Gauge.Name, State: "locked out", Since: since, LockedSince: since, Locked: true, LockedWhy: "it was unplugged at 14:05 and has not been checked since", Words: "carriage indicator locked out: it was unplugged at 14:05 and has not been checked since"}}
	page = s.Get("/gauges", 200)
	webtest.Wants(t, page, "The gauge is not ready: what it needs is said with it.")
	if strings.Contains(page, `since <span class="quiet">since`) {
		t.Error("the page says since twice")
	}
}

// TestLeavesNeedNoCheck: the page of a set of leaves says why it needs no check, offers none, and lists its leaves.
func TestLeavesNeedNoCheck(t *testing.T) {
	s := openShop(t)
	leaves, err := s.Rec.SaveGauge(context.Background(), "Mara Quill", batch.Ordinary(batch.LeavesGauge, unit.Inch))
	if err != nil {
		t.Fatal(err)
	}
	page := s.page("/gauges/" + leaves.ID)
	webtest.Wants(t, page, "needs none: it has no zero", "It needs none: it has no zero.", "Its leaves", "0.0381")
	for _, wrong := range []string{"Check it at the bench", "every sweep", "It sends only when its key", "Decoder</dt>"} {
		if strings.Contains(page, wrong) {
			t.Errorf("the page of leaves says %q", wrong)
		}
	}
}
