package tell

import (
	"testing"
	"time"

	"sagitta/inspect"
)

// TestCarriedOver: what is carried is named, or counted, with its attempt and time; each attempt apart, and what has no limit left out.
func TestCarriedOver(t *testing.T) {
	at := time.Date(2026, 11, 2, 14, 2, 0, 0, time.Local)
	one, two := &inspect.CarriedFrom{Attempt: 1, At: at}, &inspect.CarriedFrom{Attempt: 2, At: at.Add(time.Hour)}
	carried := func(from *inspect.CarriedFrom, names ...string) (all []inspect.Characteristic) {
		for _, name := range names {
			all = append(all, inspect.Characteristic{Name: name, Zone: inspect.Conforming, CarriedFrom: from})
		}
		return all
	}
	six := carried(one, inspect.Hump, inspect.Hump, inspect.Twist, inspect.Rocker, inspect.LevelZone, inspect.FallAway, inspect.LevelDeviation)
	for _, c := range []struct {
		all  []inspect.Characteristic
		now  time.Time
		want string
	}{
		{nil, at, ""},
		{carried(nil, inspect.Hump), at, ""},
		{[]inspect.Characteristic{{Name: inspect.Hump, Zone: inspect.NoLimit, CarriedFrom: one}}, at, ""},
		{carried(one, inspect.Hump), at, "hump carried from attempt 1 (today 14:02)"},
		{carried(one, inspect.Hump, inspect.Twist, inspect.FallAway), at.Add(time.Hour), "hump, twist and fall-away carried from attempt 1 (today 14:02)"},
		{six, at, "hump, twist and 4 others carried from attempt 1 (today 14:02)"},
		{six, at.AddDate(0, 0, 1), "hump, twist and 4 others carried from attempt 1 (2026-11-02 14:02)"},
		{append(carried(one, inspect.Hump), carried(two, inspect.Action)...), at, "hump carried from attempt 1 (today 14:02); action carried from attempt 2 (today 15:02)"},
	} {
		if got := CarriedOver(c.all, c.now); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
	if got, want := CarriedFrom(six[0], at), "carried from attempt 1, 14:02"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	for now, want := range map[time.Time]string{at: "measured by 14:02 today", at.AddDate(0, 0, 1): "measured by 2026-11-02 14:02"} {
		if got, none := StillTrue(six[0], now), StillTrue(inspect.Characteristic{Name: inspect.Hump}, now); got != want || none != "" {
			t.Errorf("%q, want %q, and measured %q", got, want, none)
		}
	}
	if got, want := RestCarried(append(carried(two, inspect.Action), six...), at), "The rest was measured by 14:02 today and 15:02 today and is still true"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got := RestCarried(carried(nil, inspect.Hump), at); got != "" {
		t.Errorf("with nothing carried %q", got)
	}
	if got := CarriedFrom(inspect.Characteristic{Name: inspect.Hump}, at); got != "" {
		t.Errorf("a measured value is %q", got)
	}
}
