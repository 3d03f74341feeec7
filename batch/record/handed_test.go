package record

import (
	"errors"
	"testing"
)

func TestHandedIsNotedAndKept(t *testing.T) {
	s := newShop(t, "QM-2611-0001")
	in := s.start("QM-2611-0001")
	if in.Handed != "" {
		t.Fatalf("begun as %q", in.Handed)
	}
	for _, handed := range []string{"left", "", "left"} {
		s.ok(s.SetHanded(s.ctx, "Wren Halloway", in.ID, handed))
		now, err := s.Inspection(s.ctx, in.ID)
		s.ok(err)
		if now.Handed != handed {
			t.Errorf("reads %q, want %q", now.Handed, handed)
		}
	}
	if err := s.SetHanded(s.ctx, "Wren Halloway", in.ID, "both"); !errors.Is(err, ErrInput) {
		t.Errorf("both hands: %v", err)
	}
	if err := s.SetHanded(s.ctx, "Wren Halloway", "nothing", "left"); !errors.Is(err, ErrUnknown) {
		t.Errorf("no inspection: %v", err)
	}
}
