package batch

import (
	"testing"
	"time"
)

func TestCheckNeeded(t *testing.T) {
	at := time.Date(2026, 11, 2, 8, 0, 0, 0, time.UTC)
	good := &GaugeCheck{At: at, By: "Ossian Reed", Good: true}
	failed := &GaugeCheck{At: at, By: "Ossian Reed"}
	dropped := &GaugeEvent{What: CheckDrop}
	plain := Gauge{CheckHours: 8}
	shift := Gauge{EachShift: true}
	same := Duty{Now: at.Add(8 * time.Hour), ShiftBegan: at.Add(-time.Hour), Inspector: "Ossian Reed"}
	later, over, other := same, same, same
	later.Now = at.Add(8*time.Hour + time.Nanosecond)
	over.ShiftBegan = at.Add(time.Hour)
	other.Inspector = "Mara Quill"
	nobody := Duty{Now: same.Now, ShiftBegan: same.ShiftBegan}
	for _, c := range []struct {
		name  string
		gauge Gauge
		last  *GaugeCheck
		event *GaugeEvent
		duty  Duty
		want  string
	}{
		{"never checked", plain, nil, dropped, same, CheckFirstUse},
		{"failed", plain, failed, dropped, same, CheckFailed},
		{"dropped", plain, good, dropped, later, CheckDrop},
		{"holds to the end of its time", plain, good, nil, same, ""},
		{"has run out", plain, good, nil, later, CheckDue},
		{"never by time", Gauge{}, good, nil, later, ""},
		{"in its shift", shift, good, nil, same, ""},
		{"a new shift", shift, good, nil, over, CheckShift},
		{"another inspector", shift, good, nil, other, CheckShift},
		{"nobody yet", shift, good, nil, nobody, ""},
		{"a position encoder", Gauge{Measures: []Kind{Position}}, nil, dropped, later, ""},
		{"a foot switch", Gauge{Capture: "foot"}, nil, nil, later, ""},
	} {
		if got := c.gauge.CheckNeeded(c.last, c.event, c.duty); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
	if out := plain.CheckRunsOut(good); !out.Equal(at.Add(8 * time.Hour)) {
		t.Errorf("runs out at %v", out)
	}
	if out := plain.CheckRunsOut(failed); !out.IsZero() {
		t.Errorf("a failed check holds until %v", out)
	}
}
